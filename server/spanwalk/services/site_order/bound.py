"""What no choice for a site goes below, soon and without a solver, and good choices on the way.

Each item gets a price of its own (a multiplier of Lagrange). At such prices every unit takes what is cheapest for it, and of
every item that number is bought which is best at its price, all its prices by number and what the item costs to have at all
among them. What the two come to together is no more than any choice does, whatever the prices: so a slip in them costs
sharpness, never truth. Prices then move by what units take more than is bought.

A limit of the rebate, a budget and the meter's ratchet are multipliers too; hire counts by the minute; spares and packs may be
parts. Sums are made in one order, so that threads do not change them.

References
----------
.. [1] M. Held, P. Wolfe, H. P. Crowder, Validation of subgradient optimization, Mathematical Programming 6 (1974), 62-88
   (from memory); the step is Polyak's (1969), towards the best choice known.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from math import ceil, floor, inf

import numpy as np

from spanwalk.rules.money import energy
from spanwalk.rules.site_order.clusters import allowed
from spanwalk.rules.site_order.first_answer import MINUTES_A_DAY, Found
from spanwalk.rules.site_order.problem import Choice, Problem
from spanwalk.rules.site_order.sums import is_kept, told_of
from spanwalk.services.site_order.arrays import Arrays, Floats, Ints, colours_of
from spanwalk.services.site_order.columns import CENTS
from spanwalk.services.site_order.looks import Cheapest, looks_of
from spanwalk.services.site_order.model import may_be_left, peaks_of
from spanwalk.services.site_order.model_items import step_ends, tiers_of

ROUNDS = 600
"""Steps of the prices at most."""
PATIENCE = 12
"""So many steps without a higher bound, and the step is halved."""
LEAST_STEP = 0.004
KEPT = 6
"""Choices on the way of which the job's own money is reckoned."""
HALF_A_CENT = 0.005
"""By so much a cost may be over the budget, for floats (`sums.is_kept`) [currency]."""
SAFE_CENT = 0.01
"""Taken off the bound for what floats lose, and for the rebate and the first year, which are rounded to the cent [currency]."""
LINES = 7
"""Lines of a job's cost, without those of what groups share."""


@dataclass(frozen=True)
class Bounded:
    """A bound [currency], the good choices met on the way, and the prices of items at it [currency]."""

    bound: float
    found: tuple[Found, ...]
    prices: Mapping[str, float]


def rounding_of(given: Problem) -> float:
    """By how much a job may cost less than its parts do, for each line of its cost is rounded to the cent [currency].

    Goods, labour, hire, disposal, mobilisation, permit, tax and what groups share are lines of their own; permit and tax are
    shares of what is rounded already. Without charges no line is: work and prices are in cents.
    """
    charges = given.charges
    if charges.is_none:
        return 0.0
    lines = LINES + len(charges.shared)
    return HALF_A_CENT * lines * (1 + charges.permit_share) * (1 + charges.tax_share)


def bounded(given: Problem, best: Found | None, goes_on: Callable[[], bool] = lambda: True) -> Bounded | None:
    """A bound for all choices that keep to the rules.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    best : Found or None
        The best choice known; it says how far steps go.
    goes_on : callable
        Asked at each step whether there is time for more.

    Returns
    -------
    Bounded or None
        None where no choice keeps to the rules about looks and colours.
    """
    colours: list[str | None] = [None]
    if given.rules.one_colour:
        colours = [*colours_of(given.units)] or colours
    every = [found for colour in colours if (found := _of_colour(given, colour, best, goes_on)) is not None]
    if not every:
        return None
    lowest = min(every, key=lambda each: each.bound)
    bound = _with_what_is_paid_once(given, lowest.bound)
    return Bounded(bound, tuple(found for each in every for found in each.found), lowest.prices)


