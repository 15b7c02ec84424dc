"""Text that leaves for spreadsheets and terminals, made so that neither runs it: the one place for every table and command.

A name is typed by anyone on site. A spreadsheet runs a cell that begins with = + - @ (OWASP, 'CSV Injection': also
their full-width forms, and after a separator or quote, because a reader may part cells where the writer did not: a CSV
with commas opened where the semicolon parts). A terminal obeys control letters (ECMA-48).
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections.abc import Iterable, Sequence
from io import StringIO
from typing import TextIO

Out = str | int | float | bool | None
"""What stands in a cell that leaves."""
STARTS = "=+\\-@\uff1d\uff0b\uff0d\uff20\u2212\ufe62\ufe63\ufe66\ufe6b"
"""What a formula begins with, full-width and small forms too."""
BLANK = "\\s\u200b-\u200f\u2060\ufeff"
"""What is passed over before a formula: blanks, and letters of no width."""
OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\u202a-\u202e\u2066-\u2069]")
"""Control letters but tab and line end, halves of letters, and marks that turn the direction of what follows."""
LINE_ENDS = re.compile("\r\n?|[\u2028\u2029]")
AT_START = re.compile(f'[{BLANK}"]*[{STARTS}]|[\t\n]')
AFTER_SEPARATOR = re.compile(f'([,;|\t\n][{BLANK}"]*)(?=[{STARTS}])')
GUARDED = re.compile(f"([,;|\t\n][{BLANK}\"]*)'(?=[{STARTS}])")
HARMLESS = re.compile(r"(?:[0-9A-Za-z][0-9A-Za-z _.:/()%-]*)?")
"""A text without a separator, a control letter or a form that is another letter's: most cells, and nothing to be looked for in them."""
BYTE_ORDER_MARK = "\ufeff"


def plain_text(text: str) -> str:
    """A text without what a terminal would obey; all its line ends are line feeds.

    >>> plain_text("a\\x1b[31mb\\r\\nc")
    'a[31mb\\nc'
    """
    return OBEYED.sub("", LINE_ENDS.sub("\n", text))


def is_formula_like(text: str) -> bool:
    """Whether a spreadsheet might run a text: by its first letter, full-width forms and what stands behind blanks too.

    >>> is_formula_like("＝1+1"), is_formula_like("  =1"), is_formula_like("a=1")
    (True, True, False)
    """
    return AT_START.match(text) is not None or AT_START.match(unicodedata.normalize("NFKC", text)) is not None


def neutral(value: Out) -> Out:
    """A value as a CSV cell: what might be run stands behind an apostrophe, also behind a separator in its midst.

    A number after a separator too: `7;-2 +3` is a formula where the semicolon parts.

    >>> neutral("=1+1"), neutral('a";=1+1'), neutral("47 3/16; 47 1/4"), neutral(-3)
    ("'=1+1", 'a";\\'=1+1', '47 3/16; 47 1/4', -3)
    """
    if not isinstance(value, str) or HARMLESS.fullmatch(value):
        return value
    text = AFTER_SEPARATOR.sub(r"\1'", plain_text(value))
    return f"'{text}" if is_formula_like(text) else text


def as_it_was(cell: str) -> str:
    """A cell that came back without the apostrophes that `neutral` put in.

    >>> as_it_was("'=1+1"), as_it_was("'tis"), as_it_was('a";\\'=1+1')
    ('=1+1', "'tis", 'a";=1+1')
    """
    if cell.startswith("'") and is_formula_like(cell[1:]):
        cell = cell[1:]
    return GUARDED.sub(r"\1", cell)


def csv_text(rows: Iterable[Sequence[Out]]) -> str:
    """Rows as CSV (RFC 4180) behind a byte order mark, which spreadsheets need to read accents; every cell made neutral."""
    out = StringIO()
    writer = csv.writer(out)
    for row in rows:
        writer.writerow([neutral(value) for value in row])
    return BYTE_ORDER_MARK + out.getvalue()


class PlainOutput:
    """A terminal that is told only what it cannot obey: what commands print goes through it."""

    def __init__(self, terminal: TextIO) -> None:
        self.terminal = terminal

    def write(self, text: str) -> int:
        """Write it without control letters."""
        return self.terminal.write(OBEYED.sub("", text))

    def __getattr__(self, name: str) -> object:
        return getattr(self.terminal, name)


__all__ = ["Out", "PlainOutput", "as_it_was", "csv_text", "is_formula_like", "neutral", "plain_text"]
