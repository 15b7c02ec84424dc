"""A refusal says in the reader's own language what would be right, whichever field of whichever body or query is wrong."""

from __future__ import annotations

import ast
import importlib
import pkgutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from marshmallow import fields
from tests.support.installation import Installation

import spanwalk.messages
import spanwalk.web
from spanwalk.coded_text import with_holes
from spanwalk.messages.forms import Message
from spanwalk.words import choice_text, words


def read_by_views() -> set[str]:
    """Names of the messages that a view takes or asks."""
    calls = (
        node
        for path in Path(spanwalk.web.__path__[0]).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("takes", "asks")
    )
    return {ast.unparse(call.args[0]) for call in calls if call.args}


def messages(of: type[Message]) -> Iterator[type[Message]]:
    for each in of.__subclasses__():
        yield each
        yield from messages(each)


def rights(field: fields.Field[object]) -> Iterator[str]:
    """What a field says would be right, and what those in it say."""
    yield from (field.error_messages[name] for name in ("required", "invalid") if name in field.error_messages)
    checks = field.validate if isinstance(field.validate, list | tuple) else [field.validate]
    yield from (str(getattr(each, "error", None) or getattr(each, "right", None) or "") for each in checks)
    if isinstance(field, fields.Nested):
        for each in field.schema.fields.values():
            yield from rights(each)
    inner = field.inner if isinstance(field, fields.List) else getattr(field, "value_field", None)
    if inner is not None:
        yield from rights(inner)


def said() -> set[str]:
    for module in pkgutil.iter_modules(spanwalk.messages.__path__):
        importlib.import_module(f"spanwalk.messages.{module.name}")
    wanted = read_by_views()
    read = [each for each in messages(Message) if each.__name__ in wanted]
    assert len(read) > 40
    found = {right for each in read for field in each().fields.values() for right in rights(field)}
    return {right for right in found if right and not right[0].isupper()}


def test_all_that_would_be_right_has_its_words() -> None:
    lacking = {
        each for each in said() if f"right.{each}" not in words() and f"right.{with_holes(each)[0]}" not in words()
    }
    assert lacking == set(), "they go into spec/words.en/asked-for.json"


@pytest.mark.parametrize(
    ("right", "spanish"),
    [
        ("text of at most 80 letters", "texto de 80 letras como mucho"),
        ("a number from -10 to 10, with a point if need be", "un número de -10 a 10, con punto si hace falta"),
        ("one of rooms, fixtures", "uno de rooms, fixtures"),
        ("a day as 2026-03-01", "un día como 2026-03-01"),
    ],
)
def test_numbers_and_values_stay_as_they_are(right: str, spanish: str) -> None:
    assert choice_text(right) == right
    assert choice_text(right, "es") == spanish


def test_a_wrong_field_is_refused_in_ones_language_with_what_would_be_right(here: Installation) -> None:
    told = here.call("manager", "PUT", "/api/me", json={"units": "ells"}, headers={"Accept-Language": "es"}).json
    assert told["right"] == "inches, millimetres or null", "facts are for programs"
    assert "inches, millimetres o null" in told["detail"]
