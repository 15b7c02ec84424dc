"""Lamp lengths of the reference table against what was read elsewhere; the source stands beside each."""

from __future__ import annotations

from typing import Any

import pytest

from spanwalk.reference import tables
from spanwalk.rules.measuring.reading_sense import a_max_ticks, a_min_ticks, lamp_row, nominal_ticks, questions

NLPIP = "NLPIP Lighting Answers vol 6 no 1 'T5 Fluorescent Systems' (July 2002), Table 1-1 (read)"
HOW_TO = "a lighting-design institute's article on tandem circuits, table of lamp lengths (read)"
READ_MM = [
    ("T5", "2-ft", 549, NLPIP),
    ("T5", "3-ft", 849, NLPIP),
    ("T5", "4-ft", 1149, NLPIP),
    ("T8", "1.5-ft", 438, HOW_TO),
    ("T8", "2-ft", 590, NLPIP),
    ("T8", "3-ft", 895, NLPIP),
    ("T8", "4-ft", 1199, NLPIP),
    ("T12", "2-ft", 590, NLPIP),
    ("T12", "3-ft", 895, NLPIP),
    ("T12", "4-ft", 1199, NLPIP),
]
ROWS = tables()["lamps"]["sizes"]


def lamp(diameter: str, nominal_ft: str) -> Any:
    row = lamp_row({"diameter": diameter, "nominal_ft": nominal_ft}, tables())
    assert row is not None
    return row


@pytest.mark.parametrize(("diameter", "nominal_ft", "a_mm", "source"), READ_MM)
def test_the_length_without_pins_is_the_one_read(diameter: str, nominal_ft: str, a_mm: int, source: str) -> None:
    """Printed to whole millimetres; 437.4 is printed as 438 by the article, which rounds up."""
    assert abs(lamp(diameter, nominal_ft)["a_max_tenths_mm"] - 10 * a_mm) <= 6, source


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['nominal_ft']} {row['diameter']}")
def test_the_pins_add_what_the_standard_says(row: dict[str, Any]) -> None:
    """IEC 60081 (from memory): B max = A max + 7.1, C max = A max + 14.2, B min = A max + 4.7, so A min is A max - 2.4 mm."""
    a_max = row["a_max_tenths_mm"]
    assert (row["b_min_tenths_mm"], row["b_max_tenths_mm"], row["c_max_tenths_mm"]) == (
        a_max + 47,
        a_max + 71,
        a_max + 142,
    )
    assert a_max_ticks(row) - a_min_ticks(row) == 24 * 32


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['nominal_ft']} {row['diameter']}")
def test_a_lamp_is_shorter_than_the_length_on_its_box(row: dict[str, Any]) -> None:
    """48 in stands on the box of a 4 ft T8 whose A is 47.22 in, 19.8 mm less (trap named by trade pages, read)."""
    assert row["c_max_tenths_mm"] * 32 < nominal_ticks(row["nominal_ft"])


def test_a_4_ft_t5_is_50_mm_shorter_than_a_4_ft_t8() -> None:
    """1199.4 - 1149.0 = 50.4 mm (IEC 60081, from memory; both A read in Table 1-1 of NLPIP vol 6 no 1 to 1 mm)."""
    assert a_max_ticks(lamp("T8", "4-ft")) - a_max_ticks(lamp("T5", "4-ft")) == 504 * 32


@pytest.mark.parametrize(("diameter", "code"), [("T5", "reading.lamp-or-gap"), ("T8", "reading.out-of-band")])
def test_the_pin_to_pin_length_printed_for_any_4_ft_tube_is_no_cavity(diameter: str, code: str) -> None:
    """A how-to page (read) gives 45.75 in for 'a 4-foot tube' pin to pin: that is the T5's, and wrong for T8 and T12."""
    asked = questions(45 * 8128 + 6096, {"diameter": diameter, "nominal_ft": "4-ft"}, 320, tables())
    assert [question["code"] for question in asked] == [code]
