"""What stands in the cells of a table that somebody brings, before anybody knows what it means."""

from __future__ import annotations

from typing import TypedDict

from spanwalk.rules.said import Said

Cell = str | int | float | bool | None | dict[str, str]
"""Text, a number, yes or no, nothing; or one of `{"date"}`, `{"formula"}`, `{"error"}`, which are never taken."""


class SheetRead(TypedDict):
    """One sheet of a file: its name, its rows from the first, and its merged ranges as (first, last) of row, column."""

    name: str
    rows: list[list[Cell]]
    merged: list[list[int]]


class FileRead(TypedDict, total=False):
    """A whole file as it was read: its sheets, and what to know about how; or `wrong`, with the facts of its sentence."""

    sheets: list[SheetRead]
    notes: list[Said]
    wrong: str
    facts: dict[str, object]


def column_letters(column: int) -> str:
    """What a spreadsheet calls a column, counted from 0.

    >>> column_letters(0), column_letters(27)
    ('A', 'AB')
    """
    letters, left = "", column + 1
    while left:
        left, rest = divmod(left - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def is_empty(cell: Cell) -> bool:
    """Whether nothing stands in a cell, or nothing but spaces."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def shown(cell: Cell) -> str:
    """A cell as people read it, a whole number without a point, at most so much of it as a sentence bears."""
    if cell is None:
        return ""
    if isinstance(cell, dict):
        return next(iter(cell.values()))[:60]
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()[:60]
