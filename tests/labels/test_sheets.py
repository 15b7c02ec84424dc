"""Sheets of labels, rendered to pixels and read back by two decoders that are not ours."""

from __future__ import annotations

import random
import re

import numpy as np
import pymupdf
import pytest
from PIL import ImageDraw, ImageFilter
from tests.labels.printed import EDGE_MM, URL, cut_out, labels, pixels_of, read, read_by_another, rendered, text_of

from spanwalk.services.labels.geometry import SHEETS, sheet_of
from spanwalk.services.labels.labels import draw_code
from spanwalk.services.labels.layout import Label
from spanwalk.services.labels.sheets import label_pdf
from spanwalk.services.labels.symbols import symbol_of, symbol_text
from spanwalk.services.refusals import WrongInput

ROLL = sheet_of("roll", {"width_mm": 50.0, "height_mm": 25.0, "gap_mm": 3.0})


@pytest.mark.parametrize("url", [URL, None], ids=["address", "bare code"])
@pytest.mark.parametrize("paper", list(SHEETS))
def test_every_label_of_a_full_sheet_is_read_by_two_decoders_with_a_quarter_inch_of_edge_cut(
    paper: str, url: str | None
) -> None:
    sheet = SHEETS[paper]
    printed = labels(sheet.places, release=4)
    page = rendered(label_pdf(printed, url, sheet), edge_mm=EDGE_MM)
    cut = [cut_out(page, sheet, place) for place in range(len(printed))]
    wanted = [{symbol_text(url, label.code)} for label in printed]
    assert [read(each) for each in cut] == wanted
    assert [read_by_another(each) for each in cut] == wanted


@pytest.mark.parametrize("paper", list(SHEETS))
def test_a_printer_that_leaves_a_quarter_inch_white_loses_nothing(paper: str) -> None:
    """The A4 sheet without margins lost its top row to a printer's edge of 5 mm."""
    sheet = SHEETS[paper]
    pdf = label_pdf(labels(sheet.places, release=4), URL, sheet)
    assert np.array_equal(np.asarray(rendered(pdf)), np.asarray(rendered(pdf, edge_mm=EDGE_MM)))


