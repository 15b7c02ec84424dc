"""A choice made better step by step, without a solver: one unit at a time, and items pushed to a price by number or left.

Each step is looked for by what it changes of the items it touches, and taken only if the job's own money is less by it. Of
equal steps the first in the order of units, alternatives and names is taken, so that one problem has one answer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping

from spanwalk.rules.fit.spares import enough_spares, for_breakage
from spanwalk.rules.money import money
from spanwalk.rules.ordering import ordering
from spanwalk.rules.site_order.clusters import allowed
from spanwalk.rules.site_order.first_answer import MINUTES_A_DAY, Found
from spanwalk.rules.site_order.problem import Alternative, Problem
from spanwalk.rules.site_order.sums import PARTS_OF_ONE, Running, Told, told_of

HALF_A_CENT = 0.005
ROUNDS = 40
MOVED_MOST = 400
"""Units that are moved at once and followed by others; with more, the first of them would never pay for a turn of all."""
NEVER = 1e9
"""A price at which an item is taken only where nothing else can be."""


def improved(given: Problem, found: Found, goes_on: Callable[[], bool] = lambda: True) -> Found:
    """A choice no worse than one that is at hand, which keeps to the rules too.

    Where looks are to be the same in a room, or all of one colour, units are not free to change one by one: the choice comes
    back as it is.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    found : Found
        A choice that keeps to the rules.
    goes_on : callable
        Asked between steps whether there is time for more.
    """
    if given.rules.same_look or given.rules.one_colour:
        return found
    improving = _Improving(given, found, goes_on)
    for _ in range(ROUNDS):
        before = improving.worth
        improving.one_by_one()
        improving.item_by_item()
        if not goes_on() or improving.worth > before - HALF_A_CENT:
            break
    return improving.found()


class _Improving:
    """A choice as it is made better."""

    def __init__(self, given: Problem, found: Found, goes_on: Callable[[], bool]) -> None:
        self._given, self._goes_on = given, goes_on
        self._running = Running(given, list(found.choice))
        self._told: Told = self._running.told()
        self._may = [allowed(unit) for unit in given.units]
        self._users: dict[str, list[int]] = defaultdict(list)
        self._misfits: dict[str, set[tuple[str, int]]] = defaultdict(set)
        for place, unit in enumerate(given.units):
            every = [unit.alternatives[at] for at in self._may[place]]
            for item in sorted({item for each in every for item, _ in each.parts}):
                self._users[item].append(place)
            for short in (short for each in every for short in each.short):
                self._misfits[short.item].add((short.item, short.count))

    @property
    def worth(self) -> float:
        """What it comes to now [currency]."""
        return self._told.worth

    def found(self) -> Found:
        """The choice as it is now, reckoned from nothing."""
        choice = tuple(self._running.choice)
        return Found(choice, told_of(self._given, choice))

    def one_by_one(self) -> None:
        """Give each unit another alternative where that comes to less, as long as one does."""
        while self._descend(range(len(self._may))) and self._goes_on():
            pass

    def _descend(self, places: Iterable[int]) -> bool:
        """Go through units once; whether any was changed."""
        gained = False
        for place in places:
            best = min(((self._change(place, at), at) for at in self._others(place)), default=(0.0, -1))
            if best[0] < -HALF_A_CENT and self._take({place: best[1]}):
                gained = True
        return gained

    def item_by_item(self) -> None:
        """Choose the units that may use an item anew, as if it cost what it does in each of its prices by number, or at none."""
        for item in sorted(self._users):
            for price in self._prices_of(item):
                if not self._goes_on():
                    return
                moves = dict(self._moves(item, price))
                if moves and not self._take(moves):
                    self._take_with_what_follows(item, moves)

    def _take_with_what_follows(self, item: str, moves: Mapping[int, int]) -> None:
        """Make moves, then let the units that share items with them change one by one; take all back where it comes to no less."""
        if len(moves) > MOVED_MOST:
            return
        before, told = list(self._running.choice), self._told
        touched = {
            of
            for place in moves
            for at in self._may[place]
            for of, _ in self._given.units[place].alternatives[at].parts
        }
        for place, at in moves.items():
            self._running.change(place, at)
        self._told = self._running.told()
        self._descend(sorted({place for of in touched for place in self._users[of]}))
        if self._told.worth >= told.worth - HALF_A_CENT or not self._keeps():
            for place, at in enumerate(before):
                if self._running.choice[place] != at:
                    self._running.change(place, at)
            self._told = told

    def _keeps(self) -> bool:
        budget = self._given.rules.budget
        return budget is None or self._told.cost <= budget + HALF_A_CENT

    def _others(self, place: int) -> Iterator[int]:
        return (at for at in self._may[place] if at != self._running.choice[place])

    def _take(self, moves: Mapping[int, int]) -> bool:
        """Make moves if the job's money is less by them and they keep to the budget."""
        before = {place: self._running.choice[place] for place in moves}
        for place, at in moves.items():
            self._running.change(place, at)
        was, self._told = self._told, self._running.told()
        if self._told.worth < was.worth - HALF_A_CENT and self._keeps():
            return True
        self._told = was
        for place, at in before.items():
            self._running.change(place, at)
        return False

    # -- what a change of one unit comes to, limits of the job apart

    def _change(self, place: int, at: int) -> float:
        unit, running, given = self._given.units[place], self._running, self._given
        before, after = unit.alternatives[running.choice[place]], unit.alternatives[at]
        pieces: dict[str, int] = defaultdict(int)
        for sign, each in ((-1, before), (1, after)):
            for item, count in each.parts:
                pieces[item] += sign * count
        found = _own(after) - _own(before)
        for item, more in pieces.items():
            if more:
                found += self._sum_of(item, running.pieces[item] + more) - self._sum_of(item, running.pieces[item])
        if before.minutes != after.minutes and given.hire_per_day and unit.route in running.routes:
            minutes = running.routes[unit.route].minutes
            days = money.hire_days(max(0.0, round(minutes + after.minutes - before.minutes, 6)))
            found += (days - money.hire_days(max(0.0, round(minutes, 6)))) * given.hire_per_day
        return found

    def _sum_of(self, item: str, pieces: int) -> float:
        """What so many pieces of an item come to with spares, in whole packs, and what it costs to have the item at all."""
        given, running = self._given, self._running
        number = pieces + for_breakage(pieces, given.spare_pct) if pieces else 0
        for at in self._misfits.get(item, ()):
            expected = max(0.0, round(running.expected[at] / PARTS_OF_ONE, 2))
            number += at[1] * (enough_spares(expected) + running.sure[at])
        if not number:
            return 0.0
        return (ordering.bought(number, given.items[item])["sum"] or 0.0) + given.rules.each_item

    # -- items

    def _prices_of(self, item: str) -> list[float | None]:
        """Prices of one piece, the lowest first; None: as if there were none."""
        price = self._given.items[item].price
        starts = [1, *(int(price[start]) for start, each in ordering.BREAKS if start in price and each in price)]
        found = {each for start in starts if (each := ordering.price_at(price, start)) is not None}
        return [*sorted(found), None]

    def _moves(self, item: str, price: float | None) -> Iterator[tuple[int, int]]:
        """What each unit that may use an item takes at a price of it, the others' as they are bought now."""
        needed = self._running.needed()
        more = 1 + self._given.spare_pct / 100
        each_of = {
            id: (ordering.price_at(terms.price, needed.get(id, 1)) or 0.0) * more
            for id, terms in self._given.items.items()
        }
        of_minute = self._given.hire_per_day / MINUTES_A_DAY

        def worth(each: Alternative) -> float:
            goods = sum(
                count * (each_of[of] if of != item else (NEVER if price is None else price * more))
                for of, count in each.parts
            )
            return _own(each) + goods + each.minutes * of_minute

        for place in self._users[item]:
            alternatives = self._given.units[place].alternatives
            best = min(self._may[place], key=lambda at: (worth(alternatives[at]), at))
            if best != self._running.choice[place]:
                yield place, best


def _own(each: Alternative) -> float:
    """What an alternative comes to apart from items and hire."""
    return each.rest + (0.0 if each.is_left else each.work - each.rebate_asked)


__all__ = ["improved"]
