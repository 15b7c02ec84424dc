"""How many of an item have failed by when, of those that were still at work; and whether that is more than its data sheet says.

The curve is the product-limit estimate of Kaplan and Meier: items that have not failed yet, or were taken out for another
reason, count for as long as they were seen at work.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple, TypedDict

Z_95 = 1.959963984540054
"""Of a standard normal value 2.5 % lie above."""
PCT = 100.0
DIGITS = 4


class Unit(NamedTuple):
    """One item: how long it was seen at work [h], and whether it failed then."""

    hours: int
    failed: bool


class Step(TypedDict):
    """A step of the curve: after so many hours so many of those at work failed.

    `failed_pct` is the share that has failed by then, with the ends of its 95 % range; None where none can be given.
    """

    hours: int
    at_work: int
    failed: int
    failed_pct: float
    low_pct: float | None
    high_pct: float | None


class Expected(TypedDict):
    """Failures against those that the data sheet makes one expect: how many, and how seldom so many come by chance [%]."""

    failed: int
    expected: float
    by_chance_pct: float


def failure_curve(units: Iterable[Unit]) -> list[Step]:
    """The share that has failed, stepwise over the hours at work.

    Parameters
    ----------
    units : iterable of Unit
        All items of a code, those at work too.

    Returns
    -------
    list of Step
        One for each number of hours at which something failed; none where nothing has.

    References
    ----------
    .. [1] E. L. Kaplan and P. Meier, "Nonparametric estimation from incomplete observations", Journal of the American
       Statistical Association 53 (1958) 457-481 (from memory); range by Greenwood's variance of log(-log S).

    Examples
    --------
    >>> [(step["hours"], step["failed_pct"]) for step in failure_curve([Unit(10, True), Unit(20, False), Unit(30, True)])]
    [(10, 33.3333), (30, 100.0)]
    """
    every = sorted(units)
    failed_at = Counter(unit.hours for unit in every if unit.failed)
    steps: list[Step] = []
    at_work, place, share, spread = len(every), 0, 1.0, 0.0
    for hours in sorted(failed_at):
        while every[place].hours < hours:
            place += 1
        at_work, failed = len(every) - place, failed_at[hours]
        share *= 1 - failed / at_work
        spread += failed / (at_work * (at_work - failed)) if at_work > failed else math.inf
        low, high = _range(share, spread)
        steps.append(
            {
                "hours": hours,
                "at_work": at_work,
                "failed": failed,
                "failed_pct": round(PCT * (1 - share), DIGITS),
                "low_pct": low,
                "high_pct": high,
            }
        )
    return steps


def _range(share: float, spread: float) -> tuple[float | None, float | None]:
    """Ends of the range of the share that has failed [%]; None once none is left, for then nothing says how sure that is."""
    if not 0 < share < 1:
        return None, None
    wide = Z_95 * math.sqrt(spread) / math.log(share)
    ends = sorted(PCT * (1 - share ** math.exp(each)) for each in (wide, -wide))
    return round(ends[0], DIGITS), round(ends[1], DIGITS)


def expected_failed_pct(hours: float, life_h: float, life_failed_pct: float) -> float:
    """The share that is expected to have failed after some hours, by a failure rate that stays the same.

    Parameters
    ----------
    hours : float
        Hours at work [h].
    life_h : float
        Life that the data sheet says [h].
    life_failed_pct : float
        Share that has failed when it is over [%].

    Notes
    -----
    A constant rate is common practice where a data sheet says one life alone (IEC 61709, from memory): early failures come
    sooner than it says, and worn parts later.

    Examples
    --------
    >>> round(expected_failed_pct(50_000, 50_000, 10), 6), round(expected_failed_pct(25_000, 50_000, 10), 4)
    (10.0, 5.1317)
    """
    return PCT * (1 - math.pow(1 - life_failed_pct / PCT, hours / life_h))


def against_expected(units: Iterable[Unit], life_h: float, life_failed_pct: float) -> Expected:
    """How many failed, how many the data sheet makes one expect of these items over these hours, and how likely so many are.

    Parameters
    ----------
    units : iterable of Unit
        All items of a code.
    life_h, life_failed_pct : float
        As in `expected_failed_pct` [h, %].

    Returns
    -------
    Expected
        The expected number is the sum of the items' cumulated hazards (one-sample log-rank test); the chance is that of a
        Poisson number as large as the one that was seen, or larger.

    Examples
    --------
    >>> against_expected([Unit(5_000, False)] * 98 + [Unit(4_000, True)] * 2, 50_000, 10)
    {'failed': 2, 'expected': 1.0494, 'by_chance_pct': 28.2404}
    """
    every = list(units)
    hazard_per_h = -math.log(1 - life_failed_pct / PCT) / life_h
    expected = hazard_per_h * sum(unit.hours for unit in every)
    failed = sum(unit.failed for unit in every)
    return {
        "failed": failed,
        "expected": round(expected, DIGITS),
        "by_chance_pct": round(PCT * _as_many_or_more(failed, expected), DIGITS),
    }


def _as_many_or_more(count: int, mean: float) -> float:
    """Chance that a Poisson number is at least so large."""
    term = math.exp(-mean)
    fewer = 0.0
    for number in range(count):
        fewer += term
        term *= mean / (number + 1)
    return max(0.0, 1 - fewer)


__all__ = ["Expected", "Step", "Unit", "against_expected", "expected_failed_pct", "failure_curve"]
