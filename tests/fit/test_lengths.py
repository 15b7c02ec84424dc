"""Lengths as people type them, exactly. The cases are shared with the phone (tests/vectors/lengths.json)."""

from __future__ import annotations

import doctest
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spanwalk.rules.measuring import lengths
from spanwalk.rules.measuring.lengths import (
    LengthProblem,
    LengthRefused,
    LengthUnclear,
    format_inches,
    format_mm,
    parse_length,
)
from spanwalk.words import words

VECTORS = json.loads((Path(__file__).parents[1] / "vectors/lengths.json").read_text(encoding="utf-8"))


def said(text: str, units: str) -> dict[str, Any]:
    try:
        length = parse_length(text, units)
    except LengthUnclear as unclear:
        return {"question": unclear.code, "ticks": unclear.ticks}
    except LengthRefused as refused:
        return {"error": refused.code}
    return {"ticks": length.ticks, "exact": length.exact, "unit": length.unit}


@pytest.mark.parametrize("case", VECTORS["parse"], ids=lambda c: c["name"])
def test_what_is_typed_is_read_exactly_or_asked_about_or_refused(case: dict[str, Any]) -> None:
    answer = said(case["text"], case["units"])
    for said_of in ("ticks", "error", "question"):
        assert answer.get(said_of) == case.get(said_of)
    assert answer.get("exact", True) == case.get("exact", True)
    assert answer.get("unit") == case.get("unit", answer.get("unit"))


@pytest.mark.parametrize("case", VECTORS["format"], ids=lambda c: str(c["ticks"]))
def test_a_length_is_shown_as_it_stands_on_the_tape(case: dict[str, Any]) -> None:
    assert format_mm(case["ticks"]) == case["mm"]
    if "inches" in case:
        assert format_inches(case["ticks"]) == case["inches"]


@given(st.integers(1, 50_000))
def test_each_64th_of_an_inch_survives_being_shown_and_typed(sixty_fourths: int) -> None:
    ticks = sixty_fourths * 127
    assert parse_length(format_inches(ticks) + '"').ticks == ticks


@given(st.integers(1, 199_999))
def test_each_tenth_of_a_millimetre_survives_being_shown_and_typed(tenths: int) -> None:
    ticks = tenths * 32
    assert parse_length(format_mm(ticks).replace(",", "") + " mm").ticks == ticks


@given(st.text(max_size=12), st.sampled_from(["in", "mm"]))
def test_no_text_does_worse_than_a_sentence(text: str, units: str) -> None:
    answer = said(text, units)
    assert answer.get("ticks", 1) > 0
    assert set(answer) in ({"ticks", "exact", "unit"}, {"ticks", "question"}, {"error"})


@pytest.mark.parametrize("case", VECTORS["parse"], ids=lambda c: c["name"])
def test_what_is_not_taken_has_a_sentence_that_its_facts_fill(case: dict[str, Any]) -> None:
    if "error" not in case and "question" not in case:
        return
    with pytest.raises(LengthProblem) as caught:
        parse_length(case["text"], case["units"])
    words()[caught.value.code].format(**caught.value.facts)


def test_there_is_no_sentence_without_its_case() -> None:
    told = {case.get("error", case.get("question")) for case in VECTORS["parse"]} - {None}
    assert told == {code for code in words() if code.startswith("length.")}


def test_the_examples_in_the_docstrings_hold() -> None:
    assert doctest.testmod(lengths, optionflags=doctest.IGNORE_EXCEPTION_DETAIL).failed == 0
