"""How fast a walk goes, and how long what is left will take: from hours that people state and the order of what they saved.

Clocks of phones have no part in it: hours stated count for all that was saved since hours were stated last.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt

T_95 = (
    *(6.314, 2.920, 2.353, 2.132, 2.015, 1.943, 1.895, 1.860, 1.833, 1.812),
    *(1.796, 1.782, 1.771, 1.761, 1.753, 1.746, 1.740, 1.734, 1.729, 1.725),
    *(1.721, 1.717, 1.714, 1.711, 1.708, 1.706, 1.703, 1.701, 1.699, 1.697),
)
"""Student's t at 95 %, one-sided, for 1 to 30 degrees of freedom (textbook table, from memory); beyond, that of 30."""
WORK = ("rooms", "fixtures", "readings")


@dataclass(frozen=True)
class Stint:
    """Hours stated, and what was saved since hours were stated last.

    Parameters
    ----------
    hours : float
        Hours of all people together [h].
    rooms, fixtures, readings : int
        What was done in them.
    """

    hours: float
    rooms: int
    fixtures: int
    readings: int


@dataclass(frozen=True)
class Left:
    """What is left: `hours` [h], and within `least_hours` and `most_hours` in nine of ten cases; None: too little is stated to tell."""

    rooms: int
    hours: float | None
    least_hours: float | None
    most_hours: float | None


def stints(stated: Iterable[tuple[int, float]], saved: Iterable[tuple[int, str, int]]) -> list[Stint]:
    """What was saved, laid to the hours that were stated after it.

    Parameters
    ----------
    stated : iterable of tuple
        Sequence at which hours were stated, and how many [h].
    saved : iterable of tuple
        Sequence of what was saved, `rooms`, `fixtures` or `readings`, and how many.

    Examples
    --------
    >>> stints([(10, 2.0), (20, 3.0)], [(4, "rooms", 1), (9, "fixtures", 12), (15, "rooms", 2), (25, "rooms", 1)])
    [Stint(hours=2.0, rooms=1, fixtures=12, readings=0), Stint(hours=3.0, rooms=2, fixtures=0, readings=0)]
    """
    work = sorted(saved)
    found: list[Stint] = []
    at = 0
    for sequence, hours in sorted(stated):
        counts = dict.fromkeys(WORK, 0)
        while at < len(work) and work[at][0] <= sequence:
            _, what, number = work[at]
            counts[what] += number
            at += 1
        found.append(Stint(hours, counts["rooms"], counts["fixtures"], counts["readings"]))
    return found


def an_hour(done: Sequence[Stint], what: str) -> float | None:
    """How many rooms, fixtures or readings an hour; None where no hours are stated.

    Parameters
    ----------
    done : sequence of Stint
        Hours and what was done in them.
    what : str
        `rooms`, `fixtures` or `readings`.
    """
    hours = sum(each.hours for each in done)
    return sum(int(getattr(each, what)) for each in done) / hours if hours > 0 else None


def left(done: Sequence[Stint], rooms_left: int) -> Left:
    """How long the rooms left will take, as the rooms done did.

    The ratio of hours to rooms, with the spread of the hours about it: what is left is a number of further stints, whose sum
    is uncertain as each of them is, and as the ratio itself.

    Parameters
    ----------
    done : sequence of Stint
        Hours and what was done in them.
    rooms_left : int
        How many are left [rooms].

    Examples
    --------
    Three stints of about two hours for four rooms; eight rooms are two more of them.

    >>> found = left([Stint(2.0, 4, 0, 0), Stint(2.4, 4, 0, 0), Stint(1.6, 4, 0, 0)], 8)
    >>> round(found.hours, 2), round(found.least_hours, 2), round(found.most_hours, 2)
    (4.0, 1.87, 6.13)

    References
    ----------
    .. [1] Ratio estimator and its residual variance: W. G. Cochran, Sampling Techniques, chapter 6 (from memory); prediction
       of a sum of further values as in any text on linear models.
    """
    rooms, k = sum(each.rooms for each in done), len(done)
    hours = sum(each.hours for each in done)
    if rooms_left == 0:
        return Left(0, 0.0, 0.0, 0.0)
    if rooms == 0 or hours <= 0:
        return Left(rooms_left, None, None, None)
    each_room = hours / rooms
    expected = each_room * rooms_left
    if k < 2:
        return Left(rooms_left, expected, None, None)
    square = sum((each.hours - each_room * each.rooms) ** 2 for each in done) / (k - 1)
    more = rooms_left / (rooms / k)
    off = T_95[min(k - 1, len(T_95)) - 1] * sqrt(square * (more + more**2 / k))
    return Left(rooms_left, expected, max(0.0, expected - off), expected + off)


__all__ = ["Left", "Stint", "an_hour", "left", "stints"]