def _with_what_is_paid_once(given: Problem, bound: float) -> float:
    """A bound with mobilisation and the permit's sum: whatever is converted pays them, and they may raise a rebate's limit."""
    share = given.limits.cap_share or 0.0
    raised = bound - rounding_of(given) + max(0.0, 1 - share) * given.charges.once
    left = [next((at for at in allowed(unit) if unit.alternatives[at].is_left), None) for unit in given.units]
    nothing = tuple(at for at in left if at is not None)
    if not given.charges.once or len(nothing) < len(left):
        return _down(raised)
    return _down(min(raised, told_of(given, nothing).worth))


def _down(value: float) -> float:
    """A bound to the cent, never above itself."""
    return floor(value * CENTS) / CENTS


def _of_colour(given: Problem, colour: str | None, best: Found | None, goes_on: Callable[[], bool]) -> Bounded | None:
    may = [
        [
            at
            for at in allowed(unit)
            if colour is None or unit.alternatives[at].is_left or unit.alternatives[at].colour == colour
        ]
        for unit in given.units
    ]
    if not all(may):
        return None
    at_prices = _AtPrices(Arrays(given, may))
    return None if at_prices.is_in_the_way else _Raising(at_prices, best, goes_on).run()


@dataclass(frozen=True)
class _Multipliers:
    """Prices of items [currency a piece]; the shares of the rebate's three limits, which make one; of budget and ratchet."""

    items: Floats
    limits: Floats
    budget: float = 0.0
    ratchet: float = 0.0


@dataclass(frozen=True)
class _Taken:
    """What is cheapest at some multipliers: the bound, alternatives chosen, and by how much each multiplier should rise."""

    bound: float
    chosen: Ints
    items: Floats
    limits: Floats
    budget: float
    ratchet: float
    needed: Floats


