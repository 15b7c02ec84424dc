"""Rooms into shifts of one crew: the fewest days, then the fewest days of a platform, then the fewest circuits switched off.

A crew does one room after the other. What is not done when a shift ends goes on in the next one, but no fixture is left
open overnight; or the crew leaves early and begins the next room with the next shift. A platform serves a floor for a
day, and a circuit that is isolated serves all rooms on it that day (common practice, no source). Up to `EXACT_MOST`
rooms the answer is the best order there is; beyond, the best of several ways, never worse than the rooms in the order
of the walk.

A room may be open for work at some hours only. Where it closes, or has not opened yet, the crew goes on with the next room
and comes back as soon as it is open; where no room is open, the crew waits. Days on which none is open count as idle. With
such rooms up to `EXACT_WITH_HOURS` are arranged by trying all orders.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import groupby, permutations, product
from typing import NamedTuple

EXACT_MOST = 7
"""So many rooms are arranged by trying all orders."""
EXACT_WITH_HOURS = 5
"""So many, where some are open at some hours only."""
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
    hours : tuple of (int, int)
        For each shift from the first on, over and over, from when to when it may be worked in [min after its beginning];
        none: always.
    """

    room: str
    minutes: int
    platform: str = ""
    circuits: frozenset[str] = frozenset()
    fixtures: int = 1
    hours: tuple[tuple[int, int], ...] = ()

    def open_times(self, shift: int, shift_minutes: int) -> tuple[int, int]:
        """From when to when it may be worked in a shift [min after its beginning]; an empty time where never."""
        if not self.hours:
            return 0, shift_minutes
        opens, closes = self.hours[shift % len(self.hours)]
        return max(0, opens), min(shift_minutes, closes)

    def longest(self, shift_minutes: int) -> int:
        """The longest time for which it may be worked in on one day [min]; 0: never in these shifts."""
        times = (self.open_times(shift, shift_minutes) for shift in range(max(1, len(self.hours))))
        return max(0, *(closes - opens for opens, closes in times))

    @cached_property
    def marks(self) -> frozenset[tuple[str, str]]:
        """What is counted once a shift: its platform and its circuits."""
        platform = {("platform", self.platform)} if self.platform else set()
        return frozenset(platform | {("circuit", each) for each in self.circuits})

    def until(self, fixtures: int) -> int:
        """How long so many fixtures take [min], rounded down; all of them take all of the time."""
        return self.minutes * fixtures // self.fixtures


class Cost(NamedTuple):
    """Days of work, days between them on which no room is open, days of platforms, and circuits switched off, day by day.

    The smaller the better, in this order.
    """

    days: int
    idle: int
    platform_days: int
    isolations: int


class Piece(NamedTuple):
    """What is done of a room at one go: which work, from which fixture to before which, for how long and from when [min]."""

    work: int
    first: int
    after: int
    minutes: int
    begins: int


class Step(NamedTuple):
    """The next room of an order: which work, and whether it begins with a shift of its own."""

    work: int
    fresh: bool = False


Shift = tuple[Piece, ...]
"""What is done in one shift; nothing where no room was open."""


