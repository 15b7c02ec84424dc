"""What spec 1 wrote as English text is read as codes: on the server as on the phone, once and for all."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.records import spec
from spanwalk.spec_1 import CODES, in_codes
from spanwalk.words import choice_text, words

CASES = json.loads((Path(__file__).parents[1] / "vectors" / "spec_1.json").read_text(encoding="utf-8"))["cases"]
CHOICES = sorted(
    {
        choice
        for type_ in spec().types.values()
        for facet in type_.facets.values()
        for field in facet.fields.values()
        if field.type in ("choice", "choices")
        for choice in field.choices
    }
)


def test_every_value_of_then_has_the_code_of_now() -> None:
    assert [in_codes(case["type"], case["facet"], case["then"]) for case in CASES] == [case["now"] for case in CASES]


def test_what_holds_codes_already_stays_as_it_is() -> None:
    now = [in_codes(case["type"], case["facet"], case["now"]) for case in CASES]
    assert now == [case["now"] for case in CASES]


def test_every_code_of_now_may_be_chosen_today() -> None:
    fields: list[tuple[tuple[str, ...], Any]] = [
        (spec().types[case["type"]].facets[case["facet"]].fields[name].choices, value)
        for case in CASES
        if case["type"] != "figure" and case["facet"] != "nonsense"
        for name, value in case["now"].items()
        if spec().types[case["type"]].facets[case["facet"]].fields[name].type in ("choice", "choices")
    ]
    assert len(fields) > 190
    assert [
        value for choices, value in fields if not set(value if isinstance(value, list) else [value]) <= set(choices)
    ] == []


@pytest.mark.parametrize("choice", CHOICES)
def test_a_choice_is_a_short_code_and_has_its_words(choice: str) -> None:
    assert all(letter.isascii() and (letter.isalnum() or letter in "-.") for letter in choice)
    assert f"choice.{choice}" in words()


RENAMED = {
    "2019-space-by-space", "2021-space-by-space", "2022-space-by-space", "model-set-points-after-ies-recommendations-2019",
}  # fmt: skip
"""Codes of power density by their names and editions, and set-points of simulations that are called so."""


def test_the_words_of_a_code_are_the_text_of_then_but_of_standards_that_have_their_names_now() -> None:
    apart = {code for text, code in CODES.items() if choice_text(code) != text}
    assert apart == RENAMED
