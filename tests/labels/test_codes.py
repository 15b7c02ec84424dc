"""Codes on labels: the cases are shared with the phone (tests/vectors/codes.json)."""

from __future__ import annotations

import doctest
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spanwalk.rules import codes
from spanwalk.rules.codes import SYMBOLS, CodeWrong, make_code, parse_code, spaced
from spanwalk.services.labels.labels import draw_code, label_id

CASES = json.loads((Path(__file__).parents[1] / "vectors/codes.json").read_text(encoding="utf-8"))
issued = st.lists(st.integers(0, 31), min_size=8, max_size=8).map(make_code).filter(bool)


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["text"] or "nothing")
def test_a_code_is_read_or_refused_with_its_reason(case: dict[str, Any]) -> None:
    if "code" in case:
        assert parse_code(case["text"]) == case["code"]
    else:
        with pytest.raises(CodeWrong) as refused:
            parse_code(case["text"])
        assert refused.value.code == case["error"]


@given(issued)
def test_every_single_mistyped_symbol_is_caught(code: str) -> None:
    for place in range(9):
        for symbol in SYMBOLS:
            if symbol != code[place]:
                with pytest.raises(CodeWrong):
                    parse_code(code[:place] + symbol + code[place + 1 :])


@given(issued)
def test_every_swap_of_two_neighbours_is_caught(code: str) -> None:
    for place in range(8):
        if code[place] != code[place + 1]:
            with pytest.raises(CodeWrong):
                parse_code(code[:place] + code[place + 1] + code[place] + code[place + 2 :])


@given(issued)
def test_a_printed_code_can_be_typed_as_it_stands(code: str) -> None:
    assert parse_code(spaced(code)) == parse_code(code.lower()) == code


def test_drawn_codes_are_issued_codes() -> None:
    drawn = {draw_code() for _ in range(500)}
    assert len(drawn) == 500
    assert all(parse_code(code) == code for code in drawn)


def test_two_bindings_of_one_code_meet_in_one_record() -> None:
    assert label_id("0000016JD") == label_id("0000016JD") != label_id("0000016KE")


def test_the_examples_in_the_docstrings_hold() -> None:
    assert doctest.testmod(codes).failed == 0
