"""Where labels lie on their paper, by plain numbers: sheets of A4 and Letter, rolls, and whatever somebody measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TypedDict

from spanwalk.services.refusals import WrongInput

INCH_MM = 25.4
EDGE_MM = 6.35
"""What many office printers leave white along each edge: 1/4 in (common practice, no source). Nothing is put there."""
ROLL_EDGE_MM = 1.5
"""A printer for rolls prints nearly to the edge (common practice, no source)."""
PADDING_MM = 1.5
SHIFT_MOST_MM = 10.0
"""How far a print can be moved after a look at the alignment page."""
PAGE_MOST_MM = 1000.0
LABELS_MOST = 500
"""Columns times rows of a sheet."""
ROLL, OWN = "roll", "own"
MM_SLACK = 0.05
"""Rounding of inches: so little over the page is not over it."""


class OwnNumbers(TypedDict, total=False):
    """A geometry as somebody measured it, all in millimetres but columns and rows."""

    width_mm: float
    height_mm: float
    gap_mm: float
    page_width_mm: float
    page_height_mm: float
    columns: int
    rows: int
    left_mm: float
    top_mm: float
    across_mm: float
    down_mm: float


class SheetTold(TypedDict):
    """A sheet as the print screen offers it."""

    id: str
    paper: str
    columns: int
    rows: int
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Box:
    """A rectangle on a page, from its lower left corner [mm]."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Sheet:
    """Labels on a page by plain numbers; all lengths in millimetres.

    Parameters
    ----------
    page : (float, float)
        Width and height of the page.
    columns, rows : int
        Labels beside and below one another.
    label : (float, float)
        Width and height of one.
    left, top : float
        From the edge of the page to the first label.
    across, down : float
        Gaps between columns, and between rows.
    edge : float
        What the printer leaves white along each edge of the page.
    shift : (float, float)
        By how much everything is moved to the right, and down.
    """

    page: tuple[float, float]
    columns: int
    rows: int
    label: tuple[float, float]
    left: float
    top: float
    across: float = 0.0
    down: float = 0.0
    edge: float = EDGE_MM
    shift: tuple[float, float] = (0.0, 0.0)

    @property
    def places(self) -> int:
        """Labels on one page."""
        return self.columns * self.rows

    def label_box(self, place: int) -> Box:
        """A label itself, by its place from 0, row by row."""
        row, column = divmod(place, self.columns)
        width, height = self.label
        x = self.left + column * (width + self.across) + self.shift[0]
        y = self.page[1] - self.top - row * (height + self.down) - height - self.shift[1]
        return Box(x, y, width, height)

    def box(self, place: int) -> Box:
        """What may be printed on of a label: its padding and the printer's white edges taken off.

        Labels of one sheet look alike: what an edge takes of one in the first column it takes of all in it, no more.
        """
        whole = self.label_box(place)
        left = max(whole.x + PADDING_MM, self.edge)
        right = min(whole.x + whole.width - PADDING_MM, self.page[0] - self.edge)
        bottom = max(whole.y + PADDING_MM, self.edge)
        top = min(whole.y + whole.height - PADDING_MM, self.page[1] - self.edge)
        return Box(left, bottom, max(0.0, right - left), max(0.0, top - bottom))

    @property
    def smallest(self) -> tuple[float, float]:
        """Width and height of the narrowest and of the lowest box on it: what fits there fits on all."""
        boxes = [self.box(place) for place in range(self.places)]
        return min(each.width for each in boxes), min(each.height for each in boxes)


A4 = (210.0, 297.0)
LETTER = (8.5 * INCH_MM, 11 * INCH_MM)
SHEETS: Mapping[str, Sheet] = {
    "a4": Sheet(A4, 3, 8, (70.0, 37.0), 0.0, 0.5),
    "a4-3x7": Sheet(A4, 3, 7, (63.5, 38.1), 7.25, 15.15, across=2.5),
    "a4-4x10": Sheet(A4, 4, 10, (48.5, 25.4), 8.0, 21.5),
    "a4-2x7": Sheet(A4, 2, 7, (99.1, 38.1), 4.65, 15.15, across=2.5),
    "a4-2x4": Sheet(A4, 2, 4, (99.1, 67.7), 4.65, 13.1, across=2.5),
    "letter": Sheet(LETTER, 3, 10, (2.625 * INCH_MM, INCH_MM), 0.1875 * INCH_MM, 0.5 * INCH_MM, across=0.125 * INCH_MM),
    "letter-2x10": Sheet(
        LETTER, 2, 10, (4 * INCH_MM, INCH_MM), 0.15625 * INCH_MM, 0.5 * INCH_MM, across=0.1875 * INCH_MM
    ),
    "letter-2x5": Sheet(
        LETTER, 2, 5, (4 * INCH_MM, 2 * INCH_MM), 0.15625 * INCH_MM, 0.5 * INCH_MM, across=0.1875 * INCH_MM
    ),
    "letter-2x3": Sheet(
        LETTER, 2, 3, (4 * INCH_MM, 10 / 3 * INCH_MM), 0.15625 * INCH_MM, 0.5 * INCH_MM, across=0.1875 * INCH_MM
    ),
}
"""Common sizes of label sheets by their measures (common practice, no source: hold the alignment page against yours)."""
LEAST_LABEL_MM = (15.0, 12.0)
"""Smaller labels hold no symbol that a phone reads from a ladder's length."""


