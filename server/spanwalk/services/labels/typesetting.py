"""Text on labels: an embedded font, lines that fit their box with '…' where shortened, and signs that the font lacks."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import as_file, files

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FONT, BOLD = "DejaVuSansCondensed", "DejaVuSansCondensed-Bold"
CAP_HEIGHT = 0.729
"""Height of a capital in DejaVu Sans as a part of its size (the font's own table)."""
LEADING = 1.15
ELLIPSIS = "…"
NOT_PRINTABLE = "□"
"""Stands in print for a sign that cannot be printed, so that nobody takes what is left for the whole."""
BLANKS = re.compile(r"[ \t\r\n\f\v\u2028\u2029]+")
"""What a line may be broken at: not the blank that holds a number to its part."""
BOUND = "\u00a0"
RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})
"""Bidirectional classes (Unicode Standard Annex 9) of signs that would stand in the wrong order and unjoined."""


@dataclass(frozen=True)
class Line:
    """A line to be drawn: its font, size in points, and text that fits."""

    font: str
    size: float
    text: str


@cache
def _font(name: str) -> TTFont:
    with as_file(files("spanwalk").joinpath(f"services/labels/fonts/{name}.ttf")) as path:
        font = TTFont(name, str(path))
    pdfmetrics.registerFont(font)
    return font


def ready() -> None:
    """Make both fonts known to the library that draws."""
    _font(FONT)
    _font(BOLD)


def run_of(text: str, font: str, size: float) -> float:
    """How wide a text runs [pt], one that hardly comes again."""
    face = _font(font).face
    return float(sum(face.charWidths.get(ord(sign), face.defaultWidth) for sign in text)) * size / 1000


width_of = lru_cache(maxsize=4096)(run_of)
"""The same, kept for texts that come again."""


def unprintable(texts: Iterable[str]) -> str:
    """The signs in some texts that cannot be printed, each once, in order.

    The font has none for them (Chinese, Japanese, Korean, Thai, Indic scripts, pictures), or they are written from right
    to left, which is not done here.

    Examples
    --------
    >>> unprintable(["Łódź Αίθουσα Ж", "教室 א"])
    '教室א'
    """
    return "".join(dict.fromkeys(sign for text in texts for sign in text if not _can_print(sign)))


@lru_cache(maxsize=4096)
def _can_print(sign: str) -> bool:
    known = ord(sign) in _font(FONT).face.charToGlyph and ord(sign) in _font(BOLD).face.charToGlyph
    return sign.isspace() or (known and unicodedata.bidirectional(sign) not in RIGHT_TO_LEFT)


@lru_cache(maxsize=4096)
def printable(text: str) -> str:
    """A text as it can be printed: letters and accents as one sign, line breaks as blanks, the rest as '□'."""
    whole = " ".join(BLANKS.split(unicodedata.normalize("NFC", text).strip()))
    return "".join(sign if _can_print(sign) else NOT_PRINTABLE for sign in whole)


def fitted(text: str, font: str, size: float, width: float) -> str:
    """The text as far as it fits, with '…' where it was cut."""
    text = printable(text)
    if width_of(text, font, size) <= width:
        return text
    while text and width_of(text + ELLIPSIS, font, size) > width:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS


def wrapped(text: str, font: str, size: float, width: float, most: int) -> list[str]:
    """The text in at most so many lines of at most `width` points; the last ends in '…' where more does not fit."""
    words = printable(text).split(" ")
    lines: list[str] = []
    while words and len(lines) < most:
        taken = _taken(words, lambda line: width_of(line, font, size) <= width)
        is_last = len(lines) == most - 1
        lines.append(fitted(" ".join(words if is_last else words[:taken]), font, size, width))
        words = [] if is_last else words[taken:]
    return lines


def _taken(words: list[str], fits: Callable[[str], bool]) -> int:
    """How many words from the first on fit a line; a word that fits none alone is one."""
    taken = 1
    while taken < len(words) and fits(" ".join(words[: taken + 1])):
        taken += 1
    return taken


def whole_size(text: str, font: str, size: float, width: float) -> float:
    """The size, made smaller where the text would not fit whole otherwise."""
    run = width_of(printable(text), font, size)
    return size if run <= width else size * width / run