def test_a_roll_has_one_label_on_each_page_and_each_is_read() -> None:
    printed = labels(3, release=2)
    pdf = label_pdf(printed, URL, ROLL)
    assert [read(rendered(pdf, page)) for page in range(3)] == [{symbol_text(URL, each.code)} for each in printed]
    with pymupdf.open(stream=pdf) as document:
        width, height = document[0].rect.width, document[0].rect.height
    assert (round(width / 72 * 25.4), round(height / 72 * 25.4)) == (50, 28)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_label_is_read_blurred_soiled_and_tilted(paper: str) -> None:
    """Half a module of blur is beyond any decoder (measured); 0.3 of one, 5 % of dirt and 7 degrees are not."""
    sheet = SHEETS[paper]
    (label,) = labels(1)
    picture = cut_out(rendered(label_pdf([label], URL, sheet), edge_mm=EDGE_MM), sheet, 0)
    module = min(picture.height, picture.width // 2) / 37
    rng = random.Random(5)
    draw = ImageDraw.Draw(picture)
    for _ in range(10):
        x, y = (module * rng.uniform(13, 28) for _ in range(2))
        draw.ellipse((x, y, x + module * 2.2, y + module * 2.2), fill=0)
    bad = picture.filter(ImageFilter.GaussianBlur(module * 0.3)).rotate(7, expand=True, fillcolor=255)
    assert read(bad) == {symbol_text(URL, label.code)}


def test_a_label_says_its_code_room_kind_and_position_in_print() -> None:
    printed = labels(2)
    text = text_of(label_pdf(printed, URL, SHEETS["a4"]))
    assert printed[0].code[:4] in text
    assert "K3 2 of 2" in text


@pytest.mark.parametrize("room", ["101 Αίθουσα αναγνώσεως", "102 Pokój żółtych łabędzi", "103 Котельная", "Å1 Żaŕ ő Ř"])
def test_greek_polish_and_cyrillic_rooms_are_printed_as_they_are_written(room: str) -> None:
    """They came out as '?' before; the widest sheet has room for the whole name."""
    assert room in text_of(label_pdf([Label(draw_code(), room, "", "K1", 1, 1)], URL, SHEETS["letter-2x10"]))


def test_after_a_release_a_label_says_its_number_and_what_to_fit() -> None:
    text = text_of(label_pdf(labels(1, release=4), URL, SHEETS["letter"]))
    assert "R4: 350 mA" in text
    assert "2 × B1189" in text
    assert "D40" in text


@pytest.mark.parametrize("sheet", [*SHEETS.values(), ROLL], ids=[*SHEETS, "roll"])
def test_long_part_codes_are_shortened_with_a_sign_and_never_push_the_set_point_off(sheet: object) -> None:
    long = Label(draw_code(), "Room " * 30, "", "K" * 60, 12, 345, 17, "2 × " + "B" * 200, "D" * 200, 1050)
    text = text_of(label_pdf([long], URL, sheet))  # type: ignore[arg-type]
    assert "R17: 1050 mA" in text
    assert "12 of 345" in text
    assert re.search(r"2 × B+…", text)
    assert re.search(r"D+…", text)
    assert re.search(r"K+…", text)


@pytest.mark.parametrize("paper", ["a4", "letter", "a4-4x10"])
def test_nothing_is_printed_beyond_its_label(paper: str) -> None:
    """With only the second place used, the places around it stay white to the last pixel."""
    sheet = SHEETS[paper]
    long = Label(draw_code(), "W" * 200, "Ground", "K" * 60, 1, 10**6, 1, "M" * 500, "N" * 500, 1050)
    page = np.asarray(rendered(label_pdf([long], URL, sheet, "2")))
    left, top, right, bottom = pixels_of(sheet, sheet.label_box(1))
    outside = page.copy()
    outside[top : bottom + 1, left : right + 1] = 255
    assert outside.min() == 255
    assert page[top:bottom, left:right].min() == 0


def test_a_started_sheet_is_used_up_and_the_next_begins_at_its_first_place() -> None:
    sheet = SHEETS["a4"]
    printed = labels(4)
    pdf = label_pdf(printed, URL, sheet, "23")
    with pymupdf.open(stream=pdf) as document:
        assert document.page_count == 2
    found = [read(cut_out(rendered(pdf, 0), sheet, place)) for place in range(21, 24)]
    found += [read(cut_out(rendered(pdf, 1), sheet, place)) for place in range(3)]
    codes = [{symbol_text(URL, each.code)} for each in printed]
    assert found == [set(), *codes, set()]


def test_the_program_that_prints_is_asked_not_to_scale() -> None:
    pdf = label_pdf(labels(1), URL, SHEETS["a4"])
    with pymupdf.open(stream=pdf) as document:
        asked = document.xref_get_key(document.pdf_catalog(), "ViewerPreferences/PrintScaling")
    assert asked == ("name", "/None")


def test_the_symbol_says_the_address_in_capitals_or_the_code_alone() -> None:
    assert symbol_text("https://walk.example.org/", "0000016JD") == "HTTPS://WALK.EXAMPLE.ORG/F/0000016JD"
    assert symbol_text(None, "0000016JD") == "0000016JD"


def test_a_code_alone_takes_the_smallest_symbol_and_so_larger_modules() -> None:
    """ISO/IEC 18004:2015, table 7 (from memory): version 1 has 21 modules and holds 10 signs at level H; version 3 has 29."""
    assert len(symbol_of("0000016JD")) == 21
    assert len(symbol_of("HTTPS://WALK.EXAMPLE.ORG/F/0000016JD")) == 29


@pytest.mark.parametrize("start", ["0", "25", "x", "²", "1.5", ""])
def test_a_place_that_the_sheet_lacks_is_refused_with_what_would_be_right(start: str) -> None:
    with pytest.raises(WrongInput) as refused:
        label_pdf(labels(1), URL, SHEETS["a4"], start)
    assert (refused.value.code, refused.value.facts["right"]) == ("label-start-wrong", 24)


def test_a_blank_label_says_its_code_and_what_to_do_with_it() -> None:
    code = draw_code()
    text = text_of(label_pdf([Label(code)], None, SHEETS["a4"]))
    assert code[:4] in text
    assert "bind" in text
    assert " of " not in text


def test_a_label_takes_less_than_600_bytes() -> None:
    printed = labels(1200, release=4)
    assert len(label_pdf(printed, URL, SHEETS["letter"])) / len(printed) < 600
