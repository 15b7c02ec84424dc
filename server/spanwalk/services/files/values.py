"""What a cell says, as the value of a field: units, decimal marks and the trade's words understood, or what is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from spanwalk.records import Field
from spanwalk.rules.measuring.lengths import TICKS_PER_INCH, TICKS_PER_MM, LengthProblem, LengthRefused, parse_length
from spanwalk.services.files.cells import Cell, shown
from spanwalk.services.files.kinds import Column, normal, table, unit_called
from spanwalk.words import choice_text

Value = str | int | float | bool | list[str] | list[int | float]
"""What a field that is brought in can hold."""
DIGITS_KEPT = 9
"""Decimals of a number: what lies behind is how a machine writes a tenth."""
TICKS = {"mm": 320, "cm": 3200, "m": 320_000, "in": TICKS_PER_INCH, "ft": 12 * TICKS_PER_INCH}
NUMBER = r"[-+−]?\s*[0-9][0-9.,'’\s  ]*"
_WITH_UNIT = re.compile(rf"^(?P<before>[A-Z]{{3}}|[€$£¥])?\s*(?P<number>{NUMBER})(?P<unit>.*)$", re.DOTALL)
_FEET = re.compile(r"""^(?P<feet>\d+)\s*(?:'|′|’|ft\.?|feet)\s*-?\s*(?P<rest>.*)$""", re.IGNORECASE)
YES = frozenset({"yes", "y", "true", "1", "x", "✓"})
NO = frozenset({"no", "n", "false", "0", "-"})


class CellWrong(ValueError):
    """A cell that is not taken: code and facts of the sentence."""

    def __init__(self, code: str, **facts: object) -> None:
        super().__init__(code)
        self.code, self.facts = code, facts


@dataclass(frozen=True)
class Manner:
    """How a column is read: its unit (None: each cell says its own), the file's decimal mark, which way a length is rounded."""

    unit: str | None
    decimal: str
    up: bool = False


def read_value(cell: Cell, field: Field, manner: Manner) -> Value:
    """The value of a field that a cell says.

    Parameters
    ----------
    cell : Cell
        Not empty.
    field : Field
        Which field.
    manner : Manner
        How its column is read.

    Raises
    ------
    CellWrong
        It says no such value.
    """
    if isinstance(cell, dict):
        (what, text) = next(iter(cell.items()))
        raise CellWrong(f"files.cell-{what}", value=text)
    if field.of.ticks:
        return _length(cell, manner)
    if field.of.items:
        return _list(cell, field, manner)
    if field.of.chosen:
        return _choice(cell, field.choices)
    return _READERS[field.of.json](cell, field, manner)


# -- lengths


def _length(cell: Cell, manner: Manner) -> int:
    if isinstance(cell, bool):
        raise CellWrong("files.not-a-length", value=shown(cell))
    if isinstance(cell, (int, float)):
        if manner.unit is None:
            raise CellWrong("files.no-unit", value=shown(cell))
        return _rounded(Fraction(str(round(cell, DIGITS_KEPT))) * TICKS[manner.unit], manner.up)
    text = str(cell).strip()
    plain = _WITH_UNIT.match(text)
    unit = (unit_called(plain["unit"]) if plain["unit"].strip() else manner.unit) if plain else None
    if plain and plain["before"] is None and not plain["unit"].strip() and unit is None:
        raise CellWrong("files.no-unit", value=text)
    if plain and plain["before"] is None and unit in TICKS and "/" not in text and not _FEET.match(text):
        return _rounded(_number(plain["number"], manner.decimal, text) * TICKS[unit], manner.up)
    return _as_on_a_tape(text, manner)


def _as_on_a_tape(text: str, manner: Manner) -> int:
    """Fractions and feet with inches, as the tape pad reads them; longer than a tape, too."""
    feet = _FEET.match(text)
    try:
        if feet is not None:
            rest = parse_length(feet["rest"], "in").ticks if feet["rest"].strip() else 0
            return int(feet["feet"]) * TICKS["ft"] + rest
        return parse_length(text, "mm" if manner.unit in ("mm", "cm", "m") else "in").ticks
    except LengthRefused as wrong:
        raise CellWrong("files.not-a-length", value=text) from wrong
    except LengthProblem as wrong:
        raise CellWrong("files.length-unclear", value=text) from wrong


def _rounded(ticks: Fraction, up: bool) -> int:
    """Whole ticks: room is rounded down, what has to go into it up."""
    return -int(-ticks // 1) if up else int(ticks // 1)


# -- numbers


def _number_field(cell: Cell, field: Field, manner: Manner) -> int | float:
    if isinstance(cell, bool):
        raise CellWrong("files.not-a-number", value=shown(cell))
    if isinstance(cell, (int, float)):
        found, unit = Fraction(str(round(cell, DIGITS_KEPT))), manner.unit
    else:
        parts = _WITH_UNIT.match(str(cell).strip())
        if parts is None:
            raise CellWrong("files.not-a-number", value=shown(cell))
        unit = _unit_of(parts, field, manner)
        found = _number(parts["number"], manner.decimal, shown(cell))
    return _plain(_in_unit(found, unit, field, shown(cell)))


def _unit_of(parts: re.Match[str], field: Field, manner: Manner) -> str | None:
    """The unit of a cell's own, else the column's; a currency is no unit, and nothing else is passed over."""
    told = parts["unit"].strip()
    if not told or told == field.unit or told in "€$£¥":
        return manner.unit if not told else (field.unit or None)
    unit = unit_called(told)
    if unit is None:
        raise CellWrong("files.not-a-number", value=parts.string)
    return unit


def _in_unit(found: Fraction, unit: str | None, field: Field, text: str) -> Fraction:
    if unit is None or not field.unit or unit == field.unit or unit == unit_called(field.unit):
        return found
    if (unit, field.unit) == ("°F", "°C"):
        return Fraction(round((found - 32) * 5 / 9 * 10), 10)
    factor = table()["factors"].get(f"{unit}>{field.unit}")
    if factor is None:
        raise CellWrong("files.other-unit", value=text, unit=unit, right=field.unit)
    return found * Fraction(str(factor))


def _plain(found: Fraction) -> int | float:
    return int(found) if found.denominator == 1 else float(found)


def _number(text: str, decimal: str, whole: str) -> Fraction:
    """A number as it is written with a decimal mark; the other mark, spaces and apostrophes part thousands, if rightly placed."""
    plain = re.sub(r"[\s  ]", "", text).replace("−", "-").replace("’", "'")
    other = "," if decimal == "." else "."
    parts = plain.split(decimal)
    groups = re.split(rf"[{re.escape(other)}']", parts[0].lstrip("+-"))
    placed = all(len(each) == 3 for each in groups[1:]) and (len(groups) == 1 or 1 <= len(groups[0]) <= 3)
    rest = parts[1] if len(parts) == 2 else ""
    if len(parts) > 2 or not placed or not (rest + "0").isdigit() or not "".join(groups).isdigit():
        raise CellWrong("files.not-a-number", value=whole)
    sign = -1 if plain.startswith("-") else 1
    return sign * round(Fraction(f"{''.join(groups)}.{rest or '0'}"), DIGITS_KEPT)


# -- words


def _text(cell: Cell, field: Field, manner: Manner) -> str:
    return " ".join(shown(cell).split()) if not isinstance(cell, str) else cell.strip()


def _yes(cell: Cell, field: Field, manner: Manner) -> bool:
    plain = normal(shown(cell)) or shown(cell)
    if plain in YES or plain in NO:
        return plain in YES
    raise CellWrong("files.not-yes-or-no", value=shown(cell))


def _choice(cell: Cell, choices: tuple[str, ...]) -> str:
    wanted = normal(shown(cell)) or shown(cell)
    found = _by_words(choices).get(wanted)
    if found is None and (parts := _WITH_UNIT.match(shown(cell))):
        found = _by_words(choices).get(parts["number"].strip()) if unit_called(parts["unit"]) else None
    if found is None:
        raise CellWrong("files.no-such-choice", value=shown(cell), right=list(choices))
    return found


@cache
def _by_words(choices: tuple[str, ...]) -> dict[str, str]:
    """The choice for each of its words: its code, what people read for it, and what the trade says."""
    found: dict[str, str] = {}
    for code in choices:
        for word in (*table()["choices"].get(code, []), code, code.replace("-", " "), choice_text(code)):
            found[normal(word) or word] = code
    return found


def _list(cell: Cell, field: Field, manner: Manner) -> Value:
    parts = [part.strip() for part in re.split(r"[,;/&+\n]| and ", shown(cell)) if part.strip()]
    if field.choices:
        chosen = {_choice(part, field.choices) for part in parts}
        return [choice for choice in field.choices if choice in chosen]
    found = {_number_field(part, field, manner) for part in parts}
    return sorted(found)


_READERS: dict[str, Callable[[Cell, Field, Manner], Value]] = {
    "string": _text,
    "integer": _number_field,
    "number": _number_field,
    "boolean": _yes,
}


# -- a whole file


def decimal_mark(texts: Iterable[str]) -> str | None:
    """The decimal mark of a file, by its numbers that can be read one way only; '?' where marks stand that tell neither.

    Parameters
    ----------
    texts : iterable of str
        Cells that are numbers, with or without a unit.

    Returns
    -------
    str or None
        '.' or ','; '?': ask; 'both': some numbers have one and some the other; None: no number has a mark.

    Examples
    --------
    >>> decimal_mark(["12,5", "1.189"]), decimal_mark(["1.189"]), decimal_mark(["12"]), decimal_mark(["1,5", "1.5"])
    (',', '?', None, 'both')
    """
    sure: set[str] = set()
    unsure = False
    for text in texts:
        parts = _WITH_UNIT.match(text.strip())
        mark = _mark_of(parts["number"].strip()) if parts else None
        unsure |= mark == "?"
        if mark in (".", ","):
            sure.add(mark)
    if len(sure) > 1:
        return "both"
    return sure.pop() if sure else ("?" if unsure else None)


def _mark_of(number: str) -> str | None:
    """Which decimal mark a number must have been written with; '?' where it may be either."""
    marks = [letter for letter in number if letter in ".,"]
    if not marks:
        return None
    if len(set(marks)) == 2:
        return marks[-1]
    if len(marks) > 1:
        return "," if marks[0] == "." else "."
    before, after = re.split("[.,]", number.lstrip("-+− "))
    if len(after.strip()) != 3 or before in ("", "0") or len(before) > 3:
        return marks[0]
    return "?"


def cells_say_unit(cells: Iterable[Cell]) -> bool:
    """Whether each cell of a column that holds something says its unit, so that none has to be asked for."""
    return all(isinstance(cell, str) and _says_unit(cell) for cell in cells)


def _says_unit(text: str) -> bool:
    parts = _WITH_UNIT.match(text.strip())
    if _FEET.match(text.strip()) or '"' in text or "″" in text or re.search(r"[0-9]\s*/\s*[0-9]", text):
        return True
    return parts is not None and unit_called(parts["unit"]) is not None


__all__ = [
    "TICKS_PER_MM",
    "CellWrong",
    "Column",
    "Manner",
    "Value",
    "cells_say_unit",
    "decimal_mark",
    "read_value",
]
