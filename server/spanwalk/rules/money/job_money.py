"""What several groups come to as one job: platform days, rebates, the meter's peak, spares and whole packs reckoned once.

A group alone pays whole days of a platform, meets the limit of a rebate and the meter's ratchet by itself. Done
together, one platform serves a floor (common practice, no source), one application asks for one rebate, one meter bills
one peak, and what is bought comes in whole packs with spares; days of travel and waste containers are paid whole, and
mobilisation and permit once (`rules.job_charges`). What the job comes to is therefore not the sum of its groups; `steps`
say what each of these changes, `lines` what the job's cost is made of, and `shares_of` gives each group its part of the job,
to the cent. What a group costs by itself is what it adds to the job: nothing that is paid whether or not it is done.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NotRequired, TypedDict

from spanwalk.rules.money import energy, money
from spanwalk.rules.money.job_charges import CREW_DAY, NO_CHARGES, Bare, Charges, CostLine, lines_of

CENTS = 100


class JobTerms(TypedDict):
    """What of a group is not simply added up.

    Parameters
    ----------
    goods : float
        Its items at the price of one [currency].
    hire_minutes : float
        Minutes of work from an access platform [min]; 0 where it needs none.
    hire_per_day : float
        Hire of the platform [currency a day].
    rebate_asked : float
        Rebate before any limit [currency].
    peak_kw, peak_saved_kw : float
        Load at the meter's peak as things are, and what is saved of it [kW].
    demand_kw_month : float
        Price of demand [currency per kW and month].
    bare : float
        Its cost before travel, containers, permit and tax [currency]; where it is missing, its cost had none of them.
    disposal : float
        Of it, disposal of lamps and ballasts by the piece [currency].
    shared : dict
        What it needs of what groups share: `crew-day` -> minutes of work [min], a sort of container -> pieces.
    """

    goods: float
    hire_minutes: float
    hire_per_day: float
    rebate_asked: float
    peak_kw: float
    peak_saved_kw: float
    demand_kw_month: float
    bare: NotRequired[float]
    disposal: NotRequired[float]
    shared: NotRequired[dict[str, float]]


class JobStep(TypedDict):
    """What doing the groups together changes, and by how much [currency].

    Of `hire`, `goods`, `travel` and `containers` (paid whole), `mobilisation`, `permit` (its sum) and `on-these` (permit and
    tax by their shares of all these) it is the cost that changes, of `rebate` what comes back, of `ratchet` what the first
    year lacks.
    """

    what: str
    by: float


class JobFigures(TypedDict):
    """Money of the job [currency]; `lines` its cost adds up from; days of platform hire as groups alone and as one job."""

    cost: float
    lines: list[CostLine]
    rebate: float
    first_year_short: float
    days_alone: int
    days: int
    steps: list[JobStep]


class Share(TypedDict):
    """A group's part of the job [currency]; the parts of all groups add up to the job to the cent.

    `npv` is its part of the net present value; None where that of the job or of a group is not known.
    """

    cost: float
    rebate: float
    npv: float | None


@dataclass(frozen=True)
class Alone:
    """A group as it stands alone.

    Parameters
    ----------
    route : str
        What one platform serves without being brought again: a floor's id.
    cost, rebate, first_year_short : float
        What it comes to by itself [currency].
    terms : mapping
        What of it is reckoned again for the job.
    """

    route: str
    cost: float
    rebate: float
    first_year_short: float
    terms: JobTerms


@dataclass(frozen=True)
class Limits:
    """What holds for the job as a whole.

    Parameters
    ----------
    cap_share : float or None
        A rebate pays no more than this share of the cost; None: no such limit.
    most : float or None
        One application pays no more than this [currency]; None: no such limit.
    ratchet_share : float or None
        Share of the old peak that is billed at least; None: none.
    meter_peak_kw : float or None
        The meter's highest demand [kW]; None: not known, the job's own load stands for it.
    """

    cap_share: float | None = None
    most: float | None = None
    ratchet_share: float | None = None
    meter_peak_kw: float | None = None


def days_by_route(groups: Sequence[Alone]) -> dict[str, int]:
    """Whole days of platform hire of each route, its groups done one after the other.

    >>> terms: JobTerms = {"goods": 0, "hire_minutes": 300, "hire_per_day": 240, "rebate_asked": 0, "peak_kw": 0, "peak_saved_kw": 0, "demand_kw_month": 0}
    >>> days_by_route([Alone("ground", 0, 0, 0, terms), Alone("ground", 0, 0, 0, terms), Alone("first", 0, 0, 0, terms)])
    {'ground': 2, 'first': 1}
    """
    minutes: dict[str, float] = {}
    for each in groups:
        if each.terms["hire_minutes"] > 0:
            minutes[each.route] = minutes.get(each.route, 0.0) + each.terms["hire_minutes"]
    return {route: money.hire_days(round(every, 6)) for route, every in minutes.items()}


def job(
    groups: Sequence[Alone], limits: Limits, goods_bought: float | None, charges: Charges = NO_CHARGES
) -> JobFigures:
    """What groups come to as one job.

    Parameters
    ----------
    groups : sequence of Alone
        The groups.
    limits : Limits
        What holds for all of them together.
    goods_bought : float or None
        What is bought for them with spares, in whole packs at the price of that many [currency]; None: not known, the
        groups' own items stand for it.
    charges : Charges
        What is charged for the job as a whole; without groups nothing is.

    Returns
    -------
    JobFigures
        Money to the cent.

    Examples
    --------
    Two groups of 300 minutes each on one floor: alone two days, together 600 / 420 → two; a third of 100 minutes adds none.

    >>> def group(minutes: float) -> Alone:
    ...     terms: JobTerms = {"goods": 100, "hire_minutes": minutes, "hire_per_day": 240, "rebate_asked": 50, "peak_kw": 1, "peak_saved_kw": 0.5, "demand_kw_month": 10}
    ...     return Alone("ground", 340, 50, 0, terms)
    >>> found = job([group(300), group(300), group(100)], Limits(), 320.0)
    >>> found["days_alone"], found["days"], found["cost"], [(step["what"], step["by"]) for step in found["steps"]]
    (3, 2, 800.0, [('hire', -240.0), ('goods', 20.0)])
    """
    days = days_by_route(groups)
    hire_alone = sum(_hire_alone(each) for each in groups)
    hire = sum(number * price for number, price in _days_priced(groups, days))
    goods_alone = sum(each.terms["goods"] for each in groups)
    goods = goods_alone if goods_bought is None else goods_bought
    own = sum(bare_of(each) for each in groups) - hire_alone - goods_alone
    lines = _lines(groups, charges, goods, hire, own)
    cost = round(sum(each["amount"] for each in lines), 2)
    tax = next((each["amount"] for each in lines if each["what"] == "tax"), 0.0)
    rebate = _rebate(groups, cost - tax, limits)
    short = _first_year_short(groups, limits)
    changes = {"hire": hire - hire_alone, "goods": goods - goods_alone}
    if not charges.is_none:
        changes |= _charged_besides(groups, charges, lines)
        alone = sum(each.cost for each in groups)
        changes["on-these"] = cost - alone - sum(round(each, 2) for each in changes.values())
    changes["rebate"] = rebate - sum(each.rebate for each in groups)
    changes["ratchet"] = short - sum(each.first_year_short for each in groups)
    return {
        "cost": cost,
        "lines": lines,
        "rebate": round(rebate, 2),
        "first_year_short": round(short, 2),
        "days_alone": sum(money.hire_days(each.terms["hire_minutes"]) for each in groups),
        "days": sum(days.values()),
        "steps": [{"what": what, "by": by} for what, value in changes.items() if (by := round(float(value), 2))],
    }


def bare_of(group: Alone) -> float:
    """A group's cost before travel, containers, permit and tax [currency]."""
    return group.terms.get("bare", group.cost)


