"""The best order of a small site as a mixed-integer model of its own, for SciPy's general-purpose solver.

Written from what a job's money is said to be (`rules.money.job_money`, `job_charges`, `rules.ordering`), unit by unit and cost
line by cost line; it shares no code with the models, bounds and searches that it checks, and knows nothing of classes, of
slopes or of multipliers. Amounts are not rounded to cents line by line, so that its optimum may be off by `ROUNDING`.

References
----------
.. [1] SciPy 1.17, `scipy.optimize.milp` (HiGHS), documentation.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from math import inf

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix

from spanwalk.rules.fit.spares import enough_spares
from spanwalk.rules.money.job_charges import CREW_DAY
from spanwalk.rules.site_order.problem import Choice, Problem

ROUNDING = 0.08
"""Eight lines, each rounded to the cent, and what tax and permit make of that [currency]."""
DAY_MIN, MONTHS = 420.0, 11
Linear = dict[int, float]


class GeneralModel:
    """Columns and rows of a problem.

    Parameters
    ----------
    given : Problem
        A small site.
    """

    def __init__(self, given: Problem) -> None:
        self.given = given
        self.cost: list[float] = []
        self.upper: list[float] = []
        self.whole: list[int] = []
        self.rows: list[tuple[Linear, float, float]] = []
        self.taken = {
            (place, at): self.column(0.0, 0.0 if each.barred else 1.0, whole=True)
            for place, unit in enumerate(given.units)
            for at, each in enumerate(unit.alternatives)
        }
        for place, unit in enumerate(given.units):
            self.row({self.taken[place, at]: 1.0 for at in range(len(unit.alternatives))}, 1.0, 1.0)
        self._job()
        self._looks()

    # -- columns and rows

    def column(self, cost: float = 0.0, upper: float = inf, *, whole: bool = False) -> int:
        self.cost.append(cost)
        self.upper.append(upper)
        self.whole.append(int(whole))
        return len(self.cost) - 1

    def row(self, entries: Linear, lower: float = -inf, upper: float = inf) -> None:
        self.rows.append((entries, lower, upper))

    def named(self, entries: Linear, add: float = 0.0) -> int:
        """A column that is a sum of others."""
        at = self.column()
        self.row({**_times(entries, -1.0), at: 1.0}, add, add)
        return at

    def of_taken(self, name: str) -> Linear:
        """A number of the alternatives that convert, added up."""
        return {
            at: float(value)
            for (place, alternative), at in self.taken.items()
            if not (each := self.given.units[place].alternatives[alternative]).is_left
            and (value := getattr(each, name))
        }

    def solved(self) -> tuple[Choice, float] | None:
        """The least, and what it comes to [currency]; None where no choice keeps to the rules."""
        entries = [(row, at, value) for row, (of, _, _) in enumerate(self.rows) for at, value in of.items()]
        matrix = csr_matrix(
            ([value for _, _, value in entries], ([row for row, _, _ in entries], [at for _, at, _ in entries])),
            shape=(len(self.rows), len(self.cost)),
        )
        limits = LinearConstraint(matrix, [lower for _, lower, _ in self.rows], [upper for _, _, upper in self.rows])
        found = milp(
            np.array(self.cost),
            constraints=limits,
            bounds=Bounds(0.0, self.upper),
            integrality=self.whole,
            options={"mip_rel_gap": 0.0, "time_limit": 120.0},
        )
        if found.status == 2:
            return None
        assert found.status == 0, found.message
        return tuple(self._chosen(found.x, place) for place in range(len(self.given.units))), float(found.fun)

    def _chosen(self, values: Sequence[float], place: int) -> int:
        alternatives = range(len(self.given.units[place].alternatives))
        return max(alternatives, key=lambda at: values[self.taken[place, at]])

    # -- the job's money

    def _job(self) -> None:
        given, charges = self.given, self.given.charges
        goods = self._goods()
        disposal = self.of_taken("disposal")
        labour = _added(self.of_taken("work"), _times(disposal, -1.0))
        hire, shared = self._hire(), self._shared()
        converted = self.column(0.0, 1.0, whole=True)
        for (place, at), column in self.taken.items():
            if not given.units[place].alternatives[at].is_left:
                self.row({converted: 1.0, column: -1.0}, 0.0)
        mobilisation = {converted: charges.mobilisation}
        before = _added(goods, labour, hire, disposal, *shared.values(), mobilisation)
        permit = _added({converted: charges.permit}, _times(before, charges.permit_share))
        taxed = {
            "materials": goods,
            "materials-and-labour": _added(goods, labour, shared.get(CREW_DAY, {})),
            "all-costs": _added(before, permit),
        }[charges.taxed]
        untaxed = _added(before, permit)
        job = _added(untaxed, _times(taxed, charges.tax_share))
        for at, value in job.items():
            self.cost[at] += value
        for (place, alternative), at in self.taken.items():
            self.cost[at] += given.units[place].alternatives[alternative].rest
        if given.rules.budget is not None:
            self.row(job, upper=given.rules.budget + 0.005)
        self._rebate(untaxed)
        self._ratchet()

    def _rebate(self, untaxed: Linear) -> None:
        limits, back = self.given.limits, self.column(-1.0)
        self.row({back: 1.0, **_times(self.of_taken("rebate_asked"), -1.0)}, upper=0.0)
        if limits.cap_share is not None:
            self.row({back: 1.0, **_times(untaxed, -limits.cap_share)}, upper=0.0)
        if limits.most is not None:
            self.row({back: 1.0}, upper=limits.most)

    def _ratchet(self) -> None:
        """What the first year lacks: the meter bills a share of the old peak, which is the higher of two, for eleven months."""
        given, limits = self.given, self.given.limits
        if limits.ratchet_share is None or not given.demand_kw_month:
            return
        peak, saved = self.named(self.of_taken("peak_kw")), self.named(self.of_taken("peak_saved_kw"))
        old = peak
        if limits.meter_peak_kw is not None:
            most = limits.meter_peak_kw + sum(max(each.peak_kw for each in unit.alternatives) for unit in given.units)
            old, is_meters = self.column(), self.column(0.0, 1.0, whole=True)
            self.row({old: 1.0, is_meters: most}, upper=limits.meter_peak_kw + most)
            self.row({old: 1.0, peak: -1.0, is_meters: -most}, upper=0.0)
        lacks = self.column(given.demand_kw_month * MONTHS / (1 + given.discount_share))
        self.row({lacks: 1.0, saved: -1.0, old: 1.0 - limits.ratchet_share}, 0.0)

    def _hire(self) -> Linear:
        minutes: dict[str, Linear] = defaultdict(dict)
        for (place, at), column in self.taken.items():
            unit = self.given.units[place]
            if not unit.alternatives[at].is_left and unit.alternatives[at].minutes:
                minutes[unit.route][column] = unit.alternatives[at].minutes
        found: Linear = {}
        for entries in minutes.values():
            days = self.column(whole=True)
            self.row({days: DAY_MIN, **_times(entries, -1.0)}, 0.0)
            found[days] = self.given.hire_per_day
        return found

    def _shared(self) -> dict[str, Linear]:
        found = {}
        for name, each in self.given.charges.shared.items():
            number = self.column(whole=True)
            needs = {
                column: dict(alternative.shared).get(name, 0.0)
                for (place, at), column in self.taken.items()
                if not (alternative := self.given.units[place].alternatives[at]).is_left
            }
            self.row({number: each.holds, **_times(needs, -1.0)}, 0.0)
            found[name] = {number: each.each}
        return found

    # -- items

    def _goods(self) -> Linear:
        given = self.given
        fitted: dict[str, Linear] = defaultdict(lambda: defaultdict(float))
        expected: dict[tuple[str, int], Linear] = defaultdict(lambda: defaultdict(float))
        sure: dict[tuple[str, int], Linear] = defaultdict(lambda: defaultdict(float))
        for (place, at), column in self.taken.items():
            each = given.units[place].alternatives[at]
            for item, count in () if each.is_left else each.parts:
                fitted[item][column] += count
            for short in () if each.is_left else each.short:
                expected[short.item, short.count][column] += short.expected
                sure[short.item, short.count][column] += short.sure
        goods: Linear = {}
        for item in sorted({*fitted, *(item for item, _ in expected)}):
            pieces = _added(fitted[item], {self._breakage(fitted[item]): 1.0})
            for key in [key for key in expected if key[0] == item]:
                ready = _added({self._spares(expected[key]): 1.0}, sure[key])
                pieces = _added(pieces, _times(ready, key[1]))
            goods |= self._bought(item, pieces)
        return goods

    def _breakage(self, fitted: Linear) -> int:
        """Whole spares: the share of what is fitted, rounded up."""
        share, spare = self.given.spare_pct / 100, self.column(whole=True)
        self.row({spare: 1.0, **_times(fitted, -share)}, 0.0, 1.0 - 1e-4)
        return spare

    def _spares(self, expected: Linear) -> int:
        """The number that is enough for what is expected, of which hundredths count."""
        most = sum(expected.values())
        ends: list[float] = []
        hundredth = 0
        while hundredth <= 100 * most + 1:
            number = enough_spares(hundredth / 100)
            ends += [0.0] * (number + 1 - len(ends))
            ends[number] = hundredth / 100
            hundredth += 1
        ends[-1] = most + 1
        is_number = [self.column(0.0, 1.0, whole=True) for _ in ends]
        self.row(dict.fromkeys(is_number, 1.0), 1.0, 1.0)
        up_to = {at: -(end + 0.0049) for at, end in zip(is_number, ends, strict=True)}
        beyond = {at: -(end + 0.0050) for at, end in zip(is_number[1:], ends, strict=False)}
        self.row({**expected, **up_to}, upper=0.0)
        self.row({**expected, **beyond}, 0.0)
        return self.named({at: float(number) for number, at in enumerate(is_number)})

    def _bought(self, item: str, pieces: Linear) -> Linear:
        """Whole packs, at one of its prices."""
        terms = self.given.items[item]
        size, price = int(terms.supply.get("pack_size", 1)), terms.price
        most = sum(pieces.values()) * 30 + size
        starts = [(1, price["each"])]
        starts += [(price[f"from_{n}"], price[f"each_{n}"]) for n in (2, 3, 4) if f"from_{n}" in price]
        goods: Linear = {}
        bought: Linear = {}
        is_at: Linear = {}
        for number, (start, each) in enumerate(starts):
            end = starts[number + 1][0] - 1 if number + 1 < len(starts) else most
            packs, here = self.column(whole=True), self.column(self.given.rules.each_item, 1.0, whole=True)
            self.row({packs: float(size), here: -float(start)}, 0.0)
            self.row({packs: float(size), here: -float(end)}, upper=0.0)
            goods[packs], bought[packs], is_at[here] = size * each, float(size), 1.0
        self.row(is_at, upper=1.0)
        self.row(_added(bought, _times(pieces, -1.0)), 0.0, size - 1.0)
        return goods

    # -- looks

    def _looks(self) -> None:
        rules = self.given.rules
        if rules.one_colour:
            self._one_of(lambda place, at: ("site", self.given.units[place].alternatives[at].colour))
        if rules.same_look:
            units = self.given.units
            self._one_of(lambda place, at: (units[place].room, units[place].alternatives[at].outer))
            self._one_of(
                lambda place, at: ((units[place].room, units[place].kind), units[place].alternatives[at].inner)
            )

    def _one_of(self, told: Callable[[int, int], tuple[object, str]]) -> None:
        """Of each place that is told one look alone is taken."""
        looks: dict[object, dict[str, int]] = defaultdict(dict)
        for (place, at), column in self.taken.items():
            if not self.given.units[place].alternatives[at].is_left:
                where, look = told(place, at)
                if look not in looks[where]:
                    looks[where][look] = self.column(0.0, 1.0, whole=True)
                self.row({looks[where][look]: 1.0, column: -1.0}, 0.0)
        for where in looks.values():
            self.row(dict.fromkeys(where.values(), 1.0), upper=1.0)


def _added(*every: Linear) -> Linear:
    found: Linear = defaultdict(float)
    for each in every:
        for at, value in each.items():
            found[at] += value
    return dict(found)


def _times(entries: Linear, by: float) -> Linear:
    return {at: value * by for at, value in entries.items()}
