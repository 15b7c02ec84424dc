"""A sheet as it will be brought in: its head found, each column's manner known or asked, its rows as values or as problems."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypedDict

from spanwalk.rules.said import Facts
from spanwalk.services.files.cells import Cell, FileRead, SheetRead, column_letters, is_empty, shown
from spanwalk.services.files.heads import ByHand, Head, Headed, find_head, is_head_again
from spanwalk.services.files.kinds import Column, unit_called, units_like
from spanwalk.services.files.values import CellWrong, Manner, Value, cells_say_unit, decimal_mark, read_value

ASKED_FOR_UNIT = ("length", "temperature")
"""What is measured in several units by people who do not say which."""
SAMPLES = 3
DECIMALS = {".": "1,189.5", ",": "1.189,5"}


class Asked(TypedDict, total=False):
    """What somebody answered about a file: the sheet, its heads, its decimal mark."""

    sheet: str
    columns: dict[str, ByHand]
    decimal: str


class ProblemTold(TypedDict):
    """A problem as the page has it."""

    row: int
    column: str
    head: str
    code: str
    facts: Facts


class QuestionTold(TypedDict):
    """A question as the page has it."""

    about: str
    head: str
    code: str
    facts: Facts
    choices: list[str]


@dataclass(frozen=True)
class Problem:
    """What is wrong in a file, and where: row and column as a spreadsheet shows them, 0 and '' where it is all of them."""

    row: int
    column: str
    head: str
    code: str
    facts: Facts

    def told(self) -> ProblemTold:
        """As it goes to the page."""
        return {"row": self.row, "column": self.column, "head": self.head, "code": self.code, "facts": self.facts}


@dataclass(frozen=True)
class Question:
    """What only a person knows: `about` a head, `decimal` or `sheet`; what may be answered."""

    about: str
    head: str
    code: str
    facts: Facts
    choices: list[str]

    def told(self) -> QuestionTold:
        """As it goes to the page."""
        return {"about": self.about, "head": self.head, "code": self.code, "facts": self.facts, "choices": self.choices}


@dataclass
class Sheet:
    """A sheet as it is understood so far."""

    kind: str
    name: str
    rows: Sequence[Sequence[Cell]]
    merged: Sequence[Sequence[int]]
    head: Head
    decimal: str
    units: Mapping[str, str | None]
    problems: list[Problem] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)

    def at(self, row: int, headed: Headed | None, code: str, facts: Facts) -> Problem:
        """A problem at a row (counted from 0) and a column."""
        letters = column_letters(headed.place) if headed else ""
        return Problem(row + 1, letters, headed.head if headed else "", code, facts)


def understand(kind: str, read: FileRead, asked: Asked) -> Sheet | list[Question] | Problem:
    """Find out how a file is to be read.

    Parameters
    ----------
    kind : str
        Kind of file.
    read : FileRead
        What stands in it.
    asked : Asked
        What somebody said about it.

    Returns
    -------
    Sheet, list of Question, or Problem
        The sheet; or which sheet is meant has to be asked; or no row heads it.
    """
    sheet = _sheet(read["sheets"], asked)
    if sheet is None:
        names = [each["name"] for each in read["sheets"]]
        return [Question("sheet", "", "files.which-sheet", {"names": names}, names)]
    rows, by_hand = sheet["rows"], asked.get("columns", {})
    head = find_head(kind, rows, by_hand)
    if head is None:
        return Problem(1, "", "", "files.no-head", {})
    decimal, doubt = _decimal(rows, head, asked)
    made = Sheet(kind, sheet["name"], rows, sheet["merged"], head, decimal, {})
    units = {each.head: _unit(made, each) for each in head.taken()}
    made.units = units
    made.questions += doubt
    made.problems += [
        made.at(head.row, second, "files.column-twice", {"title": first.column.title, "other": first.head})
        for first, second in head.twice
        if first.column is not None
    ]
    made.problems += [made.at(head.row, None, "files.column-lacking", {"title": each.title}) for each in head.lacking]
    made.problems += _merged_problems(made)
    return made


def _sheet(sheets: Sequence[SheetRead], asked: Asked) -> SheetRead | None:
    if len(sheets) == 1:
        return sheets[0]
    return next((each for each in sheets if each["name"] == asked.get("sheet")), None)


def _decimal(rows: Sequence[Sequence[Cell]], head: Head, asked: Asked) -> tuple[str, list[Question]]:
    """The decimal mark: said, or as all numbers of the file have it, or asked."""
    if asked.get("decimal") in DECIMALS:
        return str(asked["decimal"]), []
    numbers = [each.place for each in head.taken() if each.column is not None and _is_number(each.column)]
    texts = [str(row[at]) for row in rows[head.first :] for at in numbers if at < len(row) and isinstance(row[at], str)]
    found = decimal_mark(texts)
    if found in ("?", "both"):
        sample = next(text for text in texts if decimal_mark([text]) in ("?", ".", ","))
        return ".", [Question("decimal", "", "files.which-decimal", {"value": sample}, list(DECIMALS.values()))]
    return found or ".", []


def _is_number(column: Column) -> bool:
    return column.field is not None and (column.field.of.ticks or column.field.of.json in ("integer", "number"))


def _unit(sheet: Sheet, headed: Headed) -> str | None:
    """The unit of a column: from its head or by hand; None where each cell says its own; asked where nobody does."""
    column = headed.column
    if column is None or not column.measures:
        return None
    allowed = units_like(column.measures)
    unit = unit_called(headed.unit) if headed.unit else None
    if unit in allowed:
        return unit
    if headed.unit is not None and unit is None:
        sheet.questions.append(_which_unit(headed, column, allowed, "files.unit-unknown"))
        return None
    if column.measures not in ASKED_FOR_UNIT:
        return None
    cells = [row[headed.place] for row in _data(sheet) if headed.place < len(row) and not is_empty(row[headed.place])]
    if cells and not cells_say_unit(cells):
        sheet.questions.append(_which_unit(headed, column, allowed, "files.which-unit"))
    return None


def _which_unit(headed: Headed, column: Column, allowed: list[str], code: str) -> Question:
    facts = {"head": headed.head, "title": column.title, "value": headed.unit or ""}
    return Question("unit", headed.head, code, facts, allowed)


def _data(sheet: Sheet) -> Sequence[Sequence[Cell]]:
    return sheet.rows[sheet.head.first :]


def _merged_problems(sheet: Sheet) -> list[Problem]:
    """Merged cells among the data: which of their rows or columns is meant nobody knows."""
    taken = {each.place: each for each in sheet.head.taken()}
    found = []
    for first_row, first_column, last_row, last_column in sheet.merged:
        hit = [at for at in range(first_column, last_column + 1) if at in taken]
        if last_row >= sheet.head.first and hit:
            named = f"{column_letters(first_column)}{first_row + 1}:{column_letters(last_column)}{last_row + 1}"
            found.append(sheet.at(first_row, taken[hit[0]], "files.merged", {"value": named}))
    return found


@dataclass(frozen=True)
class Row:
    """A row as values: by name of the column, only what is not empty; where each column stands."""

    number: int
    values: Mapping[str, Value]
    headed: Mapping[str, Headed]


def read_rows(sheet: Sheet) -> Iterator[Row | list[Problem]]:
    """Each row that is not empty: its values, or what is wrong with it."""
    taken = sheet.head.taken()
    headed = {each.column.name: each for each in taken if each.column is not None}
    up = sheet.kind == "catalogue"
    manners = {each.head: Manner(sheet.units.get(each.head), sheet.decimal, up) for each in taken}
    for number in range(sheet.head.first, len(sheet.rows)):
        row = sheet.rows[number]
        if all(is_empty(cell) for cell in row):
            continue
        if is_head_again(sheet.kind, row, sheet.head):
            yield [sheet.at(number, None, "files.head-again", {"value": ", ".join(shown(c) for c in row[:4])})]
            continue
        yield _read_row(sheet, number, row, taken, headed, manners)


def _read_row(
    sheet: Sheet,
    number: int,
    row: Sequence[Cell],
    taken: Sequence[Headed],
    headed: Mapping[str, Headed],
    manners: Mapping[str, Manner],
) -> Row | list[Problem]:
    values: dict[str, Value] = {}
    wrong = []
    for each in taken:
        cell = row[each.place] if each.place < len(row) else None
        if is_empty(cell) or each.column is None:
            continue
        try:
            values[each.column.name] = _value(cell, each.column, manners[each.head])
        except CellWrong as problem:
            wrong.append(sheet.at(number, each, problem.code, {"title": each.column.title} | problem.facts))
    return wrong or Row(number, values, headed)


def _value(cell: Cell, column: Column, manner: Manner) -> Value:
    if column.field is None:
        if isinstance(cell, dict):
            raise CellWrong(f"files.cell-{next(iter(cell))}", value=shown(cell))
        return shown(cell)
    return read_value(cell, column.field, manner)