def _hire_alone(group: Alone) -> float:
    return money.hire_days(group.terms["hire_minutes"]) * group.terms["hire_per_day"]


def _days_priced(groups: Sequence[Alone], days: Mapping[str, int]) -> Iterator[tuple[int, float]]:
    for route, number in days.items():
        yield number, max(each.terms["hire_per_day"] for each in groups if each.route == route)


def _lines(groups: Sequence[Alone], charges: Charges, goods: float, hire: float, own: float) -> list[CostLine]:
    """What the job's cost is made of; labour is what is left of the groups' own cost, so that all of it stands in a line."""
    disposal = sum(each.terms.get("disposal", 0.0) for each in groups)
    goods, hire, disposal = round(goods, 2), round(hire, 2), round(disposal, 2)
    labour = round(own + goods + hire, 2) - goods - hire - disposal
    charged = charges if groups else NO_CHARGES
    return lines_of(Bare(goods, labour, hire, disposal, {} if charged.is_none else shared_by(groups)), charged)


def shared_by(groups: Iterable[Alone]) -> dict[str, float]:
    """What groups need together of what they share: minutes of work [min], or pieces."""
    found: dict[str, float] = {}
    for each in groups:
        for name, amount in each.terms.get("shared", {}).items():
            found[name] = found.get(name, 0.0) + amount
    return found


