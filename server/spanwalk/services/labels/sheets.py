"""Sheets of labels as a PDF: QR symbols as vectors, text beside them, nothing beyond its label."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO

import qrcode
from qrcode import constants
from reportlab.lib.units import inch, mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from spanwalk.rules.codes import PATH, spaced
from spanwalk.services.labels.labels import Label
from spanwalk.services.refusals import WrongInput
from spanwalk.words import say

QUIET_ZONE_MODULES = 4
"""ISO/IEC 18004:2015, 5.3.8 (from memory): four modules on all sides."""
LEVEL_H_FROM_PT = 35 * mm
"""From a symbol of 35 mm there is room for level H, which bears 15 % of dirt; below it level Q with larger modules."""
MASK = 3
"""A fixed mask: the search for the best of eight takes nine tenths of the time and reads no better."""
PADDING_PT = 1.5 * mm
FONT, BOLD = "Helvetica", "Helvetica-Bold"


@dataclass(frozen=True)
class Sheet:
    """A sheet of labels by plain geometry; all lengths in points."""

    page: tuple[float, float]
    columns: int
    rows: int
    label: tuple[float, float]
    left: float
    top: float
    gap: float = 0.0

    @property
    def places(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Lower left corner of a place, counted from 0, row by row."""
        row, column = divmod(place, self.columns)
        width, height = self.label
        return self.left + column * (width + self.gap), self.page[1] - self.top - (row + 1) * height


A4 = (210 * mm, 297 * mm)
LETTER = (8.5 * inch, 11 * inch)
SHEETS = {
    "a4": Sheet(A4, 3, 8, (70 * mm, 37 * mm), 0, 0.5 * mm),
    "letter": Sheet(LETTER, 3, 10, (2.625 * inch, 1 * inch), 0.1875 * inch, 0.5 * inch, 0.125 * inch),
}


def sheet_of(paper: str, start: str) -> tuple[Sheet, int]:
    """The sheet of a paper and the first free place on it, from 0.

    Raises
    ------
    WrongInput
        No such paper, or no such place on it.
    """
    sheet = SHEETS.get(paper)
    if sheet is None:
        raise WrongInput("paper-unknown", field="paper", value=paper[:40], right=list(SHEETS))
    if not (start.isascii() and start.isdigit() and len(start) < 7 and 1 <= int(start) <= sheet.places):
        raise WrongInput("label-start-wrong", field="start", value=start[:40], right=sheet.places)
    return sheet, int(start) - 1


def label_pdf(labels: Sequence[Label], base_url: str, paper: str = "a4", start: str = "1") -> bytes:
    """Labels as a PDF.

    Parameters
    ----------
    labels : sequence of Label
        In the order of print.
    base_url : str
        Where Spanwalk is reached; `/F/` and the code follow it in the symbol.
    paper : {'a4', 'letter'}
        3 × 8 labels of 70 × 37 mm, or 3 × 10 of 2 5/8 × 1 in.
    start : str
        First free place of the first sheet, from 1.

    Raises
    ------
    WrongInput
        No such paper or place.
    """
    sheet, first = sheet_of(paper, start)
    out = BytesIO()
    canvas = Canvas(out, pagesize=sheet.page, pageCompression=1, invariant=1)
    canvas.setTitle(say("label-sheet.title"))
    for number, label in enumerate(labels, start=first):
        if number > first and number % sheet.places == 0:
            canvas.showPage()
        _draw_label(canvas, sheet, number % sheet.places, label, base_url)
    canvas.save()
    return out.getvalue()


def _draw_label(canvas: Canvas, sheet: Sheet, place: int, label: Label, base_url: str) -> None:
    x, y = sheet.corner(place)
    width, height = sheet.label
    symbol = min(height, width / 2)
    _draw_symbol(canvas, label_url(base_url, label.code), x, y + (height - symbol) / 2, symbol)
    _draw_text(canvas, label, x + symbol + PADDING_PT / 2, y, width - symbol - 1.5 * PADDING_PT, height)


def label_url(base_url: str, code: str) -> str:
    """What the symbol says: upper case throughout, so that QR's alphanumeric mode takes it in fewer modules."""
    return f"{base_url.rstrip('/')}{PATH}{code}".upper()


def _matrix(text: str, level: int) -> list[list[bool]]:
    symbol = qrcode.QRCode(error_correction=level, border=0, mask_pattern=MASK)
    symbol.add_data(text)
    symbol.make(fit=True)
    return [list(map(bool, row)) for row in symbol.get_matrix()]


def _draw_symbol(canvas: Canvas, text: str, x: float, y: float, side: float) -> None:
    """The symbol with its quiet zone within a square of `side` points, whole modules merged along each row."""
    matrix = _matrix(text, constants.ERROR_CORRECT_H if side >= LEVEL_H_FROM_PT * 1.2 else constants.ERROR_CORRECT_Q)
    modules = len(matrix)
    unit = side / (modules + 2 * QUIET_ZONE_MODULES)
    quiet = QUIET_ZONE_MODULES * unit
    rectangles = " ".join(
        f"{column} {modules - 1 - row} {run} 1 re" for row, line in enumerate(matrix) for column, run in _runs(line)
    )
    canvas._code.append(f"q 0 g {unit:.4f} 0 0 {unit:.4f} {x + quiet:.3f} {y + quiet:.3f} cm {rectangles} f Q")


def _runs(line: Sequence[bool]) -> Iterator[tuple[int, int]]:
    """Start and length of each dark run of a row."""
    start = None
    for column, dark in enumerate([*line, False]):
        if dark and start is None:
            start = column
        elif not dark and start is not None:
            yield start, column - start
            start = None


def _draw_text(canvas: Canvas, label: Label, x: float, y: float, width: float, height: float) -> None:
    """Code, room, kind and position, and what to fit, from the top down as far as the label reaches."""
    size = min(11.0, height / 7)
    lines: list[tuple[str, str, float]] = [(BOLD, spaced(label.code), size)]
    lines += [(FONT, part, size * 0.8) for part in _wrapped(label.room, FONT, size * 0.8, width, 2)]
    lines.append(
        (
            BOLD,
            say("label-sheet.position", {"kind": label.kind, "position": label.position, "count": label.count}),
            size * 0.8,
        )
    )
    if label.release is not None:
        small = size * 0.66
        lines += [
            (FONT, part, small)
            for part in _wrapped(
                say("label-sheet.to-fit", {"release": label.release, "to_fit": label.to_fit}), FONT, small, width, 4
            )
        ]
    top = y + height - PADDING_PT
    for font, text, points in lines:
        top -= points * 1.15
        if top < y + PADDING_PT:
            return
        canvas.setFont(font, points)
        canvas.drawString(x, top, _fitted(text, font, points, width))


def _wrapped(text: str, font: str, size: float, width: float, most: int) -> list[str]:
    """The text in lines of at most `width` points; what does not fit into `most` lines ends in an ellipsis."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and pdfmetrics.stringWidth(longer, font, size) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    lines.append(line)
    if len(lines) > most:
        lines = [*lines[: most - 1], f"{lines[most - 1]} …"]
    return [_fitted(each, font, size, width) for each in lines]


def _fitted(text: str, font: str, size: float, width: float) -> str:
    """The text as far as it fits, with an ellipsis where it was cut; signs that the font lacks become '?'."""
    text = text.encode("cp1252", "replace").decode("cp1252")
    if pdfmetrics.stringWidth(text, font, size) <= width:
        return text
    while text and pdfmetrics.stringWidth(text + "…", font, size) > width:
        text = text[:-1]
    return text.rstrip() + "…"
