"""What stands on a fixture's label and where: symbol on the left, text beside it, the set-point never left out."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from reportlab.lib.units import mm

from spanwalk.rules.codes import spaced
from spanwalk.services.labels.geometry import Box
from spanwalk.services.labels.symbols import Matrix, dark_side, side_of
from spanwalk.services.labels.typesetting import (
    BOLD,
    BOUND,
    ELLIPSIS,
    FONT,
    LEADING,
    Line,
    fitted,
    printable,
    run_of,
    whole_size,
    width_of,
    wrapped,
)
from spanwalk.words import say

CODE_PT = 11.0
"""Size of the code where there is room; all other text has its part of it."""
LEAST_PT = 6.5
"""Below it, lines that can be missed are left out first."""
ROOM, PLACE, SETTING, PARTS = 0.8, 0.8, 0.85, 0.7
"""Sizes as parts of the code's: room, kind and position, release and set-point, what to fit."""
LEAST_TEXT_MM = 5.0
SYMBOL_SHARE_MOST = 0.5
"""Of the label's width; the code beside it is still read."""


@dataclass(frozen=True)
class Label:
    """What stands on one label: the code, where the fixture hangs, and after a release what to fit.

    A blank one has its code only.
    """

    code: str
    room: str = ""
    floor: str = ""
    kind: str = ""
    position: int = 0
    count: int = 0
    release: int | None = None
    bars: str = ""
    driver: str = ""
    setting_ma: int | None = None
    record: str = ""

    @property
    def is_blank(self) -> bool:
        """Whether it hangs on no fixture yet."""
        return self.position == 0


@dataclass(frozen=True)
class Laid:
    """A label laid out: its symbol's dark square and where text begins, from the page's corner, and lines from the top down [pt]."""

    matrix: Matrix
    dark: float
    symbol_x: float
    symbol_y: float
    text_x: float
    top: float
    lines: tuple[Line, ...]

    @property
    def shortened(self) -> bool:
        """Whether anything on it ends in '…'."""
        return any(ELLIPSIS in line.text for line in self.lines)


def lay_out(label: Label, matrix: Matrix, whole: Box, box: Box, language: str) -> Laid:
    """Lay a label out at its place of a page.

    The symbol is as large as the label lets it be: its quiet zone may lie where nothing is printed, its dark square may not.

    Parameters
    ----------
    label : Label
        What it says.
    matrix : Matrix
        Its symbol.
    whole, box : Box
        The label, and what may be printed on of it [mm].
    language : str
        In which the words are.
    """
    x, dark, text_x = _across(matrix, whole, box)
    y = min(max(whole.y + (whole.height - dark) / 2, box.y), box.y + box.height - dark)
    width = text_width(matrix, whole, box)
    lines = tuple(_lines(label, width * mm, box.height * mm, language))
    return Laid(matrix, dark * mm, x * mm, y * mm, text_x * mm, (box.y + box.height) * mm, lines)


def _across(matrix: Matrix, whole: Box, box: Box) -> tuple[float, float, float]:
    """Where the dark square begins, how wide it is, and where text begins beside it [mm]."""
    side = min(whole.height, side_of(matrix, box.height), whole.width * SYMBOL_SHARE_MOST)
    dark = dark_side(matrix, side)
    quiet = (side - dark) / 2
    x = max(box.x, whole.x + quiet)
    return x, dark, x + dark + quiet


def text_width(matrix: Matrix, whole: Box, box: Box) -> float:
    """How wide text beside the symbol may run [mm]."""
    return max(box.x + box.width - _across(matrix, whole, box)[2], LEAST_TEXT_MM)


class Look(NamedTuple):
    """What of a label decides how its text fits."""

    code: str
    room: str
    kind: str
    position: int
    in_all: int
    release: int | None
    bars: str
    driver: str
    setting_ma: int | None

    @property
    def label(self) -> Label:
        """A label that looks so."""
        return Label(
            code=self.code,
            room=self.room,
            kind=self.kind,
            position=self.position,
            count=self.in_all,
            release=self.release,
            bars=self.bars,
            driver=self.driver,
            setting_ma=self.setting_ma,
        )


def look_of(label: Label, width: float) -> Look:
    """How a label's text fits a width [mm]; on a site there are fewer looks than labels.

    A code and a room's name that fit whole at their largest are left out, as it is the same what they are. Digits are all
    equally wide, so that a fixture 7 of 12 stands for all of one digit of two.
    """
    code_fits = run_of(spaced(label.code), BOLD, CODE_PT) <= width * mm
    room_fits = ELLIPSIS not in label.room and width_of(printable(label.room), FONT, CODE_PT * ROOM) <= width * mm
    return Look(
        code="" if code_fits else label.code,
        room="" if room_fits else label.room,
        kind=label.kind,
        position=_of_as_many_digits(label.position),
        in_all=_of_as_many_digits(label.count),
        release=label.release,
        bars=label.bars,
        driver=label.driver,
        setting_ma=label.setting_ma,
    )


def _of_as_many_digits(number: int) -> int:
    return number and 10 ** (len(str(number)) - 1)


