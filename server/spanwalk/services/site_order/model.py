"""The best order for a site as a mixed-integer model for HiGHS: exact, or, for very many groups, a bound that is near.

Whole numbers of clusters that are alike take each alternative; packs, price breaks, spares, days of hire, the limits of a
rebate and the meter's ratchet are the job's own (`rules.money.job_money`), written as rows. Of the relaxed model spares and
packs may be fractions, so that its optimum is no more than what any choice costs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, inf

import highspy
import numpy as np

from spanwalk.rules.fit.spares import enough_spares
from spanwalk.rules.money import energy
from spanwalk.rules.ordering import ordering
from spanwalk.rules.site_order.clusters import Alike, Numbers, allowed
from spanwalk.rules.site_order.problem import Alternative, Choice, Problem
from spanwalk.rules.site_order.sums import PARTS_OF_ONE

CENTS = 100.0
MINUTES_A_DAY = 420.0
PARTS_OF_A_MINUTE = 10.0
MOST_STEPS = 60
"""Steps of spares for misfits that the exact model tells apart for one item; beyond, it is no longer exact."""


@dataclass
class Model:
    """Columns and rows as they are put together.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    classes : sequence of Alike
        Its units, merged.
    exact : bool
        Whether spares and packs are whole, so that its optimum is the least of all choices.
    """

    given: Problem
    classes: Sequence[Alike]
    exact: bool
    offset: float = 0.0
    cost: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[float, float, dict[int, float]]] = field(default_factory=list)
    taken: dict[tuple[int, int, int], int] = field(default_factory=dict)
    outer: dict[tuple[int, str], int] = field(default_factory=dict)
    inner: dict[tuple[int, int, str, str], int] = field(default_factory=dict)
    uses: dict[str, list[int]] = field(default_factory=dict)
    paid: dict[int, float] = field(default_factory=dict)
    """Column -> what it adds to the job's cost before rebates [cents]."""
    is_exact: bool = True

    def column(self, cost: float = 0.0, upper: float = inf, whole: bool = True, paid: float = 0.0) -> int:
        """A new column from 0 on."""
        self.cost.append(cost)
        self.lower.append(0.0)
        self.upper.append(upper)
        self.whole.append(whole)
        if paid:
            self.paid[len(self.cost) - 1] = paid
        return len(self.cost) - 1

    def row(self, lower: float, upper: float, entries: Mapping[int, float]) -> None:
        """A new row."""
        self.rows.append((lower, upper, {at: value for at, value in entries.items() if value}))

    def lp(self) -> highspy.HighsLp:
        """The model as HiGHS takes it."""
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_, lp.offset_ = len(self.cost), len(self.rows), self.offset
        lp.col_cost_, lp.col_lower_ = np.array(self.cost), np.array(self.lower)
        lp.col_upper_ = np.array(self.upper)
        lp.row_lower_ = np.array([row[0] for row in self.rows])
        lp.row_upper_ = np.array([row[1] for row in self.rows])
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[whole] for whole in self.whole]
        starts = np.cumsum([0, *(len(row[2]) for row in self.rows)])
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = starts.astype(np.int32)
        lp.a_matrix_.index_ = np.array([at for row in self.rows for at in row[2]], dtype=np.int32)
        lp.a_matrix_.value_ = np.array([value for row in self.rows for value in row[2].values()], dtype=float)
        return lp

    def numbers(self, values: Sequence[float]) -> list[Numbers]:
        """How many clusters of each class take what, by the values of the columns."""
        taken: list[list[dict[int, int]]] = [[{} for _ in each.kinds] for each in self.classes]
        outer: list[dict[str, int]] = [{} for _ in self.classes]
        inner: list[list[dict[tuple[str, str], int]]] = [[{} for _ in set(each.kinds)] for each in self.classes]
        for (of, slot, place), at in self.taken.items():
            taken[of][slot][place] = round(values[at])
        for (of, look), at in self.outer.items():
            outer[of][look] = round(values[at])
        for (of, kind, look, its), at in self.inner.items():
            inner[of][kind][look, its] = round(values[at])
        return [Numbers(*each) for each in zip(taken, outer, inner, strict=True)]

    def start(self, choice: Choice) -> tuple[list[int], list[float]]:
        """Columns and values of a choice, of those that the others follow from."""
        found: dict[int, float] = dict.fromkeys(self.taken.values(), 0.0)
        for of, each in enumerate(self.classes):
            for members in each.members:
                for slot, unit in enumerate(members):
                    found[self.taken[of, slot, choice[unit]]] += 1.0
        return list(found), list(found.values())


