"""What lamps and ballasts cost a year to keep alight, and what a conversion takes again within the years looked at.

Prices of goods and labour stay at today's: no rise is reckoned on them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor
from typing import TypedDict


class Replacement(TypedDict):
    """What is paid again at the end of a year [currency]."""

    year: int
    cost: float


@dataclass(frozen=True)
class Wearing:
    """Parts that fail and are changed: lamps, or ballasts.

    Parameters
    ----------
    number : float
        How many are in use.
    life_h : float
        Hours after which one fails on average [h].
    each : float
        Price of one with its disposal [currency].
    change_min : float
        Minutes to change one [min].
    """

    number: float
    life_h: float
    each: float
    change_min: float


@dataclass(frozen=True)
class CallOuts:
    """What a change costs beside the part: labour [currency an hour], coming there [currency], changes in one call-out."""

    labour_per_h: float
    each: float
    changes: float


@dataclass(frozen=True)
class Lasting:
    """Items of a conversion that are replaced at the end of their life.

    Parameters
    ----------
    number : int
        How many.
    life_years : float
        After how many years each is replaced.
    goods_each : float
        Price of one [currency].
    labour_each : float
        Labour to replace one [currency].
    """

    number: int
    life_years: float
    goods_each: float
    labour_each: float


def failures_year(parts: Wearing, hours_year: float) -> float:
    """Parts that fail in a year, on average once their ages are mixed.

    >>> failures_year(Wearing(40, 20_000, 3.0, 15), 3_000)
    6.0
    """
    return parts.number * hours_year / parts.life_h


def upkeep_year(parts: Wearing, hours_year: float, calls: CallOuts) -> float:
    """What the changes of a year cost: the parts, the minutes, and the call-outs [currency].

    Six lamps of 3.00, a quarter of an hour each at 68 an hour, two in a call-out of 50:

    >>> upkeep_year(Wearing(40, 20_000, 3.0, 15), 3_000, CallOuts(68, 50, 2))
    270.0
    """
    changes = failures_year(parts, hours_year)
    return changes * (parts.each + parts.change_min / 60 * calls.labour_per_h + calls.each / calls.changes)


def replacements(items: Lasting, study_years: int) -> list[Replacement]:
    """When items are replaced within the years looked at, each time at the end of the year in which their life ends.

    What ends with the last year is not replaced any more.

    >>> replacements(Lasting(10, 4.5, 20.0, 5.0), 12)
    [{'year': 5, 'cost': 250.0}, {'year': 9, 'cost': 250.0}]
    >>> replacements(Lasting(10, 6.0, 20.0, 5.0), 12)
    [{'year': 6, 'cost': 250.0}]
    """
    cost = items.number * (items.goods_each + items.labour_each)
    return [
        {"year": ceil(round(turn * items.life_years, 6)), "cost": cost}
        for turn in range(1, _turns(items, study_years) + 1)
    ]


def residual(items: Lasting, study_years: int) -> float:
    """What items are still worth after the years looked at: the part of their life that is left, of their price.

    Labour that was spent on them is worth nothing then.

    Examples
    --------
    Fitted anew after 4.5 and 9 years, three of 4.5 are used up after twelve: a third is left.

    >>> round(residual(Lasting(10, 4.5, 20.0, 5.0), 12), 2), residual(Lasting(10, 6.0, 20.0, 5.0), 12)
    (66.67, 0.0)

    References
    ----------
    .. [1] NIST Handbook 135: residual value as a share of the initial cost by the life that is left (from memory).
    """
    used = study_years - _turns(items, study_years) * items.life_years
    return max(1 - used / items.life_years, 0.0) * items.number * items.goods_each


def _turns(items: Lasting, study_years: int) -> int:
    """How often they are replaced before the last year ends."""
    whole = study_years / items.life_years
    return max(floor(round(whole, 6)) - (abs(whole - round(whole)) < 1e-6), 0)
