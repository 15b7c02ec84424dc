"""The alignment page: outlines of all labels of a sheet, and rulers that tell whether the printer scaled the page."""

from __future__ import annotations

from io import BytesIO

from reportlab.lib.units import inch, mm
from reportlab.pdfgen.canvas import Canvas

from spanwalk.services.labels.geometry import INCH_MM, Sheet
from spanwalk.services.labels.sheets import draw_lines, new_canvas
from spanwalk.services.labels.typesetting import FONT, LEADING, Line, ready, wrapped
from spanwalk.words import FIRST, say

OUTLINE_PT, MARK_PT = 0.4, 0.3
TEXT_PT = 7.0
CROSS_MM = 3.0
TICKS_MM = {1: 1.2, 5: 2.0, 10: 3.2}
"""Length of a ruler's mark at each millimetre, five, and ten."""
TICKS_8TH_IN = {1: 1.2, 4: 2.0, 8: 3.2}
"""The same at each eighth of an inch, half, and whole."""
RULER_MOST_MM = 100.0
EXPLAINED_FROM_MM = 60.0


def alignment_pdf(sheet: Sheet, language: str = FIRST) -> bytes:
    """One page to be printed on plain paper and held against a sheet of labels.

    Parameters
    ----------
    sheet : Sheet
        The sheet, moved as the labels would be.
    language : str
        In which the words on it are.
    """
    ready()
    out = BytesIO()
    canvas = new_canvas(out, sheet, say("alignment.title", {}, language))
    for place in range(sheet.places):
        _outline(canvas, sheet, place)
    _rulers(canvas, sheet)
    _explain(canvas, sheet, language)
    canvas.save()
    return out.getvalue()


def _outline(canvas: Canvas, sheet: Sheet, place: int) -> None:
    """The label's edge and corners, its number, and dashed what is printed on."""
    label, box = sheet.label_box(place), sheet.box(place)
    canvas.setLineWidth(OUTLINE_PT)
    canvas.setDash()
    canvas.rect(label.x * mm, label.y * mm, label.width * mm, label.height * mm)
    canvas.setDash(1, 2)
    canvas.rect(box.x * mm, box.y * mm, box.width * mm, box.height * mm)
    canvas.setDash()
    if place + 1 < sheet.places:  # the last one has the words
        x, y = (label.x + label.width / 2) * mm, (label.y + label.height / 2) * mm
        canvas.line(x - CROSS_MM * mm, y, x + CROSS_MM * mm, y)
        canvas.line(x, y - CROSS_MM * mm, x, y + CROSS_MM * mm)
    canvas.setFont(FONT, TEXT_PT)
    canvas.drawRightString((box.x + box.width - 1) * mm, (box.y + 1) * mm, str(place + 1))


def _rulers(canvas: Canvas, sheet: Sheet) -> None:
    """From the middle of the first label: millimetres across and down, eighths of an inch beside them."""
    box = sheet.box(0)
    left, top = box.x, box.y + box.height
    across = min(RULER_MOST_MM, sheet.page[0] - sheet.edge - left)
    down = min(RULER_MOST_MM, top - sheet.edge)
    middle = box.y + box.height / 2
    canvas.setLineWidth(MARK_PT)
    for step, divisions in ((1.0, TICKS_MM), (INCH_MM / 8, TICKS_8TH_IN)):
        up = 1 if divisions is TICKS_MM else -1
        for number in range(int(across / step) + 1):
            x = (left + number * step) * mm
            canvas.line(x, middle * mm, x, (middle + up * _mark_mm(number, divisions)) * mm)
        for number in range(int(down / step) + 1):
            y = (top - number * step) * mm
            foot = left + box.width / 4
            canvas.line(foot * mm, y, (foot + up * _mark_mm(number, divisions)) * mm, y)
    canvas.line(left * mm, middle * mm, (left + across) * mm, middle * mm)
    canvas.line((left + box.width / 4) * mm, top * mm, (left + box.width / 4) * mm, (top - down) * mm)
    _numbers(canvas, left, middle, across)


def _mark_mm(number: int, divisions: dict[int, float]) -> float:
    return next(length for every, length in sorted(divisions.items(), reverse=True) if number % every == 0)


def _numbers(canvas: Canvas, left: float, middle: float, across: float) -> None:
    canvas.setFont(FONT, TEXT_PT * 0.8)
    for ten in range(10, int(across) + 1, 10):
        canvas.drawCentredString((left + ten) * mm, (middle + 3.6) * mm, str(ten))
    for whole in range(1, int(across / INCH_MM) + 1):
        canvas.drawCentredString(left * mm + whole * inch, (middle - 5.4) * mm, f"{whole} in")


def _explain(canvas: Canvas, sheet: Sheet, language: str) -> None:
    """What to do with the page, in the last label's box; a small label alone on its page has no room for it."""
    if sheet.places == 1 and sheet.label[1] < EXPLAINED_FROM_MM:
        return
    box = sheet.box(sheet.places - 1)
    room = int(box.height * mm / (TEXT_PT * LEADING))
    words = wrapped(say("alignment.what-to-do", {}, language), FONT, TEXT_PT, (box.width - 2) * mm, room)
    lines = [Line(FONT, TEXT_PT, each) for each in words]
    draw_lines(canvas, lines, (box.x + 1) * mm, (box.y + box.height) * mm)
