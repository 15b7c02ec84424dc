"""The QR symbol of a label: what it says, and how it is drawn as vectors."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import qrcode
from qrcode import constants
from reportlab.pdfgen.canvas import Canvas

from spanwalk.rules.codes import PATH

QUIET_ZONE_MODULES = 4
"""ISO/IEC 18004:2015, 5.3.8 (from memory): four modules on all sides."""
Matrix = list[list[bool]]
"""Rows of modules, dark ones true."""
MASK = 3
"""A fixed mask: the search for the best of eight takes nine tenths of the time and reads no better."""


def symbol_text(public_url: str | None, code: str) -> str:
    """What the symbol says, in capitals, so that QR's alphanumeric mode takes it in fewer modules.

    Parameters
    ----------
    public_url : str or None
        Where people reach this installation; None: the code stands alone, which Spanwalk's scanner takes as well.
    code : str
        As it is stored.

    Examples
    --------
    >>> symbol_text("https://walk.example.org", "0000016JD"), symbol_text(None, "0000016JD")
    ('HTTPS://WALK.EXAMPLE.ORG/F/0000016JD', '0000016JD')
    """
    return code.upper() if public_url is None else f"{public_url.rstrip('/')}{PATH}{code}".upper()


def symbol_of(text: str) -> Matrix:
    """The dark modules of a symbol, row by row, without its quiet zone.

    Level Q bears 25 % of wrong code words, H 30 % (ISO/IEC 18004:2015, table 12, from memory). H is taken where it needs
    no more modules than Q does, as for a code alone.
    """
    high, quarter = _made(text, constants.ERROR_CORRECT_H), _made(text, constants.ERROR_CORRECT_Q)
    symbol = high if high.version <= quarter.version else quarter
    symbol.makeImpl(False, MASK)
    return [list(map(bool, row)) for row in symbol.modules]


def _made(text: str, level: int) -> qrcode.QRCode:
    """A symbol of which only the size is known yet."""
    symbol = qrcode.QRCode(error_correction=level, border=0, mask_pattern=MASK)
    symbol.add_data(text, optimize=0)
    symbol.best_fit(start=1)
    return symbol


def side_of(matrix: Matrix, dark: float) -> float:
    """The side of a symbol with its quiet zone, of which the dark square inside is `dark`, in the same unit."""
    return dark * (len(matrix) + 2 * QUIET_ZONE_MODULES) / len(matrix)


def dark_side(matrix: Matrix, side: float) -> float:
    """The dark square inside a symbol whose quiet zone ends at a square of `side`, in the same unit."""
    return side * len(matrix) / (len(matrix) + 2 * QUIET_ZONE_MODULES)


def draw_symbol(canvas: Canvas, matrix: Matrix, x: float, y: float, dark: float) -> None:
    """The dark square of a symbol from its lower left corner [pt], whole modules merged along each row."""
    modules = len(matrix)
    unit = dark / modules
    rectangles = " ".join(
        f"{column} {modules - 1 - row} {run} 1 re" for row, line in enumerate(matrix) for column, run in _runs(line)
    )
    canvas._code.append(f"q 0 g {unit:.4f} 0 0 {unit:.4f} {x:.3f} {y:.3f} cm {rectangles} f Q")


def _runs(line: Sequence[bool]) -> Iterator[tuple[int, int]]:
    """Start and length of each dark run of a row."""
    start = None
    for column, dark in enumerate([*line, False]):
        if dark and start is None:
            start = column
        elif not dark and start is not None:
            yield start, column - start
            start = None
