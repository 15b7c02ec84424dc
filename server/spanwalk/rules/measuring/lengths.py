"""What length stands on the tape? Reads what a person types, exactly. Twin: pwa/rules/measuring/lengths.js."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

from spanwalk.rules import constants

TICKS_PER_MM = constants.TICKS_PER_MM
"""Lengths are whole ticks of 1/320 mm: 1/64 in is 127 of them and 0.1 mm is 32, both exactly."""
TICKS_PER_INCH = constants.TICKS_PER_INCH
"""25.4 mm exactly (international inch, 1959; NIST SP 811 appendix B.6, from memory)."""
MOST_TICKS = constants.MOST_TICKS
"""Nothing in a fixture or a room's ceiling grid is measured beyond 20 m by hand (common practice); a room itself is."""
MOST_PLAIN_INCHES = constants.MOST_PLAIN_INCHES
"""A bare number above 20 ft, typed while the tape is in inches, is taken for millimetres, and asked about."""

MOST_CHARACTERS = constants.MOST_CHARACTERS
"""No length needs more; numbers without end are not read at all."""

_TAPE_DENOMINATORS = (2, 4, 8, 16, 32, 64)
_UNICODE_FRACTIONS = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
    "⅕": "1/5",
    "⅙": "1/6",
}
_MARKS = [(r"[″”“]|''", '"'), (r"[′’‘]", "'"), (r"[⁄∕]", "/"), (r"[\u00a0\u2009\u202f]", " ")]
_UNIT_WORDS = {
    "mm": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "cm": "cm",
    "m": "m",
    "metre": "m",
    "metres": "m",
    '"': "in",
    "in": "in",
    "inch": "in",
    "inches": "in",
    "'": "ft",
    "ft": "ft",
    "feet": "ft",
    "foot": "ft",
}
_BARE_UNITS = {"inches": "in", "millimetres": "mm"}
_TICKS_PER_UNIT = {"mm": 320, "cm": 3200, "m": 320_000, "in": TICKS_PER_INCH, "ft": 12 * TICKS_PER_INCH}
_WORD = re.compile(r"[0-9]+/[0-9]*|[0-9]+(?:[.,][0-9]+)*|[^\W\d_]+|[\"']|\S")
_DIGITS = frozenset("0123456789")


class LengthProblem(ValueError):
    """What was typed is not taken as it stands; `code` names the sentence, `facts` fill it."""

    def __init__(self, code: str, **facts: str | int) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


class LengthRefused(LengthProblem):
    """No length can be read from the text."""


class LengthUnclear(LengthProblem):
    """The text has two readings; `ticks` is the likelier one, for the person to confirm."""

    def __init__(self, code: str, ticks: int, **facts: str | int) -> None:
        super().__init__(code, **facts)
        self.ticks = ticks


@dataclass(frozen=True)
class Length:
    """A length as it was typed and as it counts.

    `ticks` is in 1/320 mm; `exact` is False where the text is finer than a tick and was rounded down.
    """

    ticks: int
    as_entered: str
    unit: str
    exact: bool


@dataclass
class _Reader:
    """What has been read of the text so far."""

    text: str
    comma_is_decimal: bool = False
    ticks: Fraction = Fraction(0)
    pending: Fraction | None = None
    units: list[str] = field(default_factory=list)
    has_fraction: bool = False
    unclear_comma: bool = False


