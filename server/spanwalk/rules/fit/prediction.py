"""How far below the mean the cavities that nobody read may lie, and how many may. Twin: pwa/rules/fit/prediction.js."""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from spanwalk.rules import constants
from spanwalk.rules.record_view import Facet

ONE_IN = constants.ONE_IN
"""95 % one-sided: what is left is one in twenty."""


def factor_thousandths(n: int, m: int, degrees: int, table: Facet) -> int | None:
    """Prediction factor r: with 95 % confidence all m further cavities are at least mean - r s.

    Between two rows of the table the one that gives more is taken: fewer readings, fewer degrees of
    freedom, more cavities to come.

    Parameters
    ----------
    n : int
        Cavities whose mean is taken; at least 1.
    m : int
        Cavities not read; at least 1.
    degrees : int
        Degrees of freedom of the spread; at least 1.
    table : mapping
        `prediction.json`.

    Returns
    -------
    int or None
        r in thousandths, rounded up; None where more cavities are to come than the table knows.

    Examples
    --------
    >>> table = {"n": [3, 5], "degrees": [2, 4], "m": [20, 50], "factors": [[[9, 10], [6, 7]], [[8, 9], [5, 6]]]}
    >>> factor_thousandths(5, 20, 4, table), factor_thousandths(4, 21, 3, table)
    (5, 10)

    References
    ----------
    .. [1] Normal sample, one-sided prediction interval for m future values, scope as ISO 16269-8:2004
       (its tables not read); factors integrated, see the table's own source.
    """
    if m > table["m"][-1]:
        return None
    at_n = bisect_right(table["n"], n) - 1
    at_degrees = bisect_right(table["degrees"], degrees) - 1
    row = table["factors"][at_n][at_degrees]
    return int(row[bisect_left(table["m"], m)])


def could_be_shorter(population: int, n: int) -> int:
    """Most of the cavities not read that could be shorter than the shortest read, at 95 %.

    No distribution is assumed, only that the cavities to read were chosen blindly: D is the largest number
    that leaves none of the n readings among the short ones more than once in twenty times.

    Parameters
    ----------
    population : int
        Cavities in all.
    n : int
        Cavities read.

    Returns
    -------
    int
        D, from 0 to population - n.

    Examples
    --------
    With 9 short ones among 60, fifteen readings miss them all in 5.99 % of cases; with 10, in 4.23 %.

    >>> could_be_shorter(60, 15)
    9

    References
    ----------
    .. [1] Hypergeometric distribution with none found.
    """
    low, high = 0, population - n
    while low < high:
        middle = (low + high + 1) // 2
        if _all_missed(population, n, middle):
            low = middle
        else:
            high = middle - 1
    return low


def _all_missed(population: int, n: int, short: int) -> bool:
    """Whether n readings miss all the short ones more than once in twenty times."""
    missing = every = 1
    for taken in range(n):
        missing *= population - short - taken
        every *= population - taken
    return missing * ONE_IN > every


__all__ = ["could_be_shorter", "factor_thousandths"]
