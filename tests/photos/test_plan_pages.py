"""A page of a PDF becomes a picture of the floor plan: the size that its paper has, what is drawn on it, what is refused."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pymupdf
import pytest
from PIL import Image, ImageChops, ImageStat
from reportlab.lib.pagesizes import A3, landscape
from reportlab.pdfgen.canvas import Canvas
from tests.support.installation import Installation

from spanwalk.services.photos import plan_pages

A3_PT = landscape(A3)


def plan_pdf(pages: int = 1, **how: Any) -> bytes:
    """A3 plans, one room each: a black square from the middle of the page to its upper right corner."""
    out = BytesIO()
    canvas = Canvas(out, pagesize=A3_PT, invariant=True, **how)
    width, height = A3_PT
    for page in range(1, pages + 1):
        canvas.rect(width / 2, height / 2, width / 2, height / 2, fill=1)
        canvas.setFont("Helvetica", 40)
        canvas.drawString(60, 60, f"Level {page}")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def drawn(here: Installation, data: bytes, query: str = "", name: str = "surveyor") -> Any:
    return here.call(
        name,
        "POST",
        f"/api/sites/{{site}}/plan-pages{query}",
        data=data,
        headers={"Content-Type": "application/pdf"},
    )


def test_a_page_comes_back_as_a_picture_in_the_shape_of_its_paper(here: Installation) -> None:
    # A3 is 420 mm x 297 mm (ISO 216), so 3,200 px of width are 3,200 x 297 / 420 = 2,262.9 px of height.
    answer = drawn(here, plan_pdf(2), "?page=2")
    assert (answer.status_code, answer.mimetype) == (200, "image/png")
    assert answer.headers["Spanwalk-Pages"] == "2"
    picture = Image.open(BytesIO(answer.data))
    assert picture.width == 3200
    assert 2261 <= picture.height <= 2264


def test_what_is_on_the_page_stands_where_another_reader_draws_it(here: Installation) -> None:
    # Another reader of PDFs, PyMuPDF, draws the same page: a general-purpose reference.
    data = plan_pdf()
    picture = Image.open(BytesIO(drawn(here, data).data)).convert("L")
    page = pymupdf.open(stream=data)[0]
    pixels = page.get_pixmap(matrix=pymupdf.Matrix(3200 / A3_PT[0], 3200 / A3_PT[0]), colorspace=pymupdf.csGRAY)
    other = Image.frombytes("L", (pixels.width, pixels.height), pixels.samples).resize(picture.size)
    assert ImageStat.Stat(ImageChops.difference(picture, other)).mean[0] < 1.0
    assert picture.getpixel((picture.width * 3 // 4, picture.height // 4)) == 0
    assert picture.getpixel((picture.width * 3 // 4, picture.height * 3 // 4)) == 255


@pytest.mark.parametrize(
    ("data", "query", "code"),
    [
        (b"\xff\xd8\xff\xe0 a photo", "", "floor-plan.not-a-pdf"),
        (b"", "", "floor-plan.not-a-pdf"),
        (b"%PDF-1.7\nnothing of it", "", "floor-plan.damaged"),
        (plan_pdf(encrypt="secret"), "", "floor-plan.locked"),
        (plan_pdf(2), "?page=3", "floor-plan.page-none"),
        (plan_pdf(2), "?page=0", "floor-plan.page-none"),
    ],
    ids=["a photo", "nothing", "cut short", "locked", "a page too many", "no page"],
)
def test_what_cannot_be_drawn_is_refused_with_what_to_do(
    here: Installation, data: bytes, query: str, code: str
) -> None:
    answer = drawn(here, data, query)
    assert (answer.status_code, answer.json["code"]) == (422, code)
    assert len(answer.json["detail"]) > 20


def test_more_bytes_than_are_taken_are_refused(here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    data = plan_pdf()
    monkeypatch.setattr(plan_pages, "PDF_BYTES_MOST", len(data) - 1)
    answer = drawn(here, data)
    assert (answer.status_code, answer.json["code"]) == (413, "floor-plan.too-large")


def test_a_page_that_takes_too_long_is_given_up(here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_pages, "WAIT_S", 0.01)
    answer = drawn(here, plan_pdf())
    assert (answer.status_code, answer.json["code"]) == (422, "floor-plan.too-much-inside")


def test_who_comes_while_others_are_drawn_is_told_to_try_again(here: Installation) -> None:
    taken = [plan_pages._free.acquire(blocking=False) for _ in range(plan_pages.AT_ONCE)]
    try:
        answer = drawn(here, plan_pdf())
    finally:
        for _ in taken:
            plan_pages._free.release()
    assert taken == [True] * plan_pages.AT_ONCE
    assert (answer.status_code, answer.json["code"]) == (503, "floor-plan.busy")
    assert drawn(here, plan_pdf()).status_code == 200


def test_a_crew_does_not_bring_plans_in(here: Installation) -> None:
    answer = drawn(here, plan_pdf(), name="crew")
    assert (answer.status_code, answer.json["code"]) == (403, "role-not-enough")
