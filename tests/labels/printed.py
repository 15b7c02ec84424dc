"""Labels as they come out of a printer: pages rendered to pixels, their white edges cut, and read by decoders that are not ours."""

from __future__ import annotations

import pymupdf
import pytest
import zxingcpp
from PIL import Image
from tests.support import machine

from spanwalk.rules.codes import spaced
from spanwalk.services.labels.geometry import SHEETS, Box, Sheet
from spanwalk.services.labels.labels import draw_code
from spanwalk.services.labels.layout import Label

DPI = 300
MM = DPI / 25.4
"""Pixels in a millimetre."""
EDGE_MM = 6.35
"""What the printer of the tests leaves white: 1/4 in."""
URL = "https://walk.example.org"
ROOMS = ("G02 Reading room", "101 Αίθουσα αναγνώσεως", "102 Pokój żółtych łabędzi", "103 Котельная")


def labels(count: int, release: int | None = None, **more: object) -> list[Label]:
    """Labels of invented fixtures, in Latin, Greek, Polish and Cyrillic rooms."""
    fit = {"bars": "2 × B1189", "driver": "D40", "setting_ma": 350} if release else {}
    return [
        Label(draw_code(), ROOMS[n % len(ROOMS)], "Ground", "K3", n, count, release, **{**fit, **more})  # type: ignore[arg-type]
        for n in range(1, count + 1)
    ]


def rendered(pdf: bytes, page: int = 0, edge_mm: float = 0.0) -> Image.Image:
    """One page at 300 dpi; what lies in the printer's edge is white."""
    with pymupdf.open(stream=pdf) as document:
        pixels = document[page].get_pixmap(dpi=DPI)
    whole = Image.frombytes("RGB", (pixels.width, pixels.height), pixels.samples).convert("L")
    edge = round(edge_mm * MM)
    printed = Image.new("L", whole.size, 255)
    inner = (edge, edge, whole.width - edge, whole.height - edge)
    printed.paste(whole.crop(inner), inner[:2])
    return printed


def pixels_of(sheet: Sheet, box: Box) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of a box on a rendered page."""
    top = sheet.page[1] - box.y - box.height
    return tuple(round(each * MM) for each in (box.x, top, box.x + box.width, top + box.height))  # type: ignore[return-value]


def cut_out(page: Image.Image, sheet: Sheet, place: int) -> Image.Image:
    """One label of a rendered page, as a camera is held to it; what lies beyond the page is white."""
    left, top, right, bottom = pixels_of(sheet, sheet.label_box(place))
    picture = Image.new("L", (right - left, bottom - top), 255)
    picture.paste(page, (-left, -top))
    return picture


def label_with(pdf: bytes, paper: str, code: str) -> Image.Image:
    """The label that says a code in print, cut out of the printed sheets; an error where none does."""
    sheet = SHEETS[paper]
    with pymupdf.open(stream=pdf) as document:
        for number, page in enumerate(document):
            for place in range(sheet.places):
                left, top, right, bottom = (each / MM * 72 / 25.4 for each in pixels_of(sheet, sheet.label_box(place)))
                if spaced(code) in page.get_textbox(pymupdf.Rect(left, top, right, bottom)):
                    return cut_out(rendered(pdf, number), sheet, place)
    raise AssertionError(f"no printed label says {code}")


def read(picture: Image.Image) -> set[str]:
    return {found.text for found in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)}


def read_by_another(picture: Image.Image) -> set[str]:
    if not machine.zbar():
        pytest.skip("the second decoder needs libzbar0")
    from pyzbar import pyzbar

    return {found.data.decode() for found in pyzbar.decode(picture)}


def text_of(pdf: bytes, page: int = 0) -> str:
    """The words of a page, bound blanks as blanks."""
    with pymupdf.open(stream=pdf) as document:
        return " ".join(document[page].get_text().replace("\u00a0", " ").split())
