"""Rooms into shifts of one crew: the fewest days, then the fewest days of a platform, then the fewest circuits switched off.

A crew does one room after the other. What is not done when a shift ends goes on in the next one, but no fixture is left
open overnight; or the crew leaves early and begins the next room with the next shift. A platform serves a floor for a
day, and a circuit that is isolated serves all rooms on it that day (common practice, no source). Up to `EXACT_MOST`
rooms the answer is the best order there is; beyond, the best of several ways, never worse than the rooms in the order
of the walk.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby
from typing import NamedTuple

EXACT_MOST = 7
"""So many rooms are arranged by trying all orders."""
LAID_MOST = 120_000
"""So many rooms are laid into shifts, over and over, to better a large site's order; the answer hangs on no clock."""


@dataclass(frozen=True)
class Work:
    """What one crew has to do in one room.

    Parameters
    ----------
    room : str
        The room.
    minutes : int
        How long the crew takes [min], at least 1.
    platform : str
        What one platform serves: its floor; empty where none is needed.
    circuits : frozenset of str
        What has to be switched off.
    fixtures : int
        In so many equal parts the work can be left for the next shift, at least 1.
    """

    room: str
    minutes: int
    platform: str = ""
    circuits: frozenset[str] = frozenset()
    fixtures: int = 1

    @cached_property
    def marks(self) -> frozenset[tuple[str, str]]:
        """What is counted once a shift: its platform and its circuits."""
        platform = {("platform", self.platform)} if self.platform else set()
        return frozenset(platform | {("circuit", each) for each in self.circuits})

    def until(self, fixtures: int) -> int:
        """How long so many fixtures take [min], rounded down; all of them take all of the time."""
        return self.minutes * fixtures // self.fixtures


class Cost(NamedTuple):
    """Days, days of platforms, and circuits switched off, day by day; the smaller the better, in this order."""

    days: int
    platform_days: int
    isolations: int


class Piece(NamedTuple):
    """What is done of a room in one shift: which work, from which fixture to before which, and for how long [min]."""

    work: int
    first: int
    after: int
    minutes: int


class Step(NamedTuple):
    """The next room of an order: which work, and whether it begins with a shift of its own."""

    work: int
    fresh: bool = False


Shift = tuple[Piece, ...]
"""What is done in one shift."""


