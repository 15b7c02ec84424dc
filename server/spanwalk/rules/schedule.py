"""Rooms into shifts of one crew: the fewest days, then the fewest days of a platform, then the fewest circuits switched off.

A platform serves a floor for a day, and a circuit that is isolated serves all rooms on it that day (common practice, no
source). Up to `EXACT_MOST` pieces of work the answer is the best there is; beyond, the best of several ways, never worse
than the rooms one after the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

EXACT_MOST = 11
"""So many pieces of work are arranged by trying all ways."""
TURNS_MOST = 4
"""So often all moves are tried where there are more."""


@dataclass(frozen=True)
class Work:
    """A piece of work in one room that one crew does in one go.

    Parameters
    ----------
    room : str
        The room.
    minutes : int
        How long the crew takes [min].
    platform : str
        What one platform serves: its floor; empty where none is needed.
    circuits : frozenset of str
        What has to be switched off.
    """

    room: str
    minutes: int
    platform: str = ""
    circuits: frozenset[str] = frozenset()


class Cost(NamedTuple):
    """Days, days of platforms, and circuits switched off, day by day; the smaller the better, in this order."""

    days: int
    platform_days: int
    isolations: int


Shift = tuple[int, ...]
"""Places of pieces of work that are done in one shift."""


def split(works: Iterable[Work], shift_minutes: int) -> list[Work]:
    """The same work in pieces of which none takes longer than a shift.

    Parameters
    ----------
    works : iterable of Work
        In the order of the walk.
    shift_minutes : int
        How long a shift is [min], at least 1.

    >>> [each.minutes for each in split([Work("r", 1000)], 480)]
    [480, 480, 40]
    """
    found = []
    for work in works:
        left = work.minutes
        while left > shift_minutes:
            found.append(Work(work.room, shift_minutes, work.platform, work.circuits))
            left -= shift_minutes
        found.append(Work(work.room, left, work.platform, work.circuits))
    return found


def cost_of(works: Sequence[Work], shifts: Iterable[Shift]) -> Cost:
    """What an arrangement comes to.

    >>> works = [Work("a", 60, "1", frozenset({"P/3"})), Work("b", 60, "1", frozenset({"P/3"})), Work("c", 60)]
    >>> cost_of(works, [(0, 1), (2,)]), cost_of(works, [(0, 2), (1,)])
    (Cost(days=2, platform_days=1, isolations=1), Cost(days=2, platform_days=2, isolations=2))
    """
    days = platforms = isolations = 0
    for shift in shifts:
        days += 1
        platforms += len({works[at].platform for at in shift} - {""})
        isolations += len({circuit for at in shift for circuit in works[at].circuits})
    return Cost(days, platforms, isolations)


def in_order(works: Sequence[Work], shift_minutes: int) -> list[Shift]:
    """Room after room, a new shift where the next does not go in any more.

    Parameters
    ----------
    works : sequence of Work
        Pieces no longer than a shift, in the order of the walk.
    shift_minutes : int
        How long a shift is [min].
    """
    return _filled(works, range(len(works)), shift_minutes)


def shifts_of(works: Sequence[Work], shift_minutes: int) -> list[Shift]:
    """The work in shifts, by the place of their first piece in the walk.

    Parameters
    ----------
    works : sequence of Work
        Pieces no longer than a shift, in the order of the walk.
    shift_minutes : int
        How long a shift is [min].
    """
    found = _exact(works, shift_minutes) if len(works) <= EXACT_MOST else _searched(works, shift_minutes)
    return sorted(tuple(sorted(shift)) for shift in found)


def _filled(works: Sequence[Work], order: Iterable[int], shift_minutes: int) -> list[Shift]:
    found: list[list[int]] = []
    left = 0
    for at in order:
        if not found or works[at].minutes > left:
            found.append([])
            left = shift_minutes
        found[-1].append(at)
        left -= works[at].minutes
    return [tuple(each) for each in found]


def _exact(works: Sequence[Work], shift_minutes: int) -> list[Shift]:
    """The best arrangement of each set of pieces, from the smaller to the larger; the first in the walk opens a shift."""
    all_of = (1 << len(works)) - 1
    alone = [_shift_of(works, mask, shift_minutes) for mask in range(all_of + 1)]
    best: list[tuple[Cost, tuple[int, ...]]] = [(Cost(0, 0, 0), ())]
    for mask in range(1, all_of + 1):
        first = mask & -mask
        found: tuple[Cost, tuple[int, ...]] | None = None
        rest = others = mask ^ first
        while True:
            costs = alone[rest | first]
            if costs is not None:
                before, chosen = best[others ^ rest]
                cost = Cost(*(one + other for one, other in zip(before, costs, strict=True)))
                if found is None or (cost, (rest | first, *chosen)) < found:
                    found = (cost, (rest | first, *chosen))
            if rest == 0:
                break
            rest = (rest - 1) & others
        assert found is not None, "each piece goes into a shift of its own"
        best.append(found)
    return [_places(mask) for mask in best[all_of][1]]


def _places(mask: int) -> Shift:
    return tuple(at for at in range(mask.bit_length()) if mask >> at & 1)


def _shift_of(works: Sequence[Work], mask: int, shift_minutes: int) -> Cost | None:
    """What a shift of these pieces comes to; None where it is too short for them."""
    shift = _places(mask)
    if sum(works[at].minutes for at in shift) > shift_minutes:
        return None
    return cost_of(works, [shift])


def _searched(works: Sequence[Work], shift_minutes: int) -> list[Shift]:
    """The best of several orders, each bettered by moving single pieces."""
    places = range(len(works))
    orders = [
        list(places),
        sorted(places, key=lambda at: (works[at].platform, sorted(works[at].circuits), at)),
        sorted(places, key=lambda at: (works[at].platform, -works[at].minutes, at)),
        sorted(places, key=lambda at: (-works[at].minutes, at)),
    ]
    starts = [_filled(works, order, shift_minutes) for order in orders]
    starts += [_first_fit(works, order, shift_minutes) for order in orders]
    return min((_bettered(works, each, shift_minutes) for each in starts), key=lambda each: cost_of(works, each))


def _first_fit(works: Sequence[Work], order: Iterable[int], shift_minutes: int) -> list[Shift]:
    """Each piece into the first shift in which it finds room, those of its platform before others."""
    found: list[list[int]] = []
    left: list[int] = []
    for at in order:
        able = [n for n, minutes in enumerate(left) if minutes >= works[at].minutes]
        able.sort(key=lambda n: (all(works[each].platform != works[at].platform for each in found[n]), n))
        if not able:
            found.append([])
            left.append(shift_minutes)
            able = [len(found) - 1]
        found[able[0]].append(at)
        left[able[0]] -= works[at].minutes
    return [tuple(each) for each in found]


def _bettered(works: Sequence[Work], start: Sequence[Shift], shift_minutes: int) -> list[Shift]:
    shifts = [list(each) for each in start]
    for _ in range(TURNS_MOST):
        if not sum(_moved(works, shifts, at, shift_minutes) for at in range(len(works))):
            break
    return [tuple(each) for each in shifts if each]


def _moved(works: Sequence[Work], shifts: list[list[int]], at: int, shift_minutes: int) -> bool:
    """Whether a piece of work found a better shift."""
    here = next(n for n, shift in enumerate(shifts) if at in shift)
    rest = [each for each in shifts[here] if each != at]
    gained = _less(works, shifts[here], rest)
    for there, shift in enumerate(shifts):
        room = shift_minutes - sum(works[each].minutes for each in shift)
        if there == here or not shift or works[at].minutes > room:
            continue
        lost = _less(works, [*shift, at], shift)
        if lost < gained:
            shifts[here] = rest
            shift.append(at)
            return True
    return False


def _less(works: Sequence[Work], more: Sequence[int], fewer: Sequence[int]) -> Cost:
    """What shifts cost more with some pieces than without."""
    one = cost_of(works, [tuple(more)])
    other = cost_of(works, [tuple(fewer)] if fewer else [])
    return Cost(*(a - b for a, b in zip(one, other, strict=True)))


__all__ = ["EXACT_MOST", "Cost", "Shift", "Work", "cost_of", "in_order", "shifts_of", "split"]
