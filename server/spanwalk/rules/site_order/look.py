"""How rows of bars look in a body: for choosing between what costs the same.

That a cell louvre shows a dark column where a row stays empty, and that light about the middle of an optic looks better
than light beside it, is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

CELL_LOUVRES = ("louvre", "parabolic-louvre")
"""Optics whose columns each show the row above them."""
DARK_COLUMN, ASIDE = 1_000, 30
"""What a dark column, and a row's step away from balance, weigh beside a row's step from the middle."""


def look_of(rows: Sequence[int], of_rows: int, optic: str) -> int:
    """How rows look: 0 the best; dark columns under a louvre first, then balance, then rows near the middle.

    Parameters
    ----------
    rows : sequence of int
        Rows that get bars, counted from 1.
    of_rows : int
        Rows of lamps in the body [rows].
    optic : str
        The kind's optic, as in the survey.

    Examples
    --------
    Of four rows under a lens the two inner ones before the two outer ones; one of two rows stands aside.

    >>> look_of((2, 3), 4, "prismatic-lens"), look_of((1, 4), 4, "prismatic-lens"), look_of((1,), 2, "opal-lens")
    (2, 6, 31)

    Under a louvre each empty row is a dark column; a row for every lamp never is.

    >>> look_of((2, 3), 4, "parabolic-louvre"), look_of((1, 2, 3, 4), 4, "parabolic-louvre")
    (2002, 0)
    """
    return _look(tuple(rows), of_rows, optic)


@lru_cache(maxsize=1024)
def _look(rows: tuple[int, ...], of_rows: int, optic: str) -> int:
    if len(rows) == of_rows:
        return 0
    middle = of_rows + 1
    steps = [2 * row - middle for row in rows]
    dark = DARK_COLUMN * (of_rows - len(rows)) if optic in CELL_LOUVRES else 0
    return dark + ASIDE * abs(sum(steps)) + sum(abs(step) for step in steps)


__all__ = ["look_of"]