def _charged_besides(groups: Sequence[Alone], charges: Charges, lines: Iterable[CostLine]) -> dict[str, float]:
    """What the job pays beyond its groups' parts: travel and containers up to whole ones, mobilisation, the permit's sum."""
    found = {"travel": 0.0, "containers": 0.0, "mobilisation": 0.0, "permit": charges.permit if groups else 0.0}
    parts = shared_by(groups)
    for each in lines:
        what = each["what"]
        if what in charges.shared:
            more = each["amount"] - charges.shared[what].in_part(parts.get(what, 0.0))
            found["travel" if what == CREW_DAY else "containers"] += more
        elif what == "mobilisation":
            found["mobilisation"] = each["amount"]
    return found


def _rebate(groups: Sequence[Alone], cost: float, limits: Limits) -> float:
    asked = sum(each.terms["rebate_asked"] for each in groups)
    of_cost = asked if limits.cap_share is None else min(asked, limits.cap_share * cost)
    return of_cost if limits.most is None else money.rebate_of_application(of_cost, limits.most)


def _first_year_short(groups: Sequence[Alone], limits: Limits) -> float:
    """What the first year lacks because the meter still bills a share of its old peak."""
    price = max((each.terms["demand_kw_month"] for each in groups), default=0.0)
    peak = sum(each.terms["peak_kw"] for each in groups)
    saved = sum(each.terms["peak_saved_kw"] for each in groups)
    old = peak if limits.meter_peak_kw is None else max(limits.meter_peak_kw, peak)
    return energy.demand_lost_to_ratchet(saved, price, limits.ratchet_share, old)