def parse_length(text: str, units: str = "in", *, may_be_zero: bool = False, most_ticks: int = MOST_TICKS) -> Length:
    """Read a length as a person types it.

    Takes `45 3/16`, `45-3/16"`, `3' 9 3/16"`, `1147.8`, `114.8 cm`, `1.148 m`, `1198,5 mm` and fraction signs.

    Parameters
    ----------
    text : str
        What was typed.
    units : {'in', 'mm', 'inches', 'millimetres'}
        What a bare number means: the tape in use, also in the words of the site's settings.
    may_be_zero : bool
        Whether 0 is a length here: a height above the floor or a gap may be none, a cavity may not.
    most_ticks : int
        The longest that is a length here [1/320 mm].

    Returns
    -------
    Length
        Exact, in ticks of 1/320 mm; what is finer than a tick is rounded down, since a cavity must never grow.

    Raises
    ------
    LengthRefused
        `length.*` codes: empty, no length, unknown unit, fraction too large, unfinished or not on a tape, units
        that disagree, not positive (below zero, where 0 is a length), too long.
    LengthUnclear
        A comma that may part thousands or decimals: thousands are asked for where they make a length that can be;
        a bare number too large for inches.

    Examples
    --------
    >>> parse_length("45 3/16").ticks == 45 * 8128 + 3 * 508
    True
    >>> parse_length("3' 9 3/16\\"").ticks == parse_length("45 3/16").ticks
    True
    >>> parse_length("1198,5 mm").ticks
    383520
    >>> parse_length("0 mm", may_be_zero=True).ticks
    0
    >>> parse_length("27 m", most_ticks=32_000_000).ticks
    8640000
    >>> parse_length("17/16")
    Traceback (most recent call last):
    ...
    spanwalk.rules.measuring.lengths.LengthRefused: length.fraction-too-large
    """
    typed = text.strip()
    plain = _plain(typed)
    if not plain:
        raise LengthRefused("length.empty")
    if len(typed) > MOST_CHARACTERS:
        raise LengthRefused("length.not-a-length", text=typed[:MOST_CHARACTERS] + "…")
    too_small = "length.below-zero" if may_be_zero else "length.not-positive"
    if plain.startswith(("-", "−")):
        raise LengthRefused(too_small, text=typed)
    units = _BARE_UNITS.get(units, units)
    reader, unit = _read(_Reader(typed), plain, units)
    if reader.unclear_comma and reader.ticks > most_ticks:
        reader, unit = _read(_Reader(typed, comma_is_decimal=True), plain, units)
    ticks = int(reader.ticks)
    if not ticks and not may_be_zero:
        raise LengthRefused(too_small, text=typed)
    if ticks > most_ticks:
        raise LengthRefused("length.too-long", text=typed, most_ticks=most_ticks)
    if reader.unclear_comma:
        raise LengthUnclear("length.comma-unclear", ticks, text=typed, read_ticks=ticks)
    if unit == "mm?":
        raise LengthUnclear("length.millimetres-meant", ticks, text=typed, read_ticks=ticks)
    return Length(ticks, typed, unit, ticks == reader.ticks)


def _read(reader: _Reader, plain: str, units: str) -> tuple[_Reader, str]:
    for word in _WORD.findall(plain):
        _take(reader, word)
    return reader, _bare_unit(reader, units)


def _plain(text: str) -> str:
    for pattern, mark in _MARKS:
        text = re.sub(pattern, mark, text)
    for sign, fraction in _UNICODE_FRACTIONS.items():
        text = text.replace(sign, f" {fraction}")
    return text.strip()


def _take(reader: _Reader, word: str) -> None:
    if "/" in word and word[0] in _DIGITS:
        _take_fraction(reader, word)
    elif word[0] in _DIGITS:
        if reader.pending is not None:
            raise LengthRefused("length.not-a-length", text=reader.text)
        reader.pending = _number(reader, word)
    elif word == "-" and reader.pending is not None and not reader.has_fraction:
        return
    elif word == "." or not (word.isalpha() or word in "\"'"):
        raise LengthRefused("length.not-a-length", text=reader.text)
    else:
        _take_unit(reader, word)


def _take_fraction(reader: _Reader, word: str) -> None:
    over, under = word.split("/")
    if reader.has_fraction:
        raise LengthRefused("length.not-a-length", text=reader.text)
    if not under:
        raise LengthRefused("length.fraction-unfinished", text=reader.text, fraction=word)
    if int(under) not in _TAPE_DENOMINATORS:
        raise LengthRefused("length.not-on-a-tape", text=reader.text, fraction=word)
    if int(over) >= int(under):
        raise LengthRefused("length.fraction-too-large", text=reader.text, fraction=word)
    if reader.pending is not None and reader.pending.denominator != 1:
        raise LengthRefused("length.not-a-length", text=reader.text)
    reader.pending = (reader.pending or Fraction(0)) + Fraction(int(over), int(under))
    reader.has_fraction = True


def _take_unit(reader: _Reader, word: str) -> None:
    unit = _UNIT_WORDS.get(word.lower())
    if unit is None:
        raise LengthRefused("length.unknown-unit", text=reader.text, unit=word)
    if reader.pending is None:
        raise LengthRefused("length.not-a-length", text=reader.text)
    if reader.units and not (reader.units == ["ft"] and unit == "in"):
        raise LengthRefused("length.units-disagree", text=reader.text)
    if reader.has_fraction and unit not in ("in", "ft"):
        raise LengthRefused("length.units-disagree", text=reader.text)
    if unit in ("cm", "m"):
        reader.unclear_comma = False
    reader.ticks += reader.pending * _TICKS_PER_UNIT[unit]
    reader.pending = None
    reader.units.append(unit)