def by_minutes(work: Work, shift_minutes: int) -> Work:
    """The same work, left whenever a shift ends where one fixture takes longer than a shift.

    Parameters
    ----------
    work : Work
        Of one room.
    shift_minutes : int
        How long a shift is [min], at least 1.

    >>> by_minutes(Work("r", 1000, fixtures=2), 480).fixtures, by_minutes(Work("r", 1000, fixtures=3), 480).fixtures
    (1000, 3)
    """
    if -(-work.minutes // work.fixtures) <= shift_minutes:
        return work
    return Work(work.room, work.minutes, work.platform, work.circuits, work.minutes)


def laid(works: Sequence[Work], steps: Iterable[Step], shift_minutes: int) -> list[Shift]:
    """The shifts that an order of rooms comes to.

    Parameters
    ----------
    works : sequence of Work
        None with a fixture that takes longer than a shift.
    steps : iterable of Step
        Each work once.
    shift_minutes : int
        How long a shift is [min].

    Examples
    --------
    Ten fixtures of 60 min: eight on the first day, two on the next; the room after it begins there, or a day later.

    >>> works = [Work("a", 600, fixtures=10), Work("b", 60)]
    >>> [[(piece.work, piece.minutes) for piece in shift] for shift in laid(works, [Step(0), Step(1)], 480)]
    [[(0, 480)], [(0, 120), (1, 60)]]
    >>> len(laid(works, [Step(0), Step(1, fresh=True)], 480))
    3
    """
    shifts: list[list[Piece]] = []
    left = 0
    for step in steps:
        work, done = works[step.work], 0
        if step.fresh:
            left = 0
        while done < work.fixtures:
            after = _goes_in(work, done, left)
            if after == done:
                shifts.append([])
                left = shift_minutes
                continue
            piece = Piece(step.work, done, after, work.until(after) - work.until(done))
            shifts[-1].append(piece)
            done, left = after, left - piece.minutes
    return [tuple(each) for each in shifts]


def _goes_in(work: Work, done: int, left: int) -> int:
    """Until before which fixture the work goes into the minutes that are left of a shift."""
    if left <= 0:
        return done
    able = ((work.until(done) + left + 1) * work.fixtures - 1) // work.minutes
    return min(work.fixtures, max(done, able))


def cost_of(works: Sequence[Work], shifts: Iterable[Shift]) -> Cost:
    """What an arrangement comes to.

    >>> works = [Work("a", 60, "1", frozenset({"P/3"})), Work("b", 60, "1", frozenset({"P/3"})), Work("c", 60)]
    >>> orders = [Step(0), Step(1), Step(2, fresh=True)], [Step(0), Step(2), Step(1, fresh=True)]
    >>> [tuple(cost_of(works, laid(works, order, 480))) for order in orders]
    [(2, 1, 1), (2, 2, 2)]
    """
    days = platforms = isolations = 0
    for shift in shifts:
        days += 1
        marks = {mark for piece in shift for mark in works[piece.work].marks}
        of_platforms = sum(what == "platform" for what, _ in marks)
        platforms, isolations = platforms + of_platforms, isolations + len(marks) - of_platforms
    return Cost(days, platforms, isolations)


def in_order(works: Sequence[Work], shift_minutes: int) -> list[Shift]:
    """Room after room, as a crew does that nobody plans for.

    Parameters
    ----------
    works : sequence of Work
        In the order of the walk.
    shift_minutes : int
        How long a shift is [min].
    """
    works = [by_minutes(each, shift_minutes) for each in works]
    return laid(works, map(Step, range(len(works))), shift_minutes)


def shifts_of(works: Sequence[Work], shift_minutes: int) -> list[Shift]:
    """The work in shifts.

    Parameters
    ----------
    works : sequence of Work
        In the order of the walk.
    shift_minutes : int
        How long a shift is [min], at least 1.
    """
    works = [by_minutes(each, shift_minutes) for each in works]
    search = _Search(works, shift_minutes)
    found = search.bettered(min(search.starts(), key=search.cost))
    if len(works) <= EXACT_MOST:
        found = search.exact(search.cost(found)) or found
    return laid(works, found, shift_minutes)


@dataclass
class _Search:
    works: Sequence[Work]
    shift_minutes: int
    laid: int = field(default=0)

    def cost(self, steps: Sequence[Step]) -> Cost:
        self.laid += len(steps)
        return cost_of(self.works, laid(self.works, steps, self.shift_minutes))

    def starts(self) -> Iterator[list[Step]]:
        """Orders to begin with: the walk first, so that nothing worse is ever chosen."""
        places = range(len(self.works))
        on = [at for at in places if self.works[at].platform]
        off = [at for at in places if not self.works[at].platform]
        by_circuit = sorted(places, key=lambda at: (sorted(self.works[at].circuits), at))
        by_floor = sorted(on, key=lambda at: (self.works[at].platform, sorted(self.works[at].circuits), at))
        for order in (places, by_circuit, [*on, *off], [*by_floor, *off], [*off, *by_floor]):
            yield [Step(at) for at in order]
        yield self._filled_up(by_floor, off)
        yield self._without_waste(by_floor, off)

    def _without_waste(self, by_floor: Sequence[int], off: Sequence[int]) -> list[Step]:
        """Floor after floor, and each time the room that leaves the least of a day unused."""
        found: list[Step] = []
        left = 0
        for _, group in groupby([*by_floor, *off], key=lambda at: self.works[at].platform):
            rest = list(group)
            while rest:
                wasted = {at: self._wasted(at, left) for at in rest}
                at = min(rest, key=lambda each: wasted[each][0])
                rest.remove(at)
                found.append(Step(at))
                left = wasted[at][1]
        return found

    def _wasted(self, at: int, left: int) -> tuple[int, int]:
        """Minutes of shifts that stay unused where a room is next, and what is left of a shift after it [min]."""
        work, done, wasted = self.works[at], 0, 0
        while done < work.fixtures:
            after = _goes_in(work, done, left)
            if after == done:
                wasted, left = wasted + left, self.shift_minutes
                continue
            left -= work.until(after) - work.until(done)
            done = after
        return wasted, left

    def _filled_up(self, by_floor: Sequence[int], off: Sequence[int]) -> list[Step]:
        """Each floor's platform from the morning on; what its last day leaves is filled with rooms that need none."""
        found: list[Step] = []
        rest = list(off)
        for floor in dict.fromkeys(self.works[at].platform for at in by_floor):
            block = [at for at in by_floor if self.works[at].platform == floor]
            found += [Step(at, fresh=place == 0) for place, at in enumerate(block)]
            gap = -sum(self.works[at].minutes for at in block) % self.shift_minutes
            for at in list(rest):
                if self.works[at].minutes <= gap:
                    gap -= self.works[at].minutes
                    rest.remove(at)
                    found.append(Step(at))
        return [*found, *map(Step, rest)]

    def bettered(self, steps: list[Step]) -> list[Step]:
        """The order after single rooms were moved, or begun with a shift, for as long as that makes it better."""
        best, least, before = list(steps), self.cost(steps), None
        while before != least:
            before = least
            for at in range(len(self.works)):
                for tried in _moves(best, at):
                    if self.laid >= LAID_MOST:
                        return best
                    cost = self.cost(tried)
                    if cost < least:
                        best, least = tried, cost
        return best

    def exact(self, bound: Cost) -> list[Step] | None:
        """The best order by trying all, those cut off that cannot be better than a bound; None: none is better."""
        states: dict[_State, tuple[Cost, tuple[Step, ...]]] = {_State(0, 0, frozenset()): (Cost(0, 0, 0), ())}
        for _ in self.works:
            grown: dict[_State, tuple[Cost, tuple[Step, ...]]] = {}
            for state, (cost, steps) in states.items():
                for step in self._next(state):
                    after, more = self._go(state, cost, step)
                    if not self._promises(after, more, bound):
                        continue
                    told = (more, (*steps, step))
                    if after not in grown or told < grown[after]:
                        grown[after] = told
            states = grown
        return list(min(states.values())[1]) if states else None

    def _next(self, state: _State) -> Iterator[Step]:
        for at in range(len(self.works)):
            if not state.done >> at & 1:
                yield Step(at)
                if state.left:
                    yield Step(at, fresh=True)

    def _go(self, state: _State, cost: Cost, step: Step) -> tuple[_State, Cost]:
        """The state after one more room, and what it costs by then."""
        work, done = self.works[step.work], 0
        left, marks, (days, platforms, isolations) = state.left, state.marks, cost
        if step.fresh:
            left = 0
        while done < work.fixtures:
            after = _goes_in(work, done, left)
            if after == done:
                days, left, marks = days + 1, self.shift_minutes, frozenset()
                continue
            new = work.marks - marks
            of_platforms = sum(what == "platform" for what, _ in new)
            platforms, isolations = platforms + of_platforms, isolations + len(new) - of_platforms
            marks |= new
            left -= work.until(after) - work.until(done)
            done = after
        return _State(state.done | 1 << step.work, left, marks), Cost(days, platforms, isolations)

    def _promises(self, state: _State, cost: Cost, bound: Cost) -> bool:
        """Whether what is left could still come to less than the bound: whole days for its minutes at the least."""
        rest = sum(each.minutes for at, each in enumerate(self.works) if not state.done >> at & 1)
        days = cost.days + max(0, -(-(rest - state.left) // self.shift_minutes))
        return Cost(days, cost.platform_days, cost.isolations) < bound


class _State(NamedTuple):
    """Rooms that are done, minutes left of the shift, and what was counted in it."""

    done: int
    left: int
    marks: frozenset[tuple[str, str]]


def _moves(steps: Sequence[Step], at: int) -> Iterator[list[Step]]:
    """Each order that differs by one room: begun with a shift instead of after the one before, or moved."""
    place = next(place for place, step in enumerate(steps) if step.work == at)
    rest = [*steps[:place], *steps[place + 1 :]]
    if place:
        yield [*steps[:place], Step(at, not steps[place].fresh), *steps[place + 1 :]]
    for to in range(len(steps)):
        if to != place:
            yield [*rest[:to], Step(at), *rest[to:]]


__all__ = [
    "EXACT_MOST",
    "Cost",
    "Piece",
    "Shift",
    "Step",
    "Work",
    "by_minutes",
    "cost_of",
    "in_order",
    "laid",
    "shifts_of",
]