def _lines(label: Label, width: float, height: float, language: str) -> list[Line]:
    if label.is_blank:
        return [_whole(spaced(label.code), CODE_PT, width), *_small(say("label-sheet.blank", {}, language), width, 2)]
    wanted = 1 + ROOM + PLACE + (0.0 if label.release is None else SETTING + 2 * PARTS)
    size = min(CODE_PT, max(LEAST_PT, height / (wanted * LEADING)))
    head = [
        _whole(spaced(label.code), size, width),
        Line(FONT, size * ROOM, fitted(label.room, FONT, size * ROOM, width)),
        _place(label, size * PLACE, width, language),
    ]
    if label.release is None:
        return _within(_with_whole_room(label, head, size * ROOM, width, height), height)
    setting = _whole(_setting(label, language), size * SETTING, width)
    return _to_fit(label, [*head, setting], size * PARTS, width, height)


def _to_fit(label: Label, above: list[Line], size: float, width: float, height: float) -> list[Line]:
    """Bars and driver below what must stand, each a line or more as far as there is room; what has none ends above in '…'."""
    room = int((height - _high(above)) / (size * LEADING) + 1e-6)
    parts = [text.replace(" × ", f"{BOUND}×{BOUND}") for text in (label.bars, label.driver) if text]
    if room <= 0:
        return _marked(_within(above, height), width) if parts else _within(above, height)
    if room < len(parts):
        parts = [", ".join(parts)]
    lines: list[Line] = []
    for number, text in enumerate(parts):
        left = room - len(lines) - (len(parts) - number - 1)
        lines += [Line(FONT, size, each) for each in wrapped(text, FONT, size, width, left)]
    return _with_whole_room(label, [*above, *lines], above[1].size, width, height)


def _marked(lines: list[Line], width: float) -> list[Line]:
    """The lines, the last with a sign that more would follow."""
    last = lines[-1]
    text = f"{last.text} {ELLIPSIS}"
    return [*lines[:-1], Line(last.font, whole_size(text, last.font, last.size, width), text)]


def _with_whole_room(label: Label, lines: list[Line], size: float, width: float, height: float) -> list[Line]:
    """The room's name in two lines, where there is room for a second."""
    if ELLIPSIS not in lines[1].text or _high(lines) + size * LEADING > height:
        return lines
    rooms = [Line(FONT, size, each) for each in wrapped(label.room, FONT, size, width, 2)]
    return [lines[0], *rooms, *lines[2:]]


def _within(lines: list[Line], height: float) -> list[Line]:
    """The lines, all made smaller alike where they are too high together."""
    high = _high(lines)
    part = min(1.0, height / high)
    return [Line(line.font, line.size * part, line.text) for line in lines]


def _high(lines: list[Line]) -> float:
    return sum(line.size for line in lines) * LEADING


def _whole(text: str, size: float, width: float) -> Line:
    return Line(BOLD, whole_size(text, BOLD, size, width), printable(text))


def _small(text: str, width: float, most: int) -> list[Line]:
    return [Line(FONT, CODE_PT * PARTS, each) for each in wrapped(text, FONT, CODE_PT * PARTS, width, most)]


def _place(label: Label, size: float, width: float, language: str) -> Line:
    return _kind_and_position(label.kind, label.position, label.count, size, width, language)


@lru_cache(maxsize=4096)
def _kind_and_position(kind: str, position: int, count: int, size: float, width: float, language: str) -> Line:
    """Kind and position: of a long kind's mark the end is left out, never the numbers."""
    rest = say("label-sheet.position", {"kind": "", "position": position, "count": count}, language)
    least = whole_size(f"M{ELLIPSIS} {rest}", BOLD, size, width)
    while True:
        facts = {"kind": kind, "position": position, "count": count}
        text = printable(say("label-sheet.position", facts, language))
        if whole_size(text, BOLD, least, width) >= least or len(kind) <= 2:
            return Line(BOLD, whole_size(text, BOLD, least, width), text)
        kind = kind.rstrip(ELLIPSIS)[:-1].rstrip() + ELLIPSIS


def _setting(label: Label, language: str) -> str:
    return _set_point(label.release, label.setting_ma, language)


@lru_cache(maxsize=4096)
def _set_point(release: int | None, setting_ma: int | None, language: str) -> str:
    if setting_ma is None:
        return say("label-sheet.fed", {"release": release}, language)
    return say("label-sheet.set-point", {"release": release, "setting_ma": setting_ma}, language)


def code_lines(label: Label, width: float, height: float, language: str) -> list[Line]:
    """Code, room, kind with position, and what to fit, in a narrow column below a symbol on a notice."""
    size = CODE_PT * ROOM
    small = size * ROOM
    lines = [_whole(spaced(label.code), size, width), Line(FONT, small, fitted(label.room, FONT, small, width))]
    lines.append(_place(label, small, width, language))
    if label.release is None:
        return _within(_with_whole_room(label, lines, small, width, height), height)
    return _to_fit(label, [*lines, _whole(_setting(label, language), small, width)], size * PARTS, width, height)