def built(given: Problem, classes: Sequence[Alike], exact: bool) -> Model:
    """The model of a problem."""
    model = Model(given, classes, exact)
    _units(model)
    pieces, short, minutes, terms = _added_up(model)
    _items(model, pieces, short)
    for route, entries in sorted(minutes.items()):
        _days(model, route, entries)
    _ratchet(model, terms)
    # What hangs on the job's cost comes last, when all that is paid has its column.
    _rebate(model, terms)
    if given.rules.budget is not None:
        model.row(-inf, given.rules.budget * CENTS + 0.5, model.paid)
    return model


# -- what each unit takes


def _units(model: Model) -> None:
    given = model.given
    colours: dict[str, int] = {}
    for of, each in enumerate(model.classes):
        for slot, place in enumerate(each.members[0]):
            unit = given.units[place]
            may = allowed(unit)
            fixed = {at: _fixed_cents(unit.alternatives[at]) for at in may}
            least = min(fixed.values())
            model.offset += least * each.size
            for at in may:
                paid = 0.0 if unit.alternatives[at].is_left else unit.alternatives[at].work * CENTS
                model.taken[of, slot, at] = model.column(round(fixed[at] - least, 2), each.size, paid=round(paid, 2))
            model.row(each.size, each.size, {model.taken[of, slot, at]: 1.0 for at in may})
        if given.rules.same_look:
            _same_look(model, of, each)
    if given.rules.one_colour:
        _one_colour(model, colours)


def _fixed_cents(each: Alternative) -> float:
    return (each.rest + (0.0 if each.is_left else each.work)) * CENTS


def _same_look(model: Model, of: int, each: Alike) -> None:
    """So many rooms have each look; units of a place take what the look allows, or are left as they are."""
    looks: dict[tuple[int, str, str], dict[int, dict[int, float]]] = defaultdict(lambda: defaultdict(dict))
    for slot, place in enumerate(each.members[0]):
        for at in allowed(model.given.units[place]):
            alternative = model.given.units[place].alternatives[at]
            if not alternative.is_left:
                key = (each.kinds[slot], alternative.outer, alternative.inner)
                looks[key][slot][model.taken[of, slot, at]] = 1.0
    of_room: dict[str, None] = dict.fromkeys(outer for _, outer, _ in sorted(looks))
    for outer in of_room:
        model.outer[of, outer] = model.column(0.0, each.size)
    model.row(each.size, each.size, {model.outer[of, outer]: 1.0 for outer in of_room})
    for kind in sorted(set(each.kinds)):
        for outer in of_room:
            inners = sorted(inner for its, of_look, inner in looks if (its, of_look) == (kind, outer)) or [""]
            for inner in inners:
                at = model.inner[of, kind, outer, inner] = model.column(0.0, each.size)
                for slot, its in enumerate(each.kinds):
                    if its == kind:
                        model.row(-inf, 0.0, {**looks[kind, outer, inner][slot], at: -1.0})
            columns = {model.inner[of, kind, outer, inner]: 1.0 for inner in inners}
            model.row(0.0, 0.0, {**columns, model.outer[of, outer]: -1.0})


