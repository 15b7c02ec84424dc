"""What the walk says comes before its first screen or with the site: it does not wait for the words of desks."""

from __future__ import annotations

import json
import re
from pathlib import Path

from tests.support import packed  # noqa: F401 - puts `packing` on the path
from tests.support.machine import ROOT

from packing.linking import in_order
from packing.page import ENTRY, SURVEYORS
from packing.source import read_module
from spanwalk.page_files import (
    FIRST_SAYS_TOO,
    IMPORTS,
    WALK_SAYS_TOO,
    desk_words_text,
    page_sources,
    site_words_text,
    tables_text,
)
from spanwalk.words import areas

LITERAL = re.compile(r"(['`])([A-Za-z][^'`$\n]*?)\1")
BEGINNING = re.compile(r"`([a-z][\w-]*\.(?:[\w-]+\.)*)\$\{")
NAMED = "rules/constants.js"
"""Gives codes names: a code of it is said only where its name is read."""


def texts_of_the_walk() -> dict[str, str]:
    """What all modules say that the walk's screens are made of, without comments."""
    sources = page_sources(ROOT / "pwa")
    bare = {name: address.removeprefix("/app/") for name, address in IMPORTS.items()}
    found: dict[str, str] = {}
    for entry in (ENTRY, *SURVEYORS):
        read = in_order(entry, lambda name: read_module(name, sources[name].read_bytes(), bare))
        found |= {name: module.body.decode() for name, module in read.items()}
    return found


def test_no_code_that_the_walk_says_is_among_the_words_of_desks() -> None:
    desk = json.loads(desk_words_text(areas()))
    texts = texts_of_the_walk()
    names = texts.pop(NAMED)
    said = {found for text in texts.values() for _, found in LITERAL.findall(text)}
    read = "\n".join(texts.values())
    said |= {code for name, code in re.findall(r"const (\w+) = '([^']+)'", names) if re.search(rf"\b{name}\b", read)}
    assert len(said) > 1000
    assert sorted(said & desk.keys()) == []
    begun = {found for text in texts.values() for found in BEGINNING.findall(text)}
    assert {"open-point.", "choice.", "place."} <= begun
    assert sorted(code for code in desk if code.startswith(tuple(begun))) == []


def test_each_exception_lets_a_sentence_through() -> None:
    every = [code for sentences in areas().values() for code in sentences]
    assert [each for each in WALK_SAYS_TOO if not any(code.startswith(each) for code in every)] == []


def test_what_is_said_before_a_sites_words_have_come_comes_with_the_first_and_only_there(tmp_path: Path) -> None:
    first = json.loads(tables_text(b"{}", areas(), tmp_path))["words"]
    assert first.keys() >= FIRST_SAYS_TOO
    assert not FIRST_SAYS_TOO & json.loads(site_words_text(areas())).keys()
