"""The best order for a site as a mixed-integer model for HiGHS: exact, or, for very many groups, a bound that is near.

Whole numbers of clusters that are alike take each alternative; packs, price breaks, spares, days of hire, the limits of a
rebate and the meter's ratchet are the job's own (`rules.money.job_money`), written as rows. Of the relaxed model spares and
packs may be fractions, so that its optimum is no more than what any choice costs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf

from spanwalk.rules.money import energy
from spanwalk.rules.site_order.clusters import Alike, allowed
from spanwalk.rules.site_order.problem import Alternative, Problem
from spanwalk.rules.site_order.sums import PARTS_OF_ONE
from spanwalk.services.site_order.columns import CENTS, Model
from spanwalk.services.site_order.model_items import Misfits, add_items

MINUTES_A_DAY = 420.0
PARTS_OF_A_MINUTE = 10.0


def built(given: Problem, classes: Sequence[Alike], exact: bool) -> Model:
    """The model of a problem."""
    model = Model(given, classes, exact)
    _units(model)
    pieces, short, minutes, terms = _added_up(model)
    add_items(model, pieces, short)
    for route, entries in sorted(minutes.items()):
        _days(model, route, entries)
    _charged(model)
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
            fixed = {at: _fixed_cents(given, unit.alternatives[at]) for at in may}
            least = min(fixed.values())
            model.offset += least * each.size
            for at in may:
                paid, untaxed = _work_cents(given, unit.alternatives[at])
                # What alternatives run for has four decimals of a cent: none is rounded off, for units add up.
                cost = round(fixed[at] - least, 4)
                model.taken[of, slot, at] = model.column(cost, each.size, paid=paid, untaxed=untaxed)
            model.row(each.size, each.size, {model.taken[of, slot, at]: 1.0 for at in may})
        if given.rules.same_look:
            _same_look(model, of, each)
    if given.rules.one_colour:
        _one_colour(model, colours)


def _fixed_cents(given: Problem, each: Alternative) -> float:
    return each.rest * CENTS + _work_cents(given, each)[0]


def _work_cents(given: Problem, each: Alternative) -> tuple[float, float]:
    """An alternative's own work and disposal with permit and tax by their shares, and without tax [cents]."""
    if each.is_left:
        return 0.0, 0.0
    charges = given.charges
    charged = (each.work - each.disposal) * charges.of_labour + each.disposal * charges.of_others
    return round(charged * CENTS, 4), round(each.work * charges.before_tax * CENTS, 4)


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


def _days(model: Model, route: str, minutes: Mapping[int, float]) -> None:
    bare, charges = model.given.hire_per_day * CENTS, model.given.charges
    price = round(bare * charges.of_others, 2)
    if price:
        days = model.column(price, paid=price, untaxed=round(bare * charges.before_tax, 2))
        model.row(0.0, inf, {days: MINUTES_A_DAY * PARTS_OF_A_MINUTE, **{at: -value for at, value in minutes.items()}})


def _charged(model: Model) -> None:
    """Days of travel and containers, in whole numbers; and what is paid once as soon as one unit is converted."""
    charges, converted = model.given.charges, _converted(model)
    for name, shared in sorted(charges.shared.items()):
        amounts = {at: dict(each.shared).get(name, 0.0) for at, each in converted.items()}
        price = round(shared.each * CENTS * charges.of_shared(name), 2)
        if price and any(amounts.values()):
            number = model.column(price, paid=price, untaxed=round(shared.each * CENTS * charges.before_tax, 2))
            model.row(0.0, inf, {number: shared.holds, **{at: -round(value, 6) for at, value in amounts.items()}})
    once = round(charges.once * CENTS, 2)
    if once and converted:
        untaxed = (charges.mobilisation * charges.before_tax + charges.permit) * CENTS
        paid = model.column(once, 1.0, paid=once, untaxed=round(untaxed, 2))
        most = float(len(model.given.units))
        model.row(-inf, 0.0, {**dict.fromkeys(converted, 1.0), paid: -most})


def _converted(model: Model) -> dict[int, Alternative]:
    """Column -> its alternative, of those by which a unit is converted."""
    found = {}
    for (of, slot, at), column in model.taken.items():
        each = model.given.units[model.classes[of].members[0][slot]].alternatives[at]
        if not each.is_left:
            found[column] = each
    return found


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
        model.row(-inf, 0.0, {**{at: -limits.cap_share * paid for at, paid in model.untaxed.items()}, rebate: 1.0})


def _ratchet(model: Model, terms: Terms) -> None:
    """What the first year lacks, by the highest load that the meter may have had."""
    given = model.given
    share, price = given.limits.ratchet_share, given.demand_kw_month
    if share is None or not price:
        return
    factor = price * energy.COUNTED_MONTHS * CENTS / (1 + given.discount_share)
    peaks = peaks_of(given)
    meter = given.limits.meter_peak_kw
    lacks = model.column(1.0, whole=False)
    saved = {at: -value * factor for at, value in terms.saved.items()}
    if meter is not None and meter >= peaks:
        model.row(-(1 - share) * meter * factor, inf, {**saved, lacks: 1.0})
    elif meter is None or not may_be_left(given):
        entries = {at: value + (1 - share) * terms.peak[at] * factor for at, value in saved.items()}
        model.row(0.0, inf, {**entries, lacks: 1.0})
    else:
        model.is_exact = False


def peaks_of(given: Problem) -> float:
    """The highest load at the meter's peak that units may come to [kW]."""
    return sum(max((each.peak_kw for each in unit.alternatives), default=0.0) for unit in given.units)


def may_be_left(given: Problem) -> bool:
    """Whether some unit may stay as it is."""
    return any(each.is_left for unit in given.units for each in unit.alternatives)
