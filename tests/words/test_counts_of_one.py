"""Sentences of the desk that tell a count read well of one: a number stands before a plural only where one is never told."""

from __future__ import annotations

import re

import pytest

from spanwalk import words

AT_THE_DESK = (
    "desk.ready",
    "desk.ready-and-released",
    "desk.all-released",
    "files.undone",
    "receive.came-of",
    "orders.caution.without-sums",
    "schedule.without",
    "catalogue.uses-plan",
    "catalogue.taken",
    "catalogue.taken-none",
    "catalogue.taken-now",
    "site-order.gathering",
    "site-order.of-items",
    "site-order.of-more-items",
    "open-point.dark-lamps-above-lamps",
    "open-point.too-few-readings",
    "open-point.removed-with-children",
    "plan.why.counted",
    "release-nothing-ready",
    "job.hire",
)
BEFORE_A_PLURAL = re.compile(
    r"\{\w+\} (?:of \{\w+\} |de \{\w+\} )?(?:fewer |more |different )*"
    r"(?:days|groups|fixtures|items|pieces|lamps|readings|things|candidates|changes|are|have"
    r"|días|grupos|luminarias|artículos|piezas|tubos|medidas|cosas|candidatas|cambios|están|tienen)\b"
)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("code", AT_THE_DESK)
def test_a_count_stands_before_no_plural(language: str, code: str) -> None:
    sentence = words.words(language)[code]
    assert BEFORE_A_PLURAL.search(sentence) is None, sentence


def test_a_sentence_that_reads_badly_of_one_is_found() -> None:
    assert BEFORE_A_PLURAL.search("{ready} of {groups} groups are ready to release.")
    assert BEFORE_A_PLURAL.search("Llegaron {good} de {ordered} piezas")