def _bare_unit(reader: _Reader, units: str) -> str:
    """Count a number that stands without a unit; the unit that the text is in at last."""
    if reader.pending is None:
        return "in" if reader.units[-1] in ("in", "ft") else "mm"
    if reader.units and reader.units != ["ft"]:
        raise LengthRefused("length.not-a-length", text=reader.text)
    if reader.units or reader.has_fraction or (units == "in" and reader.pending <= MOST_PLAIN_INCHES):
        reader.ticks += reader.pending * TICKS_PER_INCH
        return "in"
    reader.ticks += reader.pending * TICKS_PER_MM
    return "mm" if units == "mm" else "mm?"


def _number(reader: _Reader, word: str) -> Fraction:
    """A decimal number; a comma is a decimal mark where the digits or a unit make it certain, else unclear."""
    marks = [mark for mark in word if mark in ".,"]
    groups = re.split(r"[.,]", word)
    if not marks:
        return Fraction(int(word))
    if marks == ["."]:
        return Fraction(word)
    if marks == [","]:
        if len(groups[1]) != 3:
            return Fraction(word.replace(",", "."))
        return _comma_before_three_digits(reader, groups)
    if marks[-1] == "." and set(marks[:-1]) == {","} and all(len(group) == 3 for group in groups[1:-1]):
        reader.unclear_comma = True
        return Fraction("".join(groups[:-1]) + "." + groups[-1])
    raise LengthRefused("length.not-a-length", text=reader.text)


def _comma_before_three_digits(reader: _Reader, groups: list[str]) -> Fraction:
    """`1,198`: with cm or m a decimal mark (nothing is a kilometre long), else thousands, to be confirmed.

    `1198,500` and `0,250` are certain: no one writes thousands so.
    """
    if len(groups[0]) > 3 or groups[0].startswith("0"):
        return Fraction(f"{groups[0]}.{groups[1]}")
    metres = re.search(r"[0-9]\s*(c?m|metres?)\s*$", _plain(reader.text), re.IGNORECASE)
    if metres and not _plain(reader.text).lower().endswith("mm"):
        return Fraction(f"{groups[0]}.{groups[1]}")
    reader.unclear_comma = True
    return Fraction(("." if reader.comma_is_decimal else "").join(groups))


def format_inches(ticks: int) -> str:
    """A length as it stands on an inch tape, `45 3/16`; '≈' before the nearest sixteenth where no 64th is met.

    Parameters
    ----------
    ticks : int
        Length [1/320 mm]; negative where something is missing.

    Examples
    --------
    >>> format_inches(45 * 8128 + 3 * 508)
    '45 3/16'
    >>> format_inches(383520)
    '≈ 47 3/16'
    >>> format_inches(-1524)
    '-3/16'
    """
    if ticks < 0:
        shown = format_inches(-ticks)
        if shown == "≈ 0":
            return shown
        return shown.replace("≈ ", "≈ -") if "≈" in shown else f"-{shown}"
    exact = ticks % 127 == 0
    sixty_fourths = ticks // 127 if exact else (ticks + 254) // 508 * 4
    whole, rest = divmod(sixty_fourths, 64)
    fraction = str(Fraction(rest, 64)) if rest else ""
    shown = f"{whole} {fraction}".strip() if whole else fraction or "0"
    return shown if exact else f"≈ {shown}"


def format_mm(ticks: int) -> str:
    """A length in millimetres to a tenth, `1,147.8`, halves up.

    Parameters
    ----------
    ticks : int
        Length [1/320 mm]; negative where something is missing.

    Examples
    --------
    >>> format_mm(367296), format_mm(-16)
    ('1,147.8', '-0.1')
    """
    tenths = (abs(ticks) + 16) // 32
    sign = "-" if ticks < 0 and tenths else ""
    return f"{sign}{tenths // 10:,}.{tenths % 10}"


__all__ = [
    "TICKS_PER_INCH",
    "TICKS_PER_MM",
    "Length",
    "LengthProblem",
    "LengthRefused",
    "LengthUnclear",
    "format_inches",
    "format_mm",
    "parse_length",
]
