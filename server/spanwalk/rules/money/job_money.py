"""What several groups come to as one job: platform days, rebates, the meter's peak, spares and whole packs reckoned once.

A group alone pays whole days of a platform, meets the limit of a rebate and the meter's ratchet by itself. Done
together, one platform serves a floor (common practice, no source), one application asks for one rebate, one meter bills
one peak, and what is bought comes in whole packs with spares. What the job comes to is therefore not the sum of its
groups; `steps` say what each of these changes, and `shares_of` gives each group its part of the job, to the cent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict

from spanwalk.rules.money import energy, money

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
    """

    goods: float
    hire_minutes: float
    hire_per_day: float
    rebate_asked: float
    peak_kw: float
    peak_saved_kw: float
    demand_kw_month: float


class JobStep(TypedDict):
    """What doing the groups together changes: `hire`, `goods`, `rebate` or `ratchet`, and by how much [currency].

    Of `hire` and `goods` it is the cost that changes, of `rebate` what comes back, of `ratchet` what the first year lacks.
    """

    what: str
    by: float


class JobFigures(TypedDict):
    """Money of the job [currency]; days of platform hire as groups alone and as one job."""

    cost: float
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


def job(groups: Sequence[Alone], limits: Limits, goods_bought: float | None) -> JobFigures:
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
    hire_alone = sum(money.hire_days(each.terms["hire_minutes"]) * each.terms["hire_per_day"] for each in groups)
    per_day = {route: max(e.terms["hire_per_day"] for e in groups if e.route == route) for route in days}
    hire = sum(number * per_day[route] for route, number in days.items())
    goods_alone = sum(each.terms["goods"] for each in groups)
    goods = goods_alone if goods_bought is None else goods_bought
    cost = sum(each.cost for each in groups) - hire_alone + hire - goods_alone + goods
    rebate = _rebate(groups, cost, limits)
    short = _first_year_short(groups, limits)
    changes = {
        "hire": hire - hire_alone,
        "goods": goods - goods_alone,
        "rebate": rebate - sum(each.rebate for each in groups),
        "ratchet": short - sum(each.first_year_short for each in groups),
    }
    return {
        "cost": round(cost, 2),
        "rebate": round(rebate, 2),
        "first_year_short": round(short, 2),
        "days_alone": sum(money.hire_days(each.terms["hire_minutes"]) for each in groups),
        "days": sum(days.values()),
        "steps": [{"what": what, "by": by} for what, value in changes.items() if (by := round(float(value), 2))],
    }


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
) -> dict[str, Share]:
    """Each group's part of the job: hire by its minutes on its route, goods and rebate by its own; to the cent.

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
    rough: dict[str, float] = {}
    for name, each in groups.items():
        terms, cost = each.terms, each.cost
        if terms["hire_minutes"] > 0:
            cost -= money.hire_days(terms["hire_minutes"]) * terms["hire_per_day"]
            cost += days[each.route] * terms["hire_per_day"] * terms["hire_minutes"] / minutes[each.route]
        if goods_alone:
            cost += by.get("goods", 0.0) * terms["goods"] / goods_alone
        rough[name] = cost
    asked = {name: each.terms["rebate_asked"] for name, each in groups.items()}
    costs = _to_the_cent(rough, figures["cost"])
    rebates = _to_the_cent(asked, figures["rebate"])
    nets = {name: costs[name] - rebates[name] for name in groups}
    npvs = _npv_shares(groups, nets, npv_alone or {}, npv_job)
    return {name: {"cost": costs[name], "rebate": rebates[name], "npv": npvs.get(name)} for name in groups}


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
