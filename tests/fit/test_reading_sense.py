"""Questions about a reading; the cases are shared with the phone (tests/vectors)."""

from __future__ import annotations

import doctest
import json
import random
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest

from spanwalk.reference import tables
from spanwalk.rules.measuring import instruments, reading_sense
from spanwalk.rules.measuring.instruments import reading_uncertainty
from spanwalk.rules.measuring.reading_sense import OUT_OF_BAND, questions
from spanwalk.words import words

FOLDER = Path(__file__).parents[1] / "vectors"
SENSE = json.loads((FOLDER / "reading_sense.json").read_text(encoding="utf-8"))["cases"]
INSTRUMENTS = json.loads((FOLDER / "instruments.json").read_text(encoding="utf-8"))["cases"]
T8 = {"diameter": "T8", "cap": "G13", "nominal_ft": "4-ft"}


@pytest.mark.parametrize("case", SENSE, ids=lambda c: c["name"])
def test_a_reading_that_matches_something_else_is_asked_about(case: dict[str, Any]) -> None:
    asked = questions(case["length_ticks"], case["lamps"], case["uncertainty_ticks"], tables())
    assert [question["code"] for question in asked] == case["codes"]


@pytest.mark.parametrize("case", INSTRUMENTS, ids=lambda c: c["name"])
def test_the_uncertainty_of_a_reading_follows_from_its_instrument(case: dict[str, Any]) -> None:
    said = asdict(reading_uncertainty(case["reading"], tables()))
    assert {key: said[key] for key in case if key.endswith("_ticks")} == {
        k: v for k, v in case.items() if k.endswith("_ticks")
    }


def test_good_readings_pass_in_silence() -> None:
    """10,000 sound 4 ft T8 pairs (A max + 0 to 3 mm), read with a class II tape in sixteenths: fewer than 1 in 200 is asked about."""
    rng = random.Random(4711)
    asked = 0
    for _ in range(10_000):
        true = 1199.4 + rng.uniform(0, 3)
        read = true + rng.uniform(-0.9, 0.9) + rng.gauss(0, 0.3)
        sixteenths = round(read / 25.4 * 16)
        identity = {
            "length_ticks": sixteenths * 508,
            "instrument": "tape-class-ii",
            "graduation": "1-16-in",
            "from_hook": True,
        }
        asked += bool(
            questions(identity["length_ticks"], T8, reading_uncertainty(identity, tables()).expanded_ticks, tables())
        )
    assert asked / 10_000 < 0.005


def test_every_question_but_out_of_band_says_what_else_it_may_be() -> None:
    codes = {code for case in SENSE for code in case["codes"]}
    matches = {"matches-lamp", "lamp-or-gap", "nominal-length", "started-at-1", "started-at-100", "two-cavities"}
    assert codes == {*(f"reading.{each}" for each in matches), *OUT_OF_BAND}


@pytest.mark.parametrize("case", SENSE, ids=lambda c: c["name"])
def test_each_question_has_a_sentence_that_its_facts_fill(case: dict[str, Any]) -> None:
    for question in questions(case["length_ticks"], case["lamps"], case["uncertainty_ticks"], tables()):
        words()[question["code"]].format(**question["facts"])


@pytest.mark.parametrize("row", tables()["lamps"]["sizes"], ids=lambda row: f"{row['nominal_ft']} {row['diameter']}")
def test_the_silent_band_ends_where_it_says(row: dict[str, Any]) -> None:
    """From A max - 2.4 mm - U to A max + 3 mm + U, both included: at each end below, at, above."""
    uncertainty = 400
    low = (row["a_max_tenths_mm"] - 24) * 32 - uncertainty
    high = (row["a_max_tenths_mm"] + 30) * 32 + uncertainty
    asked = [bool(questions(length, row, uncertainty, tables())) for length in (low - 1, low, high, high + 1)]
    assert asked == [True, False, False, True]


@pytest.mark.parametrize("cap", ["single-pin", "recessed-contact", "U-bend"])
def test_lamps_whose_length_gives_no_spacing_are_never_asked_about(cap: str) -> None:
    assert questions(1149 * 320, {**T8, "cap": cap}, 400, tables()) == []


def test_the_examples_in_the_docstrings_hold() -> None:
    assert doctest.testmod(reading_sense).failed + doctest.testmod(instruments).failed == 0
