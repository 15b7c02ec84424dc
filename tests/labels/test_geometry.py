"""Where labels lie on their paper: sheets by numbers, rolls, and one's own."""

from __future__ import annotations

from typing import Any

import pymupdf
import pytest

from spanwalk.services.labels.alignment import alignment_pdf
from spanwalk.services.labels.geometry import EDGE_MM, SHEETS, Sheet, sheet_of
from spanwalk.services.refusals import WrongInput

OWN = {
    "page_width_mm": 210.0,
    "page_height_mm": 297.0,
    "columns": 2,
    "rows": 5,
    "width_mm": 90.0,
    "height_mm": 50.0,
    "left_mm": 10.0,
    "top_mm": 20.0,
    "across_mm": 5.0,
    "down_mm": 2.0,
}


@pytest.mark.parametrize("paper", list(SHEETS))
def test_the_labels_of_a_sheet_lie_on_the_page_and_do_not_overlap(paper: str) -> None:
    sheet = SHEETS[paper]
    boxes = [sheet.label_box(place) for place in range(sheet.places)]
    assert boxes
    assert min(each.x for each in boxes) >= 0
    assert min(each.y for each in boxes) >= -0.05
    assert max(each.x + each.width for each in boxes) <= sheet.page[0] + 0.05
    assert max(each.y + each.height for each in boxes) <= sheet.page[1] + 0.05
    assert len({(round(each.x, 3), round(each.y, 3)) for each in boxes}) == sheet.places


@pytest.mark.parametrize("paper", list(SHEETS))
def test_nothing_is_printed_within_a_quarter_inch_of_the_pages_edge(paper: str) -> None:
    sheet = SHEETS[paper]
    boxes = [sheet.box(place) for place in range(sheet.places)]
    assert min(each.x for each in boxes) >= EDGE_MM == 6.35
    assert min(each.y for each in boxes) >= EDGE_MM
    assert max(each.x + each.width for each in boxes) <= sheet.page[0] - EDGE_MM + 1e-9
    assert max(each.y + each.height for each in boxes) <= sheet.page[1] - EDGE_MM + 1e-9


def test_ones_own_sheet_is_laid_out_by_its_numbers() -> None:
    """By hand: the fourth label is the second of the second row: 10 + 90 + 5 across, 20 + 50 + 2 down."""
    box = sheet_of("own", OWN).label_box(3)  # type: ignore[arg-type]
    assert (box.x, 297 - box.y - box.height, box.width, box.height) == (105, 72, 90, 50)


def test_a_print_is_moved_as_the_alignment_page_asks_for() -> None:
    moved, plain = sheet_of("letter", {}, 1.5, -0.5).label_box(4), sheet_of("letter", {}).label_box(4)
    assert (round(moved.x - plain.x, 6), round(plain.y - moved.y, 6)) == (1.5, -0.5)


def test_a_rolls_page_holds_the_label_and_the_gap() -> None:
    roll = sheet_of("roll", {"width_mm": 62.0, "height_mm": 29.0, "gap_mm": 3.0})
    assert (roll.page, roll.label, roll.places) == ((62.0, 32.0), (62.0, 29.0), 1)
    assert roll.label_box(0).y == 3.0


@pytest.mark.parametrize(
    ("paper", "numbers", "code"),
    [
        ("a3", {}, "paper-unknown"),
        ("roll", {"width_mm": 50.0}, "label-number-missing"),
        ("roll", {"width_mm": 50.0, "height_mm": 0.0}, "label-number-missing"),
        ("roll", {"width_mm": 14.9, "height_mm": 30.0}, "label-too-small"),
        ("own", {**OWN, "columns": 3}, "label-sheet-over-page"),
        ("own", {**OWN, "rows": 6}, "label-sheet-over-page"),
        ("own", {**OWN, "columns": 100, "rows": 6}, "label-places-wrong"),
        ("own", {**OWN, "page_height_mm": 1100.0}, "label-page-wrong"),
    ],
)
def test_numbers_that_cannot_be_are_refused_with_what_would_be_right(paper: str, numbers: Any, code: str) -> None:
    with pytest.raises(WrongInput) as refused:
        sheet_of(paper, numbers)
    assert refused.value.code == code


def test_a_shift_beyond_a_centimetre_is_refused() -> None:
    assert sheet_of("a4", {}, 10, -10).shift == (10, -10)
    with pytest.raises(WrongInput) as refused:
        sheet_of("a4", {}, 10.1, 0)
    assert refused.value.code == "label-shift-wrong"


@pytest.mark.parametrize("sheet", [SHEETS["a4"], SHEETS["letter-2x5"]], ids=["a4", "letter"])
def test_the_alignment_page_outlines_every_label_and_rules_100_mm(sheet: Sheet) -> None:
    with pymupdf.open(stream=alignment_pdf(sheet)) as document:
        assert document.page_count == 1
        drawn = document[0].get_drawings()
        text = document[0].get_text()
    mm = 72 / 25.4
    outlines = [
        each["rect"]
        for each in drawn
        if abs(each["rect"].width - sheet.label[0] * mm) < 0.1 and abs(each["rect"].height - sheet.label[1] * mm) < 0.1
    ]
    assert len(outlines) == sheet.places
    lines = [each["rect"] for each in drawn if each["rect"].height < 0.01]
    assert any(abs(each.width - 100 * mm) < 0.1 for each in lines), "the ruler is 100 mm long"
    assert "100" in text
    assert "100 %" in text
