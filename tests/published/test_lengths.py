"""Lengths against published conversions; the source stands beside each."""

from __future__ import annotations

import pytest

from spanwalk.rules.measuring.lengths import TICKS_PER_INCH, TICKS_PER_MM, format_inches, format_mm, parse_length

INCH_MM = 25.4
"""1 in = 25.4 mm exactly, 1 ft = 0.3048 m exactly: NIST SP 811 (2008), appendix B.6 and B.8 (from memory)."""


def test_an_inch_and_a_tenth_of_a_millimetre_are_whole_ticks() -> None:
    assert TICKS_PER_INCH == INCH_MM * TICKS_PER_MM
    assert (TICKS_PER_INCH % 64, TICKS_PER_MM % 10) == (0, 0)


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("1 ft", "304.8"),  # NIST SP 811, appendix B.8
        (
            "48",
            "1,219.2",
        ),  # length on the box of a 4 ft T8: 48 in / 1219 mm, US lamp specification sheet (read)
        (
            "46",
            "1,168.4",
        ),  # length on the box of a 4 ft T5: 46 in / 1169 mm, US lamp specification sheet (read)
        ("45.8 in", "1,163.3"),  # 4 ft T5 pin to pin, a tax guide's page (read); IEC 60081: C = 1163.2 mm
        ("22.5 in", "571.5"),  # U lamp: 22.5 in / 571 mm, US lamp specification sheet (read)
    ],
)
def test_published_pairs_of_inches_and_millimetres_agree(text: str, millimetres: str) -> None:
    assert format_mm(parse_length(text, "in").ticks) == millimetres


@pytest.mark.parametrize(
    ("inches", "millimetres"),
    [
        ("1/32", 0.79),
        ("1/16", 1.59),
    ],  # NIST Handbook 44, 5.52, through a copy: 1/32 in (0.79 mm), 1/16 in (1.59 mm)
)
def test_published_fractions_of_an_inch_agree(inches: str, millimetres: float) -> None:
    assert round(parse_length(inches).ticks / TICKS_PER_MM, 2) == millimetres


def test_a_length_in_feet_is_the_same_in_inches_and_metres() -> None:
    ways = ["8-ft", "96", "2438.4 mm", "243.84 cm", "2.4384 m"]
    assert {parse_length(way, "in").ticks for way in ways} == {96 * TICKS_PER_INCH}
    assert format_inches(96 * TICKS_PER_INCH) == "96"