def _one_colour(model: Model, colours: dict[str, int]) -> None:
    entries: dict[tuple[int, int], dict[str, dict[int, float]]] = defaultdict(lambda: defaultdict(dict))
    for (of, slot, at), column in model.taken.items():
        each = model.given.units[model.classes[of].members[0][slot]].alternatives[at]
        if not each.is_left:
            colours.setdefault(each.colour, -1)
            entries[of, slot][each.colour][column] = 1.0
    for colour in sorted(colours):
        colours[colour] = model.column(0.0, 1.0)
    model.row(1.0, 1.0, dict.fromkeys(colours.values(), 1.0))
    for (of, _), by_colour in entries.items():
        for colour, columns in by_colour.items():
            model.row(-inf, 0.0, {**columns, colours[colour]: -float(model.classes[of].size)})


# -- what they come to together


@dataclass
class Terms:
    """Rows of rebate asked, load at the peak and load saved, by column."""

    asked: dict[int, float] = field(default_factory=dict)
    peak: dict[int, float] = field(default_factory=dict)
    saved: dict[int, float] = field(default_factory=dict)


@dataclass
class Misfits:
    """What lies ready of an item, so many bars for each misfit: expected misfits in parts of one, and sure ones."""

    expected: dict[int, float] = field(default_factory=dict)
    sure: dict[int, float] = field(default_factory=dict)
    most: float = 0.0


Added = tuple[dict[str, dict[int, float]], dict[tuple[str, int], Misfits], dict[str, dict[int, float]], Terms]


def _added_up(model: Model) -> Added:
    pieces: dict[str, dict[int, float]] = defaultdict(dict)
    short: dict[tuple[str, int], Misfits] = defaultdict(Misfits)
    minutes: dict[str, dict[int, float]] = defaultdict(dict)
    terms = Terms()
    most: dict[tuple[str, int], dict[tuple[int, int], float]] = defaultdict(lambda: defaultdict(float))
    for (of, slot, at), column in model.taken.items():
        unit = model.given.units[model.classes[of].members[0][slot]]
        each = unit.alternatives[at]
        if each.is_left:
            continue
        for item, count in each.parts:
            pieces[item][column] = pieces[item].get(column, 0.0) + count
        for key, expected, sure in _together(each):
            short[key].expected[column], short[key].sure[column] = expected, sure
            most[key][of, slot] = max(most[key][of, slot], expected * model.classes[of].size)
        if each.minutes > 0:
            minutes[unit.route][column] = round(each.minutes * PARTS_OF_A_MINUTE, 4)
        terms.asked[column] = each.rebate_asked * CENTS
        terms.peak[column], terms.saved[column] = each.peak_kw, each.peak_saved_kw
    for key, of_units in most.items():
        short[key].most = sum(of_units.values())
    return pieces, short, minutes, terms


def _together(each: Alternative) -> Iterable[tuple[tuple[str, int], float, float]]:
    found: dict[tuple[str, int], list[float]] = {}
    for short in each.short:
        held = found.setdefault((short.item, short.count), [0.0, 0.0])
        held[0] += round(short.expected * PARTS_OF_ONE)
        held[1] += short.sure
    return [(key, expected, sure) for key, (expected, sure) in found.items()]


def _items(model: Model, pieces: Mapping[str, dict[int, float]], short: Mapping[tuple[str, int], Misfits]) -> None:
    for item in sorted({*pieces, *(item for item, _ in short)}):
        needed = dict(pieces.get(item, {}))
        most = _most(model, needed)
        tiers = _tiers(model.given.items[item])
        breaks = len(tiers) > 1
        _breakage(model, needed, most, breaks)
        for (of, count), misfits in sorted(short.items()):
            if of == item:
                most += _ready(model, needed, misfits, count, breaks)
        _bought(model, item, needed, most + ceil(most * model.given.spare_pct / 100) + 1, tiers)


