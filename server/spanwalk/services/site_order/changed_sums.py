"""What a choice comes to, and what each single change of it would, by arrays: as the job's money is reckoned (`rules.site_order.sums`).

Whole packs at the price of that many, spares, whole days of hire, the limits of a rebate, the meter's ratchet and the budget are
in it; what is paid once is not, for no single change saves it, and days of travel and containers count by their parts.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, inf

import numpy as np

from spanwalk.rules.fit.spares import enough_spares
from spanwalk.rules.money import energy
from spanwalk.rules.ordering import ordering
from spanwalk.rules.site_order.first_answer import MINUTES_A_DAY
from spanwalk.rules.site_order.sums import PARTS_OF_ONE
from spanwalk.services.site_order.arrays import Arrays, Floats, Ints

HALF_A_CENT = 0.005
PARTS_OF_A_STEP = PARTS_OF_ONE // 100
"""Expected misfits are looked up in hundredths."""


@dataclass(frozen=True)
class Sums:
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
class After:
    """Sums after each of many changes, one number a change."""

    rest: Floats
    work: Floats
    asked: Floats
    peak: Floats
    saved: Floats
    goods: Floats
    had: Floats
    hire: Floats


class Weighing:
    """What choices, and changes of one, come to."""

    def __init__(self, arrays: Arrays) -> None:
        self.arrays, given = arrays, arrays.given
        self.given = given
        routes = sorted({unit.route for unit in given.units})
        self.route = np.array([routes.index(unit.route) for unit in given.units], dtype=np.intp)[arrays.unit]
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

    def sums(self, chosen: Ints) -> Sums:
        """What a choice comes to."""
        arrays, items, keys = self.arrays, len(self.arrays.names), len(self.arrays.keys)
        pieces = _counted(self.item[chosen], self.count[chosen], items)
        expected = _counted(self._key[chosen], self._expected[chosen], keys)
        sure = _counted(self._key[chosen], self._sure[chosen], keys)
        ready = self._key_count * self._ready(expected, sure) if keys else np.zeros(0)
        spare = np.bincount(self._key_item, ready, items) if keys else np.zeros(items)
        needed = self.with_spares(pieces) + spare
        return Sums(
            pieces.astype(np.intp),
            spare.astype(np.intp),
            expected,
            sure,
            _counted(self.route[chosen], arrays.minutes[chosen], self._routes),
            float(arrays.rest[chosen].sum()),
            float(arrays.work[chosen].sum()),
            float(arrays.asked[chosen].sum()),
            float(arrays.peak[chosen].sum()),
            float(arrays.saved[chosen].sum()),
            float(self.goods(np.arange(items), needed).sum()),
            int((needed > 0).sum()),
        )

    def worth(self, sums: Sums) -> float:
        """What the sums of a choice come to [currency]; endless where they break the budget."""
        hire = float(self._days(sums.minutes).sum()) * self.arrays.hire_per_day
        every = (sums.rest, sums.work, sums.asked, sums.peak, sums.saved, sums.goods, float(sums.had), hire)
        return float(self._worth(After(*(np.array([each]) for each in every)))[0])

    @staticmethod
    def _days(minutes: Floats) -> Floats:
        days: Floats = np.ceil(np.maximum(0.0, np.round(minutes, 6)) / MINUTES_A_DAY)
        return days

    def _worth(self, after: After) -> Floats:
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

    def changed(self, chosen: Ints, sums: Sums) -> Floats:
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
        minutes = sums.minutes[self.route]
        days = self._days(minutes + arrays.minutes - arrays.minutes[now]) - self._days(minutes)
        hire = float(self._days(sums.minutes).sum()) + days

        def followed(total: float, of: Floats) -> Floats:
            moved: Floats = total + of - of[now]
            return moved

        after = After(
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

    def _readied(self, now: Ints, sums: Sums, item: Ints) -> Floats:
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


__all__ = ["HALF_A_CENT", "Sums", "Weighing"]
