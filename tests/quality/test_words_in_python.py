"""What people read stands in `spec/words.<language>/`, not in Python: a sentence among the server's own texts is found."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

SERVER = Path(__file__).resolve().parents[2] / "server/spanwalk"
WORDS_LEAST = 4
SENTENCE = re.compile(r"^[A-Z{'`<].*\s\S+.*[.:!?…]$", re.DOTALL)
LEFT = {
    # Read by who writes code, and kept in the repository, whose language is English:
    "records/made_rules.py": 1,  # first line of modules that are made
    "records/markdown.py": 2,  # sentences of spec/records.md
    "web/request/contract.py": 1,  # in the OpenAPI document, as every docstring of an endpoint is
}
"""Sentences that stand in a module, with why. It only shrinks: a new one goes into the words."""


def sentences(source: str) -> Iterator[tuple[int, str]]:
    """Texts of a module that read as sentences, docstrings aside: line and text, values as {}."""
    tree = ast.parse(source)
    silent = set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        silent |= {id(each.value) for each in body if isinstance(each, ast.Expr)} if isinstance(body, list) else set()
        silent |= {id(part) for part in node.values} if isinstance(node, ast.JoinedStr) else set()
    for node in ast.walk(tree):
        text = None if id(node) in silent else _text(node)
        if text is not None and len(text.split()) >= WORDS_LEAST and SENTENCE.match(text.strip()):
            yield node.lineno, text  # type: ignore[attr-defined]


def _text(node: ast.AST) -> str | None:
    if isinstance(node, ast.JoinedStr):
        return "".join(str(each.value) if isinstance(each, ast.Constant) else "{}" for each in node.values)
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None


def test_no_sentence_stands_in_python_but_those_that_are_listed() -> None:
    found = {
        path.relative_to(SERVER).as_posix(): list(sentences(path.read_text(encoding="utf-8")))
        for path in sorted(SERVER.rglob("*.py"))
        if "migrations" not in path.parts
    }
    assert len(found) > 300
    told = [
        f"{name}:{line} {text}" for name, all_ in found.items() if len(all_) > LEFT.get(name, 0) for line, text in all_
    ]
    assert not told, "\n".join(told)
    assert {name: len(found[name]) for name in LEFT} == LEFT, "one fewer: take it off the list"


@pytest.mark.parametrize(
    "planted",
    [
        "raise SettingWrong(f\"{name} is '{text}'; it must be yes or no.\")",
        'print("No site is called so.")',
        'HELP = "Nothing was changed; take another backup."',
        'ask("Whose password is it?")',
    ],
)
def test_a_planted_sentence_is_found(planted: str) -> None:
    assert len(list(sentences(planted))) == 1


@pytest.mark.parametrize(
    "silent",
    [
        '"""What this module answers, and for whom."""',
        'x = 1\n"""What it is, in a sentence."""',
        'say("keeping.no-backup", {"where": where})',
        'execute("SELECT count(*) FROM record WHERE type = 1")',
        'add("doctor", "check that database and photos are whole")',
    ],
)
def test_what_is_no_sentence_is_left_alone(silent: str) -> None:
    assert list(sentences(silent)) == []
