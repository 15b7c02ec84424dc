"""Sentences that people read, from spec/words.<language>/: a code and facts in, a sentence out."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

PLACEHOLDER = re.compile(r"\{(\w+)\}")


@cache
def words(language: str = "en") -> dict[str, str]:
    """All sentences of a language by code, merged from its files; a code in two files is an error."""
    merged: dict[str, str] = {}
    folder = files("spanwalk").joinpath(f"spec/words.{language}")
    for entry in sorted(folder.iterdir(), key=lambda each: each.name):
        if not entry.name.endswith(".json"):
            continue
        area = json.loads(entry.read_text(encoding="utf-8"))
        twice = sorted(set(area) & set(merged))
        if twice:
            raise ValueError(f"words.{language}/{entry.name} repeats {twice}")
        merged |= area
    return merged


def say(code: str, facts: Mapping[str, object] | None = None, language: str = "en") -> str:
    """The sentence of a code with its facts filled in.

    Parameters
    ----------
    code : str
        Kebab-case code of a sentence.
    facts : dict, optional
        Values of its placeholders; lists are joined by commas, what has a code and facts is a sentence in the sentence,
        and codes of choices are told in words.

    Returns
    -------
    str
        The sentence; the bare code if it has none.
    """
    sentence = words(language).get(code)
    if sentence is None:
        return code
    told = facts or {}
    return PLACEHOLDER.sub(lambda found: _text(told.get(found[1], ""), language), sentence).strip()


def _text(value: object, language: str) -> str:
    if isinstance(value, (list, tuple)):
        return ", ".join(_text(item, language) for item in value)
    if isinstance(value, dict) and "code" in value:
        return say(value["code"], value.get("facts"), language)
    return choice_text(str(value), language)


def choice_text(code: str, language: str = "en") -> str:
    """What people read for the code of a choice: `lay-in-grid` is 'lay-in grid'; what is no such code stays as it is.

    >>> choice_text("two-makes-seen"), choice_text("Room 7")
    ('two makes seen', 'Room 7')
    """
    return words(language).get(f"choice.{code}", code)