class _AtPrices:
    """All alternatives as arrays: which is cheapest at some prices, and what that comes to."""

    def __init__(self, arrays: Arrays) -> None:
        self.arrays, given = arrays, arrays.given
        self.given, self.names = given, arrays.names
        hire = arrays.hire_per_day / MINUTES_A_DAY
        self.rest, self.asked = arrays.rest, arrays.asked
        self.paid = arrays.work + arrays.minutes * hire
        self._ratcheted()
        self._needs()
        self._sold()
        self._cheapest: Cheapest | None = looks_of(given, arrays.places)

    @property
    def is_in_the_way(self) -> bool:
        """Whether some room can look no one way."""
        return self._cheapest is None

    def _ratcheted(self) -> None:
        limits, price, arrays = self.given.limits, self.given.demand_kw_month, self.arrays
        self.lacks, self.lacks_less = np.zeros(len(arrays.rest)), 0.0
        if limits.ratchet_share is None or not price:
            return
        factor = price * energy.COUNTED_MONTHS / (1 + self.given.discount_share)
        left, meter = 1 - limits.ratchet_share, limits.meter_peak_kw
        if meter is not None and meter >= peaks_of(self.given):
            self.lacks, self.lacks_less = arrays.saved * factor, left * meter * factor
        elif meter is None or not may_be_left(self.given):
            self.lacks = (arrays.saved - left * arrays.peak) * factor

    def _needs(self) -> None:
        """Which alternative takes how many of which item, spares as parts: on a line below the steps they are bought in."""
        arrays, more = self.arrays, 1 + self.given.spare_pct / 100
        slopes = [_slope(parts) for parts in arrays.most_misfits()]
        found = {of: count * more for of, count in arrays.parts.items()}
        for (at, key), (expected, sure) in arrays.misfits.items():
            item, count = arrays.keys[key]
            found[at, arrays.number[item]] += count * (sure + expected * slopes[key])
        self.of = np.array([at for at, _ in found], dtype=np.intp)
        self.item = np.array([item for _, item in found], dtype=np.intp)
        self.count = np.array(list(found.values()), dtype=np.float64)

    def _sold(self) -> None:
        """Numbers at which an item may be best bought: none, and the least and the most at each price."""
        points = [self._points(name, most) for name, most in zip(self.names, self.arrays.most_bought(), strict=True)]
        widest = max((len(each) for each in points), default=1)
        padded = [each + [(0.0, 0.0)] * (widest - len(each)) for each in points]
        table = np.array(padded, dtype=np.float64).reshape(len(self.names), widest, 2)
        self.bought, self.sums = table[:, :, 0], table[:, :, 1]
        self.had = np.where(self.bought > 0, self.given.rules.each_item, 0.0)

    def _points(self, name: str, most: int) -> list[tuple[float, float]]:
        terms = self.given.items[name]
        size = int(terms.supply.get("pack_size", 1))
        packs = ceil(most / size)
        found = [(0.0, 0.0)]
        for start, end, each in tiers_of(terms):
            least = max(1, -(-start // size))
            top = packs if end is None else min(packs, end // size)
            if top >= least:
                found += [
                    (float(number * size), number * size * each * self.arrays.of_goods) for number in (least, top)
                ]
        return found

    def take(self, at: _Multipliers) -> _Taken:
        """What is cheapest at some multipliers."""
        limits, rules = self.given.limits, self.given.rules
        share, most = limits.cap_share or 0.0, limits.most or 0.0
        scale = 1 + at.budget - at.limits[1] * share
        own = self.rest + scale * self.paid - at.limits[0] * self.asked + at.ratchet * self.lacks
        own += np.bincount(self.of, self.count * at.items[self.item], len(own))
        assert self._cheapest is not None
        total, chosen = self._cheapest.of(own)
        worth = scale * self.sums + self.had - at.items[:, None] * self.bought
        best = worth.argmin(axis=1)
        rows = np.arange(len(self.names))
        is_chosen = np.zeros(len(own), dtype=bool)
        is_chosen[chosen] = True
        used = is_chosen[self.of]
        needed: Floats = np.bincount(self.item[used], self.count[used], len(self.names)).astype(np.float64)
        paid = float(self.paid[chosen].sum() + self.sums[rows, best].sum())
        budget = 0.0 if rules.budget is None else rules.budget + HALF_A_CENT
        bound = total + float(worth[rows, best].sum()) - at.limits[2] * most
        bound -= at.budget * budget + at.ratchet * self.lacks_less
        towards = np.array([-float(self.asked[chosen].sum()), -share * paid, -most])
        lacks = float(self.lacks[chosen].sum()) - self.lacks_less
        return _Taken(bound, chosen, needed - self.bought[rows, best], towards, paid - budget, lacks, needed)

    def nearly(self, taken: _Taken) -> float:
        """About what a choice comes to: whole packs, the rest as parts [currency]."""
        chosen, goods = taken.chosen, 0.0
        for at, number in enumerate(taken.needed):
            if number > 0:
                goods += self._bought(self.names[at], ceil(number - 1e-9))
        paid = float(self.paid[chosen].sum()) + goods
        asked, limits = float(self.asked[chosen].sum()), self.given.limits
        capped = min(asked, inf if limits.cap_share is None else limits.cap_share * paid)
        rebate = capped if limits.most is None else min(capped, limits.most)
        each = self.given.rules.each_item * int((taken.needed > 0).sum())
        return float(self.rest[chosen].sum()) + paid - rebate + max(0.0, taken.ratchet) + each

    def _bought(self, name: str, number: int) -> float:
        terms = self.given.items[name]
        size = int(terms.supply.get("pack_size", 1))
        pieces = -(-number // size) * size
        each_costs = self.arrays.of_goods
        return next(
            (pieces * each * each_costs for start, _, each in reversed(tiers_of(terms)) if start <= pieces), inf
        )


def _slope(parts: float) -> float:
    ends = step_ends(parts) if parts > 0 else []
    return min((number / end for number, end in enumerate(ends) if number), default=0.0)


class _Raising:
    """Prices moved so that the bound rises."""

    def __init__(self, at_prices: _AtPrices, best: Found | None, goes_on: Callable[[], bool]) -> None:
        self._at, self._best, self._goes_on = at_prices, best, goes_on
        self._good: dict[Choice, float] = {}
        limits = at_prices.given.limits
        self._limits = np.array([True, limits.cap_share is not None, limits.most is not None])

    def run(self) -> Bounded:
        """The highest bound that was found."""
        at = self._start()
        taken = self._at.take(at)
        best, held, step, waited = taken, at, 1.0, 0
        scales = self._scales(taken, at)
        last = self._scaled(taken, scales)
        for _ in range(ROUNDS):
            self._notice(taken)
            if step < LEAST_STEP or not self._goes_on():
                break
            way = self._scaled(taken, scales)
            last = 0.7 * way + 0.3 * last
            length = float((last * last).sum())
            if length < 1e-12:
                break
            far = step * max(self._above() - taken.bound, 1e-6 * abs(taken.bound)) / length
            at = self._moved(at, far * last * scales)
            taken = self._at.take(at)
            waited += 1
            if taken.bound > best.bound + 1e-7 * abs(best.bound):
                best, held, waited = taken, at, 0
            if waited >= PATIENCE:
                step, waited, at, taken = step / 2, 0, held, best
                last = self._scaled(taken, scales)
        prices = dict(zip(self._at.names, (float(price) for price in held.items), strict=True))
        return Bounded(float(best.bound) - SAFE_CENT, tuple(self._reckoned()), prices)

    def _start(self) -> _Multipliers:
        """The price of one piece at the highest number that may be bought; no limit of a rebate holds."""
        at, bought = self._at, self._at.bought
        each = np.where(bought > 0, at.sums / np.maximum(bought, 1.0), inf).min(axis=1, initial=inf)
        return _Multipliers(np.where(np.isfinite(each), each, 0.0), np.array([1.0, 0.0, 0.0]))

    def _scales(self, taken: _Taken, at: _Multipliers) -> Floats:
        """How far each multiplier goes beside the others: as far as its own curve is flat."""
        number = np.maximum(taken.needed, 1.0)
        items = np.sqrt(np.maximum(at.items, 0.01) / number)
        asked = np.sqrt(1 / max(1.0, -float(taken.limits[0])))
        paid = max(1.0, float(self._at.paid[taken.chosen].sum()))
        budget = np.sqrt(1 / paid) if self._at.given.rules.budget is not None else 0.0
        lacks = np.sqrt(1 / max(1.0, float(np.abs(self._at.lacks).sum()))) if self._at.lacks.any() else 0.0
        return np.concatenate([items, asked * self._limits, [budget, lacks]])

    @staticmethod
    def _scaled(taken: _Taken, scales: Floats) -> Floats:
        way: Floats = np.concatenate([taken.items, taken.limits, [taken.budget, taken.ratchet]]) * scales
        return way

    def _moved(self, at: _Multipliers, by: Floats) -> _Multipliers:
        limits = at.limits.copy()
        # A limit that there is not must not hold: its share stays nothing.
        limits[self._limits] = _shares(limits[self._limits] + by[-5:-2][self._limits])
        return _Multipliers(
            np.maximum(0.0, at.items + by[:-5]),
            limits,
            max(0.0, at.budget + float(by[-2])),
            min(1.0, max(0.0, at.ratchet + float(by[-1]))),
        )

    def _above(self) -> float:
        known = [self._best.told.worth] if self._best is not None else []
        return min([*known, *self._good.values()])

    def _notice(self, taken: _Taken) -> None:
        """Keep a choice that is among the best on the way."""
        worth = self._at.nearly(taken)
        if len(self._good) >= KEPT and worth >= max(self._good.values()):
            return
        self._good[self._at.arrays.choice(taken.chosen)] = worth
        if len(self._good) > KEPT:
            del self._good[max(self._good, key=lambda choice: (self._good[choice], choice))]

    def _reckoned(self) -> Iterator[Found]:
        given = self._at.given
        for choice in sorted(self._good, key=lambda each: (self._good[each], each)):
            told = told_of(given, choice)
            if is_kept(given, choice, told):
                yield Found(choice, told)


def _shares(wanted: Floats) -> Floats:
    """The nearest numbers from 0 on that make one."""
    ordered = np.sort(wanted)[::-1]
    over = (np.cumsum(ordered) - 1) / np.arange(1, len(wanted) + 1)
    last = int(np.flatnonzero(ordered > over)[-1])
    nearest: Floats = np.maximum(0.0, wanted - over[last])
    return nearest


__all__ = ["Bounded", "bounded", "rounding_of"]
