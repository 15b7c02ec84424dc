"""Sheets of labels, rendered to pixels and read back by two decoders that are not ours."""

from __future__ import annotations

import random

import numpy as np
import pymupdf
import pytest
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter
from tests.support import machine

from spanwalk.services.labels.labels import Label, draw_code
from spanwalk.services.labels.sheets import SHEETS, label_pdf, label_url
from spanwalk.services.refusals import WrongInput

BASE = "https://walk.example.org"
DPI = 300


def labels(count: int, release: int | None = None) -> list[Label]:
    fit = "2 bars B1189 in rows 1 and 3, driver D40 at 350 mA" if release else ""
    return [
        Label(draw_code(), f"{n} Reading room with a rather long name", "Ground", "K3", n, count, release, fit)
        for n in range(1, count + 1)
    ]


def cut_out(page: Image.Image, paper: str, place: int) -> Image.Image:
    """One label of a rendered sheet, as a camera is held to it."""
    sheet, scale = SHEETS[paper], DPI / 72
    x, y = sheet.corner(place)
    left, bottom = round(x * scale), round((sheet.page[1] - y) * scale)
    return page.crop((left, bottom - round(sheet.label[1] * scale), left + round(sheet.label[0] * scale), bottom))


def rendered(pdf: bytes, page: int = 0) -> Image.Image:
    with pymupdf.open(stream=pdf) as document:
        pixels = document[page].get_pixmap(dpi=DPI)
        return Image.frombytes("RGB", (pixels.width, pixels.height), pixels.samples).convert("L")


def read(picture: Image.Image) -> set[str]:
    return {found.text for found in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)}


def urls(printed: list[Label]) -> set[str]:
    return {label_url(BASE, label.code) for label in printed}


@pytest.mark.parametrize("paper", list(SHEETS))
def test_every_label_of_a_full_sheet_is_read_by_two_decoders(paper: str) -> None:
    printed = labels(SHEETS[paper].places)
    page = rendered(label_pdf(printed, BASE, paper))
    cut = [cut_out(page, paper, place) for place in range(len(printed))]
    assert [read(each) for each in cut] == [urls([label]) for label in printed]
    if not machine.zbar():
        pytest.skip("the second decoder needs libzbar0")
    from pyzbar import pyzbar

    assert [{found.data.decode() for found in pyzbar.decode(each)} for each in cut] == [
        urls([label]) for label in printed
    ]


@pytest.mark.parametrize("paper", list(SHEETS))
def test_a_label_is_read_blurred_soiled_and_tilted(paper: str) -> None:
    """Half a module of blur is beyond any decoder (measured); 0.3 of one, 5 % of dirt and 7 degrees are not."""
    (label,) = labels(1)
    page = rendered(label_pdf([label], BASE, paper))
    width, height = (round(side / 72 * DPI) for side in SHEETS[paper].label)
    left, top = round(SHEETS[paper].left / 72 * DPI), round(SHEETS[paper].top / 72 * DPI)
    picture = page.crop((left, top, left + width, top + height))
    side = min(height, width // 2)
    module = side / 37
    rng = random.Random(5)
    draw = ImageDraw.Draw(picture)
    for _ in range(10):
        x, y = (module * rng.uniform(13, 28) for _ in range(2))
        draw.ellipse((x, y, x + module * 2.2, y + module * 2.2), fill=0)
    bad = picture.filter(ImageFilter.GaussianBlur(module * 0.3)).rotate(7, expand=True, fillcolor=255)
    assert read(bad) == urls([label])


def test_a_label_says_its_code_room_kind_and_position_in_print() -> None:
    printed = labels(2)
    with pymupdf.open(stream=label_pdf(printed, BASE)) as document:
        text = document[0].get_text()
    assert printed[0].code[:4] in text
    assert "Reading room" in text
    assert "K3  2 of 2" in text


def test_after_a_release_a_label_says_what_to_fit() -> None:
    with pymupdf.open(stream=label_pdf(labels(1, release=4), BASE)) as document:
        text = " ".join(document[0].get_text().split())
    assert "R4: 2 bars B1189 in rows 1" in text
    assert "350 mA" in text


@pytest.mark.parametrize("paper", list(SHEETS))
def test_nothing_is_printed_beyond_its_label(paper: str) -> None:
    """With only every second place used, the places between stay white to the last pixel."""
    sheet = SHEETS[paper]
    long = [Label(draw_code(), "W" * 200, "Ground", "K" * 60, 1, 10**6, 1, "M" * 500)]
    page = np.asarray(rendered(label_pdf(long, BASE, paper, "2")))
    x, y = sheet.corner(1)
    scale = DPI / 72
    left, right = round(x * scale), round((x + sheet.label[0]) * scale)
    bottom = round((sheet.page[1] - y) * scale)
    top = round((sheet.page[1] - y - sheet.label[1]) * scale)
    outside = page.copy()
    outside[top : bottom + 1, left : right + 1] = 255
    assert outside.min() == 255
    assert page[top:bottom, left:right].min() == 0


def test_a_started_sheet_is_used_up_and_the_next_begins_at_its_first_place() -> None:
    printed = labels(4)
    pdf = label_pdf(printed, BASE, "a4", "23")
    with pymupdf.open(stream=pdf) as document:
        assert document.page_count == 2
    first, second = rendered(pdf, 0), rendered(pdf, 1)
    assert [read(cut_out(first, "a4", place)) for place in range(21, 24)] == [
        set(),
        urls(printed[:1]),
        urls(printed[1:2]),
    ]
    assert [read(cut_out(second, "a4", place)) for place in range(3)] == [urls(printed[2:3]), urls(printed[3:4]), set()]


def test_the_address_is_printed_in_capitals_and_takes_a_small_symbol() -> None:
    assert label_url("https://walk.example.org/", "0000016JD") == "HTTPS://WALK.EXAMPLE.ORG/F/0000016JD"


@pytest.mark.parametrize(
    ("paper", "start"), [("a3", "1"), ("a4", "0"), ("a4", "25"), ("letter", "31"), ("a4", "x"), ("a4", "²")]
)
def test_an_unknown_paper_or_place_is_refused_with_what_would_be_right(paper: str, start: str) -> None:
    with pytest.raises(WrongInput) as refused:
        label_pdf(labels(1), BASE, paper, start)
    assert refused.value.code == ("paper-unknown" if paper == "a3" else "label-start-wrong")
    assert refused.value.facts["right"]