def _most(model: Model, pieces: Mapping[int, float]) -> float:
    """The most pieces that can be fitted: of each unit the alternative that takes most."""
    found: dict[tuple[int, int], float] = defaultdict(float)
    for (of, slot, _), column in model.taken.items():
        found[of, slot] = max(found[of, slot], pieces.get(column, 0.0) * model.classes[of].size)
    return sum(found.values())


def _breakage(model: Model, needed: dict[int, float], most: float, breaks: bool) -> None:
    """Spares for breakage: whole pieces, no fewer than the share, and where more could be cheaper no more either."""
    share = round(model.given.spare_pct * 100)
    fitted = dict(needed)
    if not share or not fitted:
        return
    if not model.exact:
        for column, count in fitted.items():
            needed[column] += count * share / PARTS_OF_ONE
        return
    spare = model.column(upper=ceil(most * share / PARTS_OF_ONE))
    upper = PARTS_OF_ONE - 1.0 if breaks else inf
    model.row(0.0, upper, {**{at: -share * count for at, count in fitted.items()}, spare: float(PARTS_OF_ONE)})
    needed[spare] = 1.0


def _ready(model: Model, needed: dict[int, float], misfits: Misfits, count: int, breaks: bool) -> float:
    """Let bars lie ready for misfits; the most that can be."""
    for column, sure in misfits.sure.items():
        if sure:
            needed[column] = needed.get(column, 0.0) + sure * count
    most = _most(model, misfits.sure) * count
    if misfits.most <= 0:
        return most
    ends = _step_ends(misfits.most)
    if model.exact and len(ends) <= MOST_STEPS:
        _steps(model, needed, misfits.expected, ends, count, breaks)
        return most + (len(ends) - 1) * count
    model.is_exact = False
    # A line under all steps: no choice lies below it.
    slope = min(number / end for number, end in enumerate(ends) if number) if len(ends) > 1 else 0.0
    for column, expected in misfits.expected.items():
        needed[column] = needed.get(column, 0.0) + expected * slope * count
    return most + ceil(misfits.most * slope * count)


def _step_ends(most: float) -> list[float]:
    """The most misfits, in parts of one, for which 0, 1, 2 … spares are enough; the last holds the most there can be."""
    ends: list[float] = []
    cents = ceil(most / CENTS) + 1
    low = 0
    number = 0
    while low <= cents and len(ends) <= 4 * MOST_STEPS:
        high = cents
        while low < high:
            middle = (low + high + 1) // 2
            if enough_spares(middle / CENTS) <= number:
                low = middle
            else:
                high = middle - 1
        # What is expected is rounded to hundredths before it is looked up.
        ends.append(low * CENTS + CENTS / 2 - 1)
        if low >= cents:
            break
        number += 1
    return ends


def _steps(
    model: Model,
    needed: dict[int, float],
    expected: Mapping[int, float],
    ends: Sequence[float],
    count: int,
    breaks: bool,
) -> None:
    """One binary a number of spares, one of them taken: the first that is enough.

    Steps taken in order say the same, but HiGHS's presolve called such models infeasible that were not.
    """
    columns = [model.column(0.0, 1.0) for _ in ends[1:]]
    enough = {at: ends[0] - end for at, end in zip(columns, ends[1:], strict=True)}
    model.row(-inf, ends[0], {**expected, **enough})
    if breaks:
        at_least = {at: -(end + 1) for at, end in zip(columns, ends, strict=False)}
        model.row(0.0, inf, {**expected, **at_least})
    model.row(-inf, 1.0, dict.fromkeys(columns, 1.0))
    for number, at in enumerate(columns, 1):
        needed[at] = float(count * number)


