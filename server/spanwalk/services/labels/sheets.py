"""Sheets of labels as a PDF: QR symbols as vectors, text beside them, nothing beyond its label or in a printer's white edge."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from spanwalk.services.labels.geometry import Sheet, first_place
from spanwalk.services.labels.layout import Label, Laid, lay_out
from spanwalk.services.labels.symbols import draw_symbol, symbol_of, symbol_text
from spanwalk.services.labels.typesetting import LEADING, Line, ready
from spanwalk.words import FIRST, say


def label_pdf(
    labels: Sequence[Label], public_url: str | None, sheet: Sheet, start: str = "1", language: str = FIRST
) -> bytes:
    """Labels as a PDF.

    Parameters
    ----------
    labels : sequence of Label
        In the order of print.
    public_url : str or None
        Where Spanwalk is reached; None: the symbols hold the bare codes.
    sheet : Sheet
        Where they lie on the paper.
    start : str
        First free place of the first page, from 1.
    language : str
        In which the words on them are.

    Raises
    ------
    WrongInput
        No such place.
    """

    def draw(canvas: Canvas, number: int, place: int) -> None:
        label = labels[number]
        matrix = symbol_of(symbol_text(public_url, label.code))
        _draw(canvas, lay_out(label, matrix, sheet.label_box(place), sheet.box(place), language))

    return pages(say("label-sheet.title", {}, language), sheet, first_place(sheet, start), len(labels), draw)


def pages(title: str, sheet: Sheet, first: int, count: int, draw: Callable[[Canvas, int, int], None]) -> bytes:
    """So many things, one to a place from the first free one on, on as many pages as it takes; printed at 100 %.

    `draw` is told the number of the thing and its place on the page, both from 0.
    """
    ready()
    out = BytesIO()
    canvas = new_canvas(out, sheet, title)
    for number in range(count):
        place = (first + number) % sheet.places
        if number and place == 0:
            canvas.showPage()
        draw(canvas, number, place)
    canvas.save()
    return out.getvalue()


def new_canvas(out: BytesIO, sheet: Sheet, title: str) -> Canvas:
    """An empty page of a sheet, which asks the program that prints it not to scale."""
    width, height = sheet.page
    canvas = Canvas(out, pagesize=(width * mm, height * mm), pageCompression=1, invariant=1)
    canvas.setTitle(title)
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def _draw(canvas: Canvas, laid: Laid) -> None:
    draw_symbol(canvas, laid.matrix, laid.symbol_x, laid.symbol_y, laid.dark)
    draw_lines(canvas, laid.lines, laid.text_x, laid.top)


def draw_lines(canvas: Canvas, lines: Sequence[Line], x: float, top: float) -> None:
    """Lines of text from the top down [pt]."""
    for line in lines:
        top -= line.size * LEADING
        canvas.setFont(line.font, line.size)
        canvas.drawString(x, top + line.size * (LEADING - 1), line.text)
