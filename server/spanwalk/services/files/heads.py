"""Which row of a sheet heads it, and which column means what: by the trade's names, by hand, and as it was told before."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypedDict

from spanwalk.services.files.cells import Cell, is_empty, shown
from spanwalk.services.files.kinds import Column, columns_of, normal, unit_called

LOOKED_AT_ROWS = 25
"""A head stands among the first rows, below a title at most."""
NOT_TAKEN = ""
"""By hand: this column is not taken."""
_IN_BRACKETS = re.compile(r"^(?P<name>.*?)\s*[\[(](?P<unit>[^\[\]()]*)[\])]\s*$")
_BEHIND_A_MARK = re.compile(r"^(?P<name>.+?)\s*(?:,|\bin\b|/)\s*(?P<unit>[^\s,]+)$", re.IGNORECASE)


class ByHand(TypedDict, total=False):
    """What somebody said of one head: the column's name (empty: not taken), and its unit."""

    column: str
    unit: str


@dataclass(frozen=True)
class Headed:
    """One column of a file: where it stands, its head, what it means (None: nothing), and the unit in its head."""

    place: int
    head: str
    column: Column | None
    unit: str | None
    by_hand: bool = False


@dataclass(frozen=True)
class Head:
    """The head of a sheet: its row (counted from 0), its columns, and the rows of units below it."""

    row: int
    columns: tuple[Headed, ...]
    first: int
    lacking: tuple[Column, ...] = ()
    twice: tuple[tuple[Headed, Headed], ...] = ()
    unmatched: tuple[Headed, ...] = field(default=())

    def taken(self) -> list[Headed]:
        """The columns that mean something."""
        return [each for each in self.columns if each.column is not None]


def find_head(kind: str, rows: Sequence[Sequence[Cell]], by_hand: Mapping[str, ByHand]) -> Head | None:
    """The row whose cells name the most columns of a kind of file; None where no row could be one.

    Parameters
    ----------
    kind : str
        Kind of file.
    rows : sequence of rows
        The sheet.
    by_hand : mapping of head to ByHand
        What was said of heads, now or before.
    """
    scored = [(_score(kind, row, by_hand), -place) for place, row in enumerate(rows[:LOOKED_AT_ROWS])]
    if not scored:
        return None
    score, place = max(scored)
    if score == 0:
        place = -next((n for n, row in enumerate(rows[:LOOKED_AT_ROWS]) if _could_be(row)), -1)
        if place == 1:
            return None
    return read_head(kind, rows, -place, by_hand)


def _could_be(row: Sequence[Cell]) -> bool:
    filled = [cell for cell in row if not is_empty(cell)]
    return len(filled) > 1 and all(isinstance(cell, str) for cell in filled)


def _score(kind: str, row: Sequence[Cell], by_hand: Mapping[str, ByHand]) -> int:
    found = {_meant(kind, cell, by_hand) for cell in row if isinstance(cell, str)}
    return len(found - {None})


def _meant(kind: str, cell: str, by_hand: Mapping[str, ByHand]) -> str | None:
    column, _ = by_name(kind, cell)
    told = by_hand.get(cell.strip())
    return told.get("column") or None if told else (column.name if column else None)


def read_head(kind: str, rows: Sequence[Sequence[Cell]], row: int, by_hand: Mapping[str, ByHand]) -> Head:
    """The head at a row: its columns, those that are lacking, and those that mean one thing twice."""
    columns = tuple(_headed(kind, place, name, by_hand) for place, name in _names(rows[row]))
    first, columns = _units_below(rows, row, columns)
    taken = [each for each in columns if each.column is not None]
    seen: dict[str, Headed] = {}
    twice = []
    for each in taken:
        assert each.column is not None
        if each.column.name in seen:
            twice.append((seen[each.column.name], each))
        seen.setdefault(each.column.name, each)
    lacking = tuple(column for column in columns_of(kind).values() if column.must and column.name not in seen)
    unmatched = tuple(each for each in columns if each.column is None and not each.by_hand)
    return Head(row, columns, first, lacking, tuple(twice), unmatched)


def _names(row: Sequence[Cell]) -> list[tuple[int, str]]:
    """The heads of a row, each once: the second 'Length' is 'Length (2)', so that it can be spoken of."""
    found: dict[str, int] = {}
    named = []
    for place, cell in enumerate(row):
        if is_empty(cell):
            continue
        text = shown(cell)
        found[text] = found.get(text, 0) + 1
        named.append((place, text if found[text] == 1 else f"{text} ({found[text]})"))
    return named


def _headed(kind: str, place: int, head: str, by_hand: Mapping[str, ByHand]) -> Headed:
    column, unit = by_name(kind, re.sub(r" \(\d+\)$", "", head))
    told = by_hand.get(head)
    if told is None:
        return Headed(place, head, column, unit)
    if "column" in told:
        column = columns_of(kind).get(told["column"])
    return Headed(place, head, column, told.get("unit") or unit, by_hand=True)


def by_name(kind: str, head: str) -> tuple[Column | None, str | None]:
    """The column that a head names, and the unit it names with it.

    >>> column, unit = by_name("rooms", "Ceiling height [ft]")
    >>> column.name, unit
    ('room.size.height_ticks', 'ft')
    """
    text = head.replace("\n", " ").strip()
    for name, unit in _readings(text):
        plain = normal(name)
        found = next((each for each in columns_of(kind).values() if plain in each.names), None)
        if found is not None:
            return found, unit
    return None, None


def _readings(text: str) -> list[tuple[str, str | None]]:
    """A head as it stands, and without the unit in brackets or behind a mark."""
    found: list[tuple[str, str | None]] = [(text, None)]
    for pattern in (_IN_BRACKETS, _BEHIND_A_MARK):
        parts = pattern.match(text)
        if parts is not None:
            found.append((parts["name"], unit_called(parts["unit"]) or parts["unit"].strip() or None))
    word = text.rsplit(" ", 1)
    if len(word) == 2 and unit_called(word[1]):
        found.append((word[0], unit_called(word[1])))
    return found


def _units_below(
    rows: Sequence[Sequence[Cell]], row: int, columns: tuple[Headed, ...]
) -> tuple[int, tuple[Headed, ...]]:
    """The first row of data; a row of nothing but units below the head belongs to it."""
    if row + 1 >= len(rows):
        return row + 1, columns
    below = rows[row + 1]
    filled = [cell for cell in below if not is_empty(cell)]
    if not filled or not all(isinstance(cell, str) and _unit_alone(cell) for cell in filled):
        return row + 1, columns
    told = {place: unit_called(shown(cell).strip("[]()")) for place, cell in enumerate(below) if not is_empty(cell)}
    return row + 2, tuple(
        Headed(each.place, each.head, each.column, each.unit or told.get(each.place), each.by_hand) for each in columns
    )


def _unit_alone(cell: str) -> bool:
    return cell.strip() in ("-", "–") or unit_called(cell.strip().strip("[]()")) is not None


def is_head_again(kind: str, row: Sequence[Cell], head: Head) -> bool:
    """Whether a row among the data is a head: the same again, or most of its cells name columns."""
    filled = [cell for cell in row if not is_empty(cell)]
    if len(filled) < 2 or not all(isinstance(cell, str) for cell in filled):
        return False
    same = sum(1 for each in head.columns if each.place < len(row) and shown(row[each.place]) == each.head)
    if same >= 2 and same * 2 >= len(filled):
        return True
    named = sum(1 for cell in filled if by_name(kind, str(cell))[0] is not None)
    return named >= 2 and named * 2 > len(filled)
