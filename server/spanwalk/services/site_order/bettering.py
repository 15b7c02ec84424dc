"""A choice made better without a solver, by arrays: all changes of one unit weighed at once, and items pushed up or left.

What a change comes to is reckoned as the job's money is (`rules.site_order.sums`): whole packs at the price of that many,
spares, whole days of hire, the limits of a rebate, the meter's ratchet and the budget. Changes that touch no item in common
are made together. When no single change helps, one item after another is taken as if it cost what it does in each of its
prices by number, or as if there were none, and single changes follow from there; what comes to less is kept. Of equal
changes the first in the order of units, alternatives and names is made: one problem has one answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from spanwalk.rules.ordering import ordering
from spanwalk.rules.site_order.clusters import allowed
from spanwalk.rules.site_order.first_answer import MINUTES_A_DAY, Found
from spanwalk.rules.site_order.problem import Problem
from spanwalk.rules.site_order.sums import is_kept, told_of
from spanwalk.services.site_order.arrays import Arrays, Ints
from spanwalk.services.site_order.changed_sums import HALF_A_CENT, Weighing

ROUNDS = 40
WEIGHED_MOST = 60_000_000
"""So many changes are weighed at most, about half a minute of a processor: the answer hangs on no clock."""
NEVER = 1e9
"""A price at which an item is taken only where nothing else can be."""
PUSHED = (0.7, 0.85, 0.95, 1.06, 1.2, 1.5)
"""Shares of its price at which an item is pushed, besides its own prices by number."""


def bettered(given: Problem, found: Found, goes_on: Callable[[], bool] = lambda: True) -> Found:
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
    arrays = Arrays(given, [allowed(unit) for unit in given.units])
    chosen = arrays.chosen(found.choice)
    if chosen is None:
        return found
    better = arrays.choice(_Bettering(arrays, chosen, goes_on).run())
    told = told_of(given, better)
    return min(found, Found(better, told), key=lambda each: each.rank) if is_kept(given, better, told) else found


class _Bettering:
    """A choice as it is made better."""

    def __init__(self, arrays: Arrays, chosen: Ints, goes_on: Callable[[], bool]) -> None:
        self._arrays, self._goes_on = arrays, goes_on
        self._weighing, self._left = Weighing(arrays), WEIGHED_MOST
        self._chosen = chosen
        self._worth = self._weighing.worth(self._weighing.sums(chosen))
        limits, rules = arrays.given.limits, arrays.given.rules
        self._one_at_a_time = (
            limits.cap_share is not None
            or limits.most is not None
            or limits.ratchet_share is not None
            or rules.budget is not None
        )

    def run(self) -> Ints:
        """The best choice in the time, as alternatives by their numbers."""
        self._take(self._descended(self._chosen))
        for _ in range(ROUNDS):
            before = self._worth
            for item in range(len(self._arrays.names)):
                for price in self._prices_of(item):
                    if not self._has_time():
                        return self._chosen
                    pushed = self._pushed(item, price)
                    if pushed is not None:
                        self._take(self._descended(pushed))
            if self._worth > before - HALF_A_CENT:
                break
        return self._chosen

    def _has_time(self) -> bool:
        return self._left > 0 and self._goes_on()

    def _take(self, chosen: Ints) -> None:
        worth = self._weighing.worth(self._weighing.sums(chosen))
        if worth < self._worth - HALF_A_CENT:
            self._chosen, self._worth = chosen, worth

    def _descended(self, chosen: Ints) -> Ints:
        """Single changes made as long as one helps."""
        chosen = chosen.copy()
        while self._has_time():
            self._left -= len(self._arrays.every)
            changed = self._weighing.changed(chosen, self._weighing.sums(chosen))
            better = np.flatnonzero(changed < -HALF_A_CENT)
            if not len(better):
                break
            for at in self._apart(chosen, better[np.lexsort((better, changed[better]))]):
                chosen[self._arrays.unit[at]] = at
        return chosen

    def _apart(self, chosen: Ints, better: Ints) -> Iterator[int]:
        """The best changes that have no item, route or unit in common: each helps by as much as if it were alone."""
        if self._one_at_a_time:
            yield int(better[0])
            return
        touched: set[tuple[str, int]] = set()
        weighing, arrays = self._weighing, self._arrays
        for at in better.tolist():
            unit = int(arrays.unit[at])
            now = int(chosen[unit])
            its = {("item", int(item)) for each in (at, now) for item in weighing.item[each].tolist()}
            its.add(("unit", unit))
            if arrays.minutes[at] != arrays.minutes[now]:
                its.add(("route", int(weighing.route[at])))
            if touched.isdisjoint(its):
                touched |= its
                yield at

    def _prices_of(self, item: int) -> Iterator[float]:
        """Prices of one piece, the lowest first; never at last."""
        price = self._arrays.given.items[self._arrays.names[item]].price
        starts = [1, *(int(price[start]) for start, each in ordering.BREAKS if start in price and each in price)]
        found = {each for start in starts if (each := ordering.price_at(price, start)) is not None}
        found |= {round(min(found) * share, 4) for share in PUSHED} if found else set()
        yield from sorted(found)
        yield NEVER

    def _pushed(self, item: int, price: float) -> Ints | None:
        """What units that may use an item take at a price of it, the others' as they are bought now; None: nothing else."""
        weighing, arrays = self._weighing, self._arrays
        sums = weighing.sums(self._chosen)
        needed = weighing.with_spares(sums.pieces.astype(np.float64)) + sums.spare
        prices = np.array([self._price(name, int(number)) for name, number in zip(arrays.names, needed, strict=True)])
        prices[item] = price
        prices *= (1 + arrays.given.spare_pct / 100) * arrays.of_goods
        hire = arrays.hire_per_day / MINUTES_A_DAY
        own = arrays.rest + arrays.work - arrays.asked + arrays.minutes * hire
        own = own + (weighing.count * prices[weighing.item]).sum(axis=1)
        uses = ((weighing.item == item) & (weighing.count > 0)).any(axis=1)
        free = np.zeros(len(arrays.given.units), dtype=bool)
        free[arrays.unit[uses]] = True
        least = np.minimum.reduceat(own, arrays.starts)
        at_least = np.flatnonzero(own == least[arrays.unit])
        units = arrays.unit[at_least]
        first = at_least[np.append(True, units[1:] != units[:-1])]
        pushed = np.where(free, first, self._chosen)
        return None if (pushed == self._chosen).all() else pushed

    def _price(self, name: str, number: int) -> float:
        return ordering.price_at(self._arrays.given.items[name].price, max(1, number)) or 0.0


__all__ = ["bettered"]
