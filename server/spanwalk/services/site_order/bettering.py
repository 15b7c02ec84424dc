"""A choice made better without a solver, by arrays: all changes of one unit weighed at once, and items pushed up or left.

What a change comes to is reckoned as the job's money is (`rules.site_order.sums`): whole packs at the price of that many,
spares, whole days of hire, the limits of a rebate, the meter's ratchet and the budget. Changes that touch no item in common
are made together. When no single change helps, one item after another is taken as if it cost what it does in each of its
prices by number, or as if there were none, and single changes follow from there; what comes to less is kept. Of equal
changes the first in the order of units, alternatives and names is made: one problem has one answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import ceil, inf

import numpy as np

from spanwalk.rules.fit.spares import enough_spares
from spanwalk.rules.money import energy
from spanwalk.rules.ordering import ordering
from spanwalk.rules.site_order.clusters import allowed
from spanwalk.rules.site_order.first_answer import MINUTES_A_DAY, Found
from spanwalk.rules.site_order.problem import Problem
from spanwalk.rules.site_order.sums import PARTS_OF_ONE, is_kept, told_of
from spanwalk.services.site_order.arrays import Arrays, Floats, Ints

HALF_A_CENT = 0.005
ROUNDS = 40
WEIGHED_MOST = 60_000_000
"""So many changes are weighed at most, about half a minute of a processor: the answer hangs on no clock."""
NEVER = 1e9
"""A price at which an item is taken only where nothing else can be."""
PUSHED = (0.7, 0.85, 0.95, 1.06, 1.2, 1.5)
"""Shares of its price at which an item is pushed, besides its own prices by number."""
PARTS_OF_A_STEP = PARTS_OF_ONE // 100
"""Expected misfits are looked up in hundredths."""


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


@dataclass(frozen=True)
class _Sums:
    """What a choice comes to, added up: pieces by item, misfits by key, minutes by route, and money."""

    pieces: Ints
    spare: Ints
    """Pieces that lie ready for misfits, by item."""
    expected: Floats
    sure: Floats
    minutes: Floats
    rest: float
    work: float
    asked: float
    peak: float
    saved: float
    goods: float
    had: int
    """Different items."""


@dataclass(frozen=True)
class _After:
    """Sums after each of many changes, one number a change."""

    rest: Floats
    work: Floats
    asked: Floats
    peak: Floats
    saved: Floats
    goods: Floats
    had: Floats
    hire: Floats


class _Weighing:
    """What choices, and changes of one, come to."""

    def __init__(self, arrays: Arrays) -> None:
        self.arrays, given = arrays, arrays.given
        self.given = given
        routes = sorted({unit.route for unit in given.units})
        self._route = np.array([routes.index(unit.route) for unit in given.units], dtype=np.intp)[arrays.unit]
        self._routes = len(routes)
        self._padded()
        self._priced(arrays.most_bought())
        most = max(arrays.most_misfits(), default=0.0)
        self._enough = np.array([enough_spares(step / 100) for step in range(ceil(most / PARTS_OF_A_STEP) + 2)])

    def _padded(self) -> None:
        """Items and keys of each alternative in rows of one length; what is not there takes nothing of the first."""
        arrays = self.arrays
        self.item, self.count = _rows(len(arrays.every), [(*of, n) for of, n in arrays.parts.items()])
        misfits = arrays.misfits.items()
        self._key, self._expected = _rows(len(arrays.every), [(*of, expected) for of, (expected, _) in misfits])
        _, self._sure = _rows(len(arrays.every), [(*of, float(sure)) for of, (_, sure) in misfits])
        self._key_item = np.array([arrays.number[item] for item, _ in arrays.keys], dtype=np.intp)
        self._key_count = np.array([count for _, count in arrays.keys], dtype=np.float64)

    def _priced(self, most: list[int]) -> None:
        """For each item and number that may be needed, what that comes to in whole packs."""
        tables = []
        for name, top in zip(self.arrays.names, most, strict=True):
            terms = self.given.items[name]
            size = int(terms.supply.get("pack_size", 1))
            packs = -(-np.arange(top + 1) // size)
            sums = [ordering.bought(number * size, terms)["sum"] or 0.0 for number in range(int(packs[-1]) + 1)]
            tables.append(np.array(sums)[packs] * self.arrays.of_goods)
        self._first = np.cumsum([0, *(len(table) for table in tables)])[:-1]
        self._last = np.array(most, dtype=np.intp)
        self._sum = np.concatenate(tables)

    def goods(self, item: Ints, number: Floats) -> Floats:
        """What so many of each item come to [currency]."""
        needed = np.clip(number.astype(np.intp), 0, self._last[item])
        found: Floats = self._sum[self._first[item] + needed]
        return found

    def with_spares(self, pieces: Floats) -> Floats:
        """Pieces fitted with spares for breakage."""
        more: Floats = pieces + np.ceil(np.round(pieces * self.given.spare_pct / 100, 6))
        return more

    def _ready(self, expected: Floats, sure: Floats) -> Floats:
        step = np.clip(np.round(expected / PARTS_OF_A_STEP), 0, len(self._enough) - 1).astype(np.intp)
        found: Floats = self._enough[step] + sure
        return found

    def sums(self, chosen: Ints) -> _Sums:
        """What a choice comes to."""
        arrays, items, keys = self.arrays, len(self.arrays.names), len(self.arrays.keys)
        pieces = _counted(self.item[chosen], self.count[chosen], items)
        expected = _counted(self._key[chosen], self._expected[chosen], keys)
        sure = _counted(self._key[chosen], self._sure[chosen], keys)
        ready = self._key_count * self._ready(expected, sure) if keys else np.zeros(0)
        spare = np.bincount(self._key_item, ready, items) if keys else np.zeros(items)
        needed = self.with_spares(pieces) + spare
        return _Sums(
            pieces.astype(np.intp),
            spare.astype(np.intp),
            expected,
            sure,
            _counted(self._route[chosen], arrays.minutes[chosen], self._routes),
            float(arrays.rest[chosen].sum()),
            float(arrays.work[chosen].sum()),
            float(arrays.asked[chosen].sum()),
            float(arrays.peak[chosen].sum()),
            float(arrays.saved[chosen].sum()),
            float(self.goods(np.arange(items), needed).sum()),
            int((needed > 0).sum()),
        )

    def worth(self, sums: _Sums) -> float:
        """What the sums of a choice come to [currency]; endless where they break the budget."""
        hire = float(self._days(sums.minutes).sum()) * self.arrays.hire_per_day
        every = (sums.rest, sums.work, sums.asked, sums.peak, sums.saved, sums.goods, float(sums.had), hire)
        return float(self._worth(_After(*(np.array([each]) for each in every)))[0])

    @staticmethod
    def _days(minutes: Floats) -> Floats:
        days: Floats = np.ceil(np.maximum(0.0, np.round(minutes, 6)) / MINUTES_A_DAY)
        return days

    def _worth(self, after: _After) -> Floats:
        given, limits = self.given, self.given.limits
        cost = after.work + after.goods + after.hire
        rebate = after.asked if limits.cap_share is None else np.minimum(after.asked, limits.cap_share * cost)
        rebate = rebate if limits.most is None else np.minimum(rebate, limits.most)
        short: Floats = np.zeros(len(cost))
        if limits.ratchet_share is not None and given.demand_kw_month:
            old = after.peak if limits.meter_peak_kw is None else np.maximum(limits.meter_peak_kw, after.peak)
            over = np.maximum(limits.ratchet_share * old - (old - after.saved), 0.0)
            short = over * given.demand_kw_month * energy.COUNTED_MONTHS / (1 + given.discount_share)
        worth: Floats = after.rest + cost - rebate + short + given.rules.each_item * after.had
        if given.rules.budget is not None:
            worth[cost > given.rules.budget + HALF_A_CENT] = inf
        return worth

    def changed(self, chosen: Ints, sums: _Sums) -> Floats:
        """What each alternative would change if its unit took it instead of what it takes now [currency]."""
        arrays, now = self.arrays, chosen[self.arrays.unit]
        item, more = _together(self.item, self.count, now)
        ready = self._readied(now, sums, item) if self.arrays.keys else 0.0
        before: Floats = sums.pieces[item].astype(np.float64)
        spare = sums.spare[item]
        had = self.with_spares(before) + spare
        has = self.with_spares(before + more) + spare + ready
        goods = (self.goods(item, has) - self.goods(item, had)).sum(axis=1)
        items = ((has > 0).astype(np.intp) - (had > 0)).sum(axis=1)
        minutes = sums.minutes[self._route]
        days = self._days(minutes + arrays.minutes - arrays.minutes[now]) - self._days(minutes)
        hire = float(self._days(sums.minutes).sum()) + days

        def followed(total: float, of: Floats) -> Floats:
            moved: Floats = total + of - of[now]
            return moved

        after = _After(
            followed(sums.rest, arrays.rest),
            followed(sums.work, arrays.work),
            followed(sums.asked, arrays.asked),
            followed(sums.peak, arrays.peak),
            followed(sums.saved, arrays.saved),
            sums.goods + goods,
            sums.had + items.astype(np.float64),
            hire * self.arrays.hire_per_day,
        )
        now_worth = self.worth(sums)
        found: Floats = self._worth(after) - (0.0 if now_worth == inf else now_worth)
        found[chosen] = 0.0
        return found

    def _readied(self, now: Ints, sums: _Sums, item: Ints) -> Floats:
        """How many more pieces lie ready for misfits, in the rows of items."""
        key, expected = _together(self._key, self._expected, now)
        _, sure = _together(self._key, self._sure, now)
        ready = self._ready(sums.expected[key] + expected, sums.sure[key] + sure)
        ready -= self._ready(sums.expected[key], sums.sure[key])
        ready *= self._key_count[key]
        found = np.zeros(item.shape)
        for column in range(key.shape[1]):
            open_ = ready[:, column] != 0
            for at in range(item.shape[1]):
                is_its = open_ & (item[:, at] == self._key_item[key[:, column]])
                found[is_its, at] += ready[is_its, column]
                open_ &= ~is_its
        return found


def _rows(rows: int, entries: list[tuple[int, int, float]]) -> tuple[Ints, Floats]:
    """Entries (row, column's number, value) as rows of one length; no entry is the number 0 with the value 0."""
    lengths = np.bincount([row for row, _, _ in entries], minlength=rows) if entries else np.zeros(rows, dtype=int)
    width = max(1, int(lengths.max(initial=0)))
    numbers, values = np.zeros((rows, width), dtype=np.intp), np.zeros((rows, width))
    filled = [0] * rows
    for row, number, value in entries:
        numbers[row, filled[row]], values[row, filled[row]] = number, value
        filled[row] += 1
    return numbers, values


def _counted(numbers: Ints, values: Floats, many: int) -> Floats:
    counted: Floats = np.bincount(numbers.ravel(), values.ravel(), many)[:many].astype(np.float64)
    return counted


def _together(numbers: Ints, values: Floats, now: Ints) -> tuple[Ints, Floats]:
    """What alternatives take more than those taken now; one number stands in a row but once, except with nothing."""
    more, less = values.copy(), -values[now]
    width = numbers.shape[1]
    of_now = numbers[now]
    for old in range(width):
        for new in range(width):
            same = (numbers[:, new] == of_now[:, old]) & (less[:, old] != 0)
            # A row without a value may have the number of one that has: only where nothing is added does it not matter.
            more[same, new] += less[same, old]
            less[same, old] = 0.0
    return np.concatenate([numbers, of_now], axis=1), np.concatenate([more, less], axis=1)


class _Bettering:
    """A choice as it is made better."""

    def __init__(self, arrays: Arrays, chosen: Ints, goes_on: Callable[[], bool]) -> None:
        self._arrays, self._goes_on = arrays, goes_on
        self._weighing, self._left = _Weighing(arrays), WEIGHED_MOST
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
                its.add(("route", int(weighing._route[at])))
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