def shares_of(
    groups: Mapping[str, Alone],
    figures: JobFigures,
    npv_alone: Mapping[str, float | None] | None = None,
    npv_job: float | None = None,
    charges: Charges = NO_CHARGES,
) -> dict[str, Share]:
    """Each group's part of the job, to the cent.

    Hire goes by its minutes on its route, goods and rebate by its own, travel by its minutes of work, containers by its pieces,
    permit and tax by their shares; what is paid once by what all this comes to.

    Parameters
    ----------
    groups : mapping
        Group id -> the group alone.
    figures : JobFigures
        What `job` found for them.
    npv_alone : mapping or None
        Group id -> its net present value alone [currency]; None: not known.
    npv_job : float or None
        That of the job [currency].
    charges : Charges
        What is charged for the job as a whole.

    Returns
    -------
    dict
        Group id -> Share; costs add up to the job's cost, rebates to its rebate, values to its value, exactly in cents.

    Examples
    --------
    >>> terms: JobTerms = {"goods": 100, "hire_minutes": 0, "hire_per_day": 0, "rebate_asked": 1, "peak_kw": 0, "peak_saved_kw": 0, "demand_kw_month": 0}
    >>> groups = {name: Alone("g", 100, 1, 0, terms) for name in "abc"}
    >>> [each["cost"] for each in shares_of(groups, job(list(groups.values()), Limits(), 320.0)).values()]
    [106.67, 106.67, 106.66]
    """
    days, minutes = days_by_route(list(groups.values())), _minutes_by_route(groups)
    by = {step["what"]: step["by"] for step in figures["steps"]}
    goods_alone = sum(each.terms["goods"] for each in groups.values())
    shared = shared_by(groups.values())
    rough: dict[str, float] = {}
    for name, each in groups.items():
        terms = each.terms
        goods, hire = terms["goods"], 0.0
        own = bare_of(each) - _hire_alone(each) - goods
        if terms["hire_minutes"] > 0:
            hire = days[each.route] * terms["hire_per_day"] * terms["hire_minutes"] / minutes[each.route]
        if goods_alone:
            goods += by.get("goods", 0.0) * goods / goods_alone
        rough[name] = _with_charges(terms, charges, goods, hire, own) + sum(
            _part_of_shared(charges, of, amount, shared[of])
            for of, amount in terms.get("shared", {}).items()
            if of in charges.shared and amount
        )
    asked = {name: each.terms["rebate_asked"] for name, each in groups.items()}
    costs = _to_the_cent(rough, figures["cost"])
    rebates = _to_the_cent(asked, figures["rebate"])
    nets = {name: costs[name] - rebates[name] for name in groups}
    npvs = _npv_shares(groups, nets, npv_alone or {}, npv_job)
    return {name: {"cost": costs[name], "rebate": rebates[name], "npv": npvs.get(name)} for name in groups}


def _with_charges(terms: JobTerms, charges: Charges, goods: float, hire: float, own: float) -> float:
    disposal = terms.get("disposal", 0.0)
    of_others = (hire + disposal) * charges.of_others
    return goods * charges.of_goods + (own - disposal) * charges.of_labour + of_others


def _part_of_shared(charges: Charges, name: str, part: float, of_all: float) -> float:
    """A group's part of what the job pays whole, with permit and tax."""
    shared = charges.shared[name]
    return part / of_all * shared.number(of_all) * shared.each * charges.of_shared(name)


def _npv_shares(
    groups: Mapping[str, Alone], nets: Mapping[str, float], alone: Mapping[str, float | None], job_npv: float | None
) -> dict[str, float]:
    """Each group's part of the job's value: its own less what its net cost grew; the rest, of the meter, by load saved."""
    known = {name: value for name in groups if (value := alone.get(name)) is not None}
    if job_npv is None or len(known) < len(groups):
        return {}
    own = {
        name: round((known[name] + each.cost - each.rebate - nets[name]) * CENTS) / CENTS
        for name, each in groups.items()
    }
    saved = {name: max(each.terms["peak_saved_kw"], 0.0) for name, each in groups.items()}
    rest = _to_the_cent(saved, round(job_npv - sum(own.values()), 2))
    return {name: round(own[name] + rest[name], 2) + 0.0 for name in groups}


def _minutes_by_route(groups: Mapping[str, Alone]) -> dict[str, float]:
    found: dict[str, float] = {}
    for each in groups.values():
        found[each.route] = found.get(each.route, 0.0) + each.terms["hire_minutes"]
    return found


def _to_the_cent(rough: Mapping[str, float], total: float) -> dict[str, float]:
    """Parts in proportion that add up to a total in whole cents; the largest remainders are rounded up, earlier names first."""
    whole = sum(rough.values())
    cents = round(total * CENTS)
    if not whole:
        exact = {name: cents / len(rough) for name in rough}
    else:
        exact = {name: value / whole * cents for name, value in rough.items()}
    found = {name: int(value // 1) for name, value in exact.items()}
    left = cents - sum(found.values())
    for name in sorted(exact, key=lambda each: found[each] - exact[each])[:left]:
        found[name] += 1
    return {name: value / CENTS for name, value in found.items()}
