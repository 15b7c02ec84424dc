"""Sentences that people read, from spec/words.<language>/: a code and facts in, a sentence out."""

from __future__ import annotations

import json
import re
from functools import cache
from importlib.resources import files
from typing import Any

PLACEHOLDER = re.compile(r"\{(\w+)\}")


@cache
def areas(language: str = "en") -> dict[str, dict[str, str]]:
    """Sentences of a language by area, which is the name of their file, and by code; a code in two files is an error."""
    found: dict[str, dict[str, str]] = {}
    seen: set[str] = set()
    folder = files("spanwalk").joinpath(f"spec/words.{language}")
    for entry in sorted(folder.iterdir(), key=lambda each: each.name):
        if not entry.name.endswith(".json"):
            continue
        area: dict[str, str] = json.loads(entry.read_text(encoding="utf-8"))
        twice = sorted(seen & set(area))
        if twice:
            raise ValueError(f"words.{language}/{entry.name} repeats {twice}")
        seen |= set(area)
        found[entry.name.removesuffix(".json")] = area
    return found


@cache
def words(language: str = "en") -> dict[str, str]:
    """All sentences of a language by code."""
    return {code: sentence for area in areas(language).values() for code, sentence in area.items()}


BETWEEN = " · "
"""Between several choices that name one row."""


def say(code: str, facts: dict[str, Any] | None = None, language: str = "en") -> str:
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


def _text(value: Any, language: str) -> str:
    if isinstance(value, (list, tuple)):
        return ", ".join(_text(item, language) for item in value)
    if isinstance(value, dict) and "code" in value:
        return say(value["code"], value.get("facts"), language)
    return choice_text(str(value), language)


def choice_text(code: str, language: str = "en") -> str:
    """What people read for the code of a choice: `lay-in-grid` is 'lay-in grid'; what is no such code stays as it is.

    >>> choice_text("two-makes-seen"), choice_text("Room 7")
    ('two makes seen', 'Room 7')

    The row of a figure names several:

    >>> choice_text("recessed-troffer · prismatic-lens")
    'recessed troffer · prismatic lens'
    """
    known = words(language)
    return BETWEEN.join(known.get(f"choice.{part}", part) for part in code.split(BETWEEN))