def _tiers(terms: ordering.Terms) -> list[tuple[int, int | None, float]]:
    """Least and most pieces bought of each price, and the price of one [currency]."""
    price = terms.price
    starts = {0, *(int(price[start]) for start, each in ordering.BREAKS if start in price and each in price)}
    found: list[tuple[int, float]] = []
    for start in sorted(starts):
        each = ordering.price_at(price, max(start, 1))
        if each is not None and (not found or found[-1][1] != each):
            found.append((start, each))
    ends: list[int | None] = [start - 1 for start, _ in found[1:]]
    return [(start, end, each) for (start, each), end in zip(found, [*ends, None], strict=True)]


def _bought(
    model: Model,
    item: str,
    needed: Mapping[int, float],
    most_pieces: float,
    tiers: Sequence[tuple[int, int | None, float]],
) -> None:
    """Whole packs at the price of that many, no more of them than are needed."""
    size = int(model.given.items[item].supply.get("pack_size", 1))
    most = ceil(most_pieces / size)
    held: dict[int, float] = {}
    uses = []
    for start, end, each in tiers:
        least = max(1, -(-start // size))
        top = most if end is None else min(most, end // size)
        if top < least:
            continue
        sum_cents = round(each * size * CENTS, 2)
        packs = model.column(sum_cents, top, whole=model.exact, paid=sum_cents)
        use = model.column(model.given.rules.each_item * CENTS, 1.0)
        model.row(0.0, inf, {packs: 1.0, use: -float(least)})
        model.row(-inf, 0.0, {packs: 1.0, use: -float(top)})
        held[packs] = float(size)
        uses.append(use)
    wanted = {at: -value for at, value in needed.items()}
    model.row(0.0, size - 1.0 if model.exact and len(uses) > 1 else inf, {**held, **wanted})
    if len(uses) > 1:
        model.row(-inf, 1.0, dict.fromkeys(uses, 1.0))
    model.uses[item] = uses


def _days(model: Model, route: str, minutes: Mapping[int, float]) -> None:
    price = round(model.given.hire_per_day * CENTS, 2)
    if price:
        days = model.column(price, paid=price)
        model.row(0.0, inf, {days: MINUTES_A_DAY * PARTS_OF_A_MINUTE, **{at: -value for at, value in minutes.items()}})


def _rebate(model: Model, terms: Terms) -> None:
    limits = model.given.limits
    if limits.cap_share is None and limits.most is None:
        for column, asked in terms.asked.items():
            model.cost[column] -= round(asked, 2)
        return
    rebate = model.column(-1.0, whole=False)
    taken_off = {at: -round(value, 2) for at, value in terms.asked.items()}
    model.row(-inf, 0.0, {**taken_off, rebate: 1.0})
    if limits.most is not None:
        model.row(-inf, limits.most * CENTS, {rebate: 1.0})
    if limits.cap_share is not None:
        model.row(-inf, 0.0, {**{at: -limits.cap_share * paid for at, paid in model.paid.items()}, rebate: 1.0})


def _ratchet(model: Model, terms: Terms) -> None:
    """What the first year lacks, by the highest load that the meter may have had."""
    given = model.given
    share, price = given.limits.ratchet_share, given.demand_kw_month
    if share is None or not price:
        return
    factor = price * energy.COUNTED_MONTHS * CENTS / (1 + given.discount_share)
    peaks = _peaks(model)
    meter = given.limits.meter_peak_kw
    lacks = model.column(1.0, whole=False)
    saved = {at: -value * factor for at, value in terms.saved.items()}
    if meter is not None and meter >= peaks:
        model.row(-(1 - share) * meter * factor, inf, {**saved, lacks: 1.0})
    elif meter is None or not _may_be_left(given):
        entries = {at: value + (1 - share) * terms.peak[at] * factor for at, value in saved.items()}
        model.row(0.0, inf, {**entries, lacks: 1.0})
    else:
        model.is_exact = False


def _peaks(model: Model) -> float:
    return sum(max((each.peak_kw for each in unit.alternatives), default=0.0) for unit in model.given.units)


def _may_be_left(given: Problem) -> bool:
    return any(each.is_left for unit in given.units for each in unit.alternatives)