def by_minutes(work: Work, shift_minutes: int) -> Work:
    """The same work, left whenever a shift ends or the room closes where one fixture takes longer than that.

    Parameters
    ----------
    work : Work
        Of one room.
    shift_minutes : int
        How long a shift is [min], at least 1.

    >>> by_minutes(Work("r", 1000, fixtures=2), 480).fixtures, by_minutes(Work("r", 1000, fixtures=3), 480).fixtures
    (1000, 3)
    >>> by_minutes(Work("r", 300, fixtures=2, hours=((0, 120), (0, 0))), 480).fixtures
    300
    """
    if -(-work.minutes // work.fixtures) <= work.longest(shift_minutes):
        return work
    return replace(work, fixtures=work.minutes)


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
    if any(each.hours for each in works):
        return Day(works, shift_minutes).all(steps)
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
            minutes = work.until(after) - work.until(done)
            shifts[-1].append(Piece(step.work, done, after, minutes, shift_minutes - left))
            done, left = after, left - minutes
    return [tuple(each) for each in shifts]


def _goes_in(work: Work, done: int, left: int) -> int:
    """Until before which fixture the work goes into the minutes that are left of a shift."""
    if left <= 0:
        return done
    able = ((work.until(done) + left + 1) * work.fixtures - 1) // work.minutes
    return min(work.fixtures, max(done, able))


@dataclass
class Day:
    """Shifts as they go by where some rooms are open at some hours only.

    Parameters
    ----------
    works : sequence of Work
        None with a fixture that takes longer than its room is ever open.
    shift_minutes : int
        How long a shift is [min].
    """

    works: Sequence[Work]
    shift_minutes: int
    shifts: list[list[Piece]] = field(default_factory=list)
    now: int = 0
    """Minutes of the shift that have gone by."""
    done: dict[int, int] = field(default_factory=dict)
    begun: list[int] = field(default_factory=list)
    """Works that were come to and are not done, in the order of the steps."""

    def all(self, steps: Iterable[Step]) -> list[Shift]:
        """The shifts that an order of rooms comes to."""
        waiting = list(steps)
        self._next_shift()
        while waiting or self.begun:
            if self._goes_on():
                continue
            if waiting and not (waiting[0].fresh and self.shifts[-1]) and not self._is_cut_short():
                step = waiting.pop(0)
                self.begun.append(step.work)
                self.done[step.work] = 0
            else:
                self._wait()
        while not self.shifts[-1]:
            self.shifts.pop()
        return [tuple(each) for each in self.shifts]

    def _next_shift(self) -> None:
        self.shifts.append([])
        self.now = 0

    def _open(self, at: int) -> tuple[int, int]:
        return self.works[at].open_times(len(self.shifts) - 1, self.shift_minutes)

    def _goes_on(self) -> bool:
        """Do what goes in of the first room that is open now; whether there is one."""
        for place, at in enumerate(self.begun):
            opens, closes = self._open(at)
            work, done = self.works[at], self.done[at]
            after = _goes_in(work, done, closes - self.now) if opens <= self.now else done
            if after > done:
                self._do(at, min(after, self._until_called(place)))
                return True
        return False

    def _until_called(self, place: int) -> int:
        """Until before which fixture a room is done when a room before it in order opens, and is gone on with."""
        work, done = self.works[self.begun[place]], self.done[self.begun[place]]
        openings = [opening for at in self.begun[:place] if (opening := self._opening(at)) is not None]
        if not openings:
            return work.fixtures
        wanted = work.until(done) + min(openings) - self.now
        return max(done + 1, -(-wanted * work.fixtures // work.minutes))

    def _do(self, at: int, after: int) -> None:
        work, done, shift = self.works[at], self.done[at], self.shifts[-1]
        minutes = work.until(after) - work.until(done)
        begins = self.now
        self.now, self.done[at] = self.now + minutes, after
        if shift and shift[-1].work == at:
            last = shift.pop()
            done, minutes, begins = last.first, last.minutes + minutes, last.begins
        shift.append(Piece(at, done, after, minutes, begins))
        if after == work.fixtures:
            self.begun.remove(at)

    def _is_cut_short(self) -> bool:
        """Whether a room is open on, but the shift ends before another fixture is done: no next room is begun then."""
        for at in self.begun:
            opens, closes = self._open(at)
            if opens <= self.now and closes == self.shift_minutes and self._fits(at):
                return True
        return False

    def _fits(self, at: int) -> bool:
        """Whether a room is open long enough in this shift for another fixture, had the crew come in time."""
        opens, closes = self._open(at)
        return _goes_in(self.works[at], self.done[at], closes - opens) > self.done[at]

    def _opening(self, at: int) -> int | None:
        """When a room opens later in this shift, for long enough for a fixture [min]; None: not."""
        opens, _ = self._open(at)
        return opens if opens > self.now and self._fits(at) else None

    def _wait(self) -> None:
        """Until a room opens, or for the next shift."""
        openings = [opening for at in self.begun if (opening := self._opening(at)) is not None]
        if openings and not self._is_cut_short():
            self.now = min(openings)
        else:
            self._next_shift()


def cost_of(works: Sequence[Work], shifts: Iterable[Shift]) -> Cost:
    """What an arrangement comes to.

    >>> works = [Work("a", 60, "1", frozenset({"P/3"})), Work("b", 60, "1", frozenset({"P/3"})), Work("c", 60)]
    >>> orders = [Step(0), Step(1), Step(2, fresh=True)], [Step(0), Step(2), Step(1, fresh=True)]
    >>> [tuple(cost_of(works, laid(works, order, 480))) for order in orders]
    [(2, 0, 1, 1), (2, 0, 2, 2)]
    """
    days = idle = platforms = isolations = 0
    for shift in shifts:
        days, idle = days + bool(shift), idle + (not shift)
        marks = {mark for piece in shift for mark in works[piece.work].marks}
        of_platforms = sum(what == "platform" for what, _ in marks)
        platforms, isolations = platforms + of_platforms, isolations + len(marks) - of_platforms
    return Cost(days, idle, platforms, isolations)


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
    if any(each.hours for each in works):
        if len(works) <= EXACT_WITH_HOURS:
            found = min(every_order(len(works)), key=search.cost)
    elif len(works) <= EXACT_MOST:
        found = search.exact(search.cost(found)) or found
    return laid(works, found, shift_minutes)


def every_order(rooms: int) -> Iterator[list[Step]]:
    """All orders of so many rooms, each but the first begun at once or with a shift of its own.

    Parameters
    ----------
    rooms : int
        How many [rooms].
    """
    for order in permutations(range(rooms)):
        for fresh in product((False, True), repeat=rooms - 1):
            yield [Step(at, begun) for at, begun in zip(order, (False, *fresh), strict=True)]


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
        states: dict[_State, tuple[Cost, tuple[Step, ...]]] = {_State(0, 0, frozenset()): (Cost(0, 0, 0, 0), ())}
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
        left, marks, (days, idle, platforms, isolations) = (
            state.left,
            state.marks,
            cost,
        )
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
        return _State(state.done | 1 << step.work, left, marks), Cost(days, idle, platforms, isolations)

    def _promises(self, state: _State, cost: Cost, bound: Cost) -> bool:
        """Whether what is left could still come to less than the bound: whole days for its minutes at the least."""
        rest = sum(each.minutes for at, each in enumerate(self.works) if not state.done >> at & 1)
        days = cost.days + max(0, -(-(rest - state.left) // self.shift_minutes))
        return Cost(days, cost.idle, cost.platform_days, cost.isolations) < bound


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