def sheets_told() -> list[SheetTold]:
    """The sheets that are offered, in order."""
    return [
        {
            "id": id,
            "paper": "a4" if sheet.page == A4 else "letter",
            "columns": sheet.columns,
            "rows": sheet.rows,
            "width_mm": round(sheet.label[0], 3),
            "height_mm": round(sheet.label[1], 3),
        }
        for id, sheet in SHEETS.items()
    ]


def sheet_of(paper: str, numbers: OwnNumbers, right_mm: float = 0.0, down_mm: float = 0.0) -> Sheet:
    """The sheet that somebody chose.

    Parameters
    ----------
    paper : str
        One of `SHEETS`; `roll` with width, height and gap; or `own` with all its numbers.
    numbers : OwnNumbers
        What was measured of a roll or a sheet of one's own.
    right_mm, down_mm : float
        By how much the print is moved, after a look at the alignment page.

    Raises
    ------
    WrongInput
        No such paper, a number that is missing, or labels that do not lie on the page.
    """
    if not (abs(right_mm) <= SHIFT_MOST_MM and abs(down_mm) <= SHIFT_MOST_MM):
        raise WrongInput(
            "label-shift-wrong", field="shift_right_mm", value=f"{right_mm:g}, {down_mm:g}", right=SHIFT_MOST_MM
        )
    sheet = _roll(numbers) if paper == ROLL else _own(numbers) if paper == OWN else SHEETS.get(paper)
    if sheet is None:
        raise WrongInput("paper-unknown", field="paper", value=paper[:40], right=[*SHEETS, ROLL, OWN])
    return replace(sheet, shift=(right_mm, down_mm))


def _roll(numbers: OwnNumbers) -> Sheet:
    """One label on each page: the printer feeds by the page, so the gap is a part of it."""
    width, height = _number(numbers, "width_mm"), _number(numbers, "height_mm")
    gap = numbers.get("gap_mm", 0.0)
    return _checked(Sheet((width, height + gap), 1, 1, (width, height), 0.0, 0.0, edge=ROLL_EDGE_MM))


def _own(numbers: OwnNumbers) -> Sheet:
    return _checked(
        Sheet(
            (_number(numbers, "page_width_mm"), _number(numbers, "page_height_mm")),
            int(_number(numbers, "columns")),
            int(_number(numbers, "rows")),
            (_number(numbers, "width_mm"), _number(numbers, "height_mm")),
            numbers.get("left_mm", 0.0),
            numbers.get("top_mm", 0.0),
            numbers.get("across_mm", 0.0),
            numbers.get("down_mm", 0.0),
        )
    )


def _number(numbers: OwnNumbers, name: str) -> float:
    value = numbers.get(name)
    if not isinstance(value, (int, float)) or not value > 0:
        raise WrongInput("label-number-missing", field=name, value=value)
    return float(value)


def _checked(sheet: Sheet) -> Sheet:
    """The sheet, if its labels lie on a page that a printer may have and are large enough.

    Raises
    ------
    WrongInput
        Which measure is wrong, and how much there is.
    """
    if max(sheet.page) > PAGE_MOST_MM + sheet.label[1]:
        raise WrongInput("label-page-wrong", field="page_height_mm", value=max(sheet.page), right=PAGE_MOST_MM)
    if sheet.places > LABELS_MOST:
        raise WrongInput("label-places-wrong", field="columns", value=sheet.places, right=LABELS_MOST)
    if sheet.label[0] < LEAST_LABEL_MM[0] or sheet.label[1] < LEAST_LABEL_MM[1]:
        least = "{:g} × {:g}".format(*LEAST_LABEL_MM)
        told = f"{sheet.label[0]:g} × {sheet.label[1]:g}"
        raise WrongInput("label-too-small", field="width_mm", value=told, right=least)
    last = sheet.label_box(sheet.places - 1)
    wide, high = last.x + last.width, sheet.page[1] - last.y
    if wide > sheet.page[0] + MM_SLACK or high > sheet.page[1] + MM_SLACK:
        told, page = f"{wide:.1f} × {high:.1f}", f"{sheet.page[0]:g} × {sheet.page[1]:g}"
        raise WrongInput("label-sheet-over-page", field="columns", value=told, right=page)
    return sheet


def first_place(sheet: Sheet, start: str) -> int:
    """The first free place on the first page, from 0.

    Raises
    ------
    WrongInput
        No such place on it.
    """
    if not (start.isascii() and start.isdigit() and len(start) < 7 and 1 <= int(start) <= sheet.places):
        raise WrongInput("label-start-wrong", field="start", value=start[:40], right=sheet.places)
    return int(start) - 1
