"""Tables that leave: typed cells, written as a workbook of several sheets or as CSV; what looks like a formula never is one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from io import BytesIO
from typing import Protocol

from spanwalk.services.text.neutral import Out, csv_text, is_formula_like, neutral, plain_text
from spanwalk.words import choice_text

WIDEST, NARROWEST = 60, 8
SHEET_LETTERS_MOST = 31
NOT_IN_A_SHEET_NAME = str.maketrans(dict.fromkeys("[]:*?/\\", "-"))


class Written(Protocol):
    """What is done to a sheet of a workbook; the library has no types of its own."""

    def write_string(self, row: int, column: int, text: str, how: object) -> object: ...
    def write_number(self, row: int, column: int, number: float) -> object: ...
    def set_column(self, first: int, last: int, width: int) -> object: ...
    def freeze_panes(self, row: int, column: int) -> object: ...
    def autofilter(self, first_row: int, first_column: int, last_row: int, last_column: int) -> object: ...


@dataclass(frozen=True)
class OutTable:
    """One table: its name for files, its title, its heads, its rows; what is to be said above it stands in `notes`."""

    name: str
    title: str
    heads: Sequence[str]
    rows: Sequence[Sequence[Out]]
    notes: Sequence[str] = ()
    yes_no: tuple[str, str] = field(default_factory=lambda: (choice_text("yes"), choice_text("no")))

    def worded(self, value: Out) -> Out:
        """A cell with yes or no in words, in the language that the table was made in."""
        return self.yes_no[0 if value else 1] if isinstance(value, bool) else value


def as_csv(table: OutTable) -> bytes:
    """A table as CSV in UTF-8 with a byte order mark."""
    rows: list[Sequence[Out]] = [[note] for note in table.notes]
    rows += [table.heads] if table.heads else []
    rows += table.rows
    return csv_text([neutral(table.worded(value)) for value in row] for row in rows).encode()


def as_workbook(
    tables: Sequence[OutTable], made_on: str = "", step: Callable[[int, int], None] = lambda done, of: None
) -> bytes:
    """Tables as one workbook, a sheet each: heads frozen and filtered, columns as wide as what stands in them.

    Parameters
    ----------
    tables : sequence of OutTable
        What the sheets tell.
    made_on : str
        The day, as 2026-03-01, of what is kept, so that the same content is always the same file; empty: now.
    step : callable
        Is told after each sheet how many are done, and of how many: the last one is the file itself.
    """
    from xlsxwriter import Workbook

    out = BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    book = Workbook(out, options)
    if made_on:
        book.set_properties({"created": datetime.fromisoformat(made_on)})
    formats = {
        "head": book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1}),
        "text": book.add_format({"valign": "top"}),
        "quoted": book.add_format({"quote_prefix": True, "valign": "top"}),
        "note": book.add_format({"italic": True}),
    }
    for done, table in enumerate(tables, 1):
        _write_sheet(book.add_worksheet(sheet_name(table.title)), table, formats)
        step(done, len(tables) + 1)
    book.close()
    return out.getvalue()


def sheet_name(title: str) -> str:
    """A title as a sheet may be called."""
    return title.translate(NOT_IN_A_SHEET_NAME)[:SHEET_LETTERS_MOST].strip("'") or "Sheet"


def _write_sheet(sheet: Written, table: OutTable, formats: dict[str, object]) -> None:
    for place, note in enumerate(table.notes):
        sheet.write_string(place, 0, plain_text(note), formats["note"])
    top = len(table.notes)
    for column, head in enumerate(table.heads):
        sheet.write_string(top, column, plain_text(head), formats["head"])
    for place, row in enumerate(table.rows, top + 1):
        for column, value in enumerate(row):
            _write_cell(sheet, place, column, table.worded(value), formats)
    for column, width in enumerate(_widths(table)):
        sheet.set_column(column, column, width)
    sheet.freeze_panes(top + 1, 1)
    if table.heads and table.rows:
        sheet.autofilter(top, 0, top + len(table.rows), len(table.heads) - 1)


def _write_cell(sheet: Written, row: int, column: int, value: Out, formats: dict[str, object]) -> None:
    if value is None or value == "":
        return
    if isinstance(value, (int, float)):
        sheet.write_number(row, column, value)
    else:
        text = plain_text(value)
        sheet.write_string(row, column, text, formats["quoted" if is_formula_like(text) else "text"])


def _widths(table: OutTable) -> Iterable[int]:
    for column, head in enumerate(table.heads):
        cells = (str(row[column]) for row in table.rows if column < len(row) and row[column] is not None)
        longest = max((len(line) for text in (head, *cells) for line in text.split("\n")), default=0)
        yield min(WIDEST, max(NARROWEST, longest + 2))
