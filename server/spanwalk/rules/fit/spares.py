"""How many bars will not go in, and how many spares are enough for that?

A spare of the same length is of no use to a cavity that is too short: spares for misfits are of the next shorter row of
bars (`arrangements.choosing.spares` finds it). The allowance for breakage, a share of what is fitted, comes on top.

Numbers are floats: no verdict hangs on them, only how many spares are ordered.
"""

from __future__ import annotations

from math import ceil, exp, lgamma, log, sqrt

from spanwalk.rules.record_view import Facet

ENOUGH_SHARE = 0.95
"""One-sided, as everywhere."""
FAR_DEVIATIONS = 9
"""So many deviations below the mean nothing is counted: less than 1e-15 of Poisson's distribution lies there."""
TERMS = 300
CLOSE = 1e-15
TINY = 1e-300


def misfits_expected(trusted: Facet, snug_ticks: int) -> float:
    """How many of the cavities that nobody read are too short for a row of bars, on average.

    A further cavity of a normal population is predicted by Student's distribution about the mean, with the spread times
    √(1 + 1/n). No more than the converse without a distribution allows (`could_be_shorter`). None is expected where all
    were read, or where the lamps sitting in the rows prove the length.

    Parameters
    ----------
    trusted : mapping
        What `cavity.trusted_cavity` gives.
    snug_ticks : int
        What the row needs without the gaps wanted at its ends [1/320 mm].

    Examples
    --------
    Ten read with a mean 1 mm above and a spread of 0.5 mm, forty not: t = -2 / √1.1 = -1.907 with 9 degrees, 4.45 %.

    >>> terms = {"mean_ticks": 384_000, "systematic_ticks": 0, "spread_ticks": 160, "degrees": 9}
    >>> round(misfits_expected({"basis": "sample", "n": 10, "m": 40, "terms": terms, "could_be_shorter": 10}, 383_680), 2)
    1.78

    References
    ----------
    .. [1] Prediction of one further value of a normal sample, as in `prediction`.
    """
    terms = trusted["terms"]
    if trusted["basis"] != "sample" or not trusted["m"] or "degrees" not in terms:
        return 0.0
    below = snug_ticks - terms["mean_ticks"] + terms["systematic_ticks"]
    t = below / (terms["spread_ticks"] * sqrt(1 + 1 / trusted["n"]))
    most = trusted["m"] if trusted["could_be_shorter"] is None else trusted["could_be_shorter"]
    return min(float(trusted["m"] * student_share(t, terms["degrees"])), float(most))


def for_breakage(number: int, spare_pct: float) -> int:
    """Spares for breakage, a share of what is fitted, rounded up to whole pieces.

    Parameters
    ----------
    number : int
        What is fitted [pieces].
    spare_pct : float
        The site's share [%].

    >>> for_breakage(40, 3), for_breakage(100, 3), for_breakage(0, 3)
    (2, 3, 0)
    """
    return ceil(round(number * spare_pct / 100, 6))


def enough_spares(expected: float) -> int:
    """Fewest spares that are enough in 95 of 100 sites, for so many misfits on average.

    Misfits are counted as independent and rare (Poisson); cavities of one group share the error of their mean, so that
    the chance is near 95 %, not exactly it.

    Parameters
    ----------
    expected : float
        Misfits on average [cavities].

    Examples
    --------
    With 0.05 on average 95.1 % of sites have none; with 1 on average 98.1 % have three at most, 92.0 % two.

    >>> enough_spares(0.05), enough_spares(0.06), enough_spares(1.0)
    (0, 1, 3)
    """
    number = max(0, int(expected - FAR_DEVIATIONS * sqrt(expected)))
    chance = _poisson(number, expected)
    reached = chance
    while reached < ENOUGH_SHARE:
        number += 1
        chance *= expected / number
        reached += chance
    return number


def _poisson(number: int, expected: float) -> float:
    """Chance of just so many, by logarithms: e to the minus hundreds is nothing at all in a float."""
    return exp(number * log(expected) - expected - lgamma(number + 1)) if expected else 1.0


def student_share(t: float, degrees: int) -> float:
    """Share of Student's distribution below t.

    Parameters
    ----------
    t : float
        Any value; without a unit [1].
    degrees : int
        Degrees of freedom; at least 1 [1].

    Examples
    --------
    One degree is Cauchy's distribution; with 9 degrees 5 % lie below -1.8331.

    >>> round(student_share(-1.0, 1), 6), round(student_share(-1.8331, 9), 4)
    (0.25, 0.05)

    References
    ----------
    .. [1] Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.1 and 26.5.8 (from memory).
    """
    tail = _beta_share(degrees / 2, 0.5, degrees / (degrees + t * t)) / 2
    return tail if t < 0 else 1 - tail


def _beta_share(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function, by its continued fraction on the side where that converges fast."""
    if x <= 0 or x >= 1:
        return max(0.0, min(1.0, x))
    front = exp(a * log(x) + b * log(1 - x) + lgamma(a + b) - lgamma(a) - lgamma(b))
    if x > (a + 1) / (a + b + 2):
        return 1 - front * _fraction(b, a, 1 - x) / b
    return front * _fraction(a, b, x) / a


def _fraction(a: float, b: float, x: float) -> float:
    """The continued fraction of Abramowitz and Stegun 26.5.8, by Lentz's method."""
    c, d = 1.0, 1 / _not_nil(1 - (a + b) * x / (a + 1))
    whole = d
    for at in range(1, TERMS):
        even = at * (b - at) * x / ((a + 2 * at - 1) * (a + 2 * at))
        odd = -(a + at) * (a + b + at) * x / ((a + 2 * at) * (a + 2 * at + 1))
        for step in (even, odd):
            d = 1 / _not_nil(1 + step * d)
            c = _not_nil(1 + step / c)
            whole *= c * d
        if abs(c * d - 1) < CLOSE:
            break
    return whole


def _not_nil(value: float) -> float:
    return value if abs(value) > TINY else TINY


__all__ = ["enough_spares", "for_breakage", "misfits_expected", "student_share"]
