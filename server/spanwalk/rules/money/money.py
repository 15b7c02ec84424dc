"""Cost, payback, present value, rate of return and life-cycle cost of a conversion.

Money is a float: no verdict hangs on it, only ranking, which rounds it to cents first. The investment
falls in year 0, savings at the end of each year, the first year's at today's prices.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from math import ceil
from typing import TypedDict

from spanwalk.rules.money.upkeep import Replacement

SWINGS = (0.8, 1.0, 1.2)
"""Lower, as it is, higher."""
LONGEST_RATE = 10.0
"""Rates of return are looked for between −99 % and 1,000 % a year."""
HALVINGS = 60
"""Steps of that search; 11 / 2^60 is below what a float holds."""


class AtRate(TypedDict):
    """Payback, present value and ratio with one input lower, as it is, or higher."""

    simple_payback_years: float | None
    npv: float | None
    sir: float | None


class Sensitivity(TypedDict):
    """What money hangs on, each lower, as it is, higher."""

    hours: list[AtRate]
    tariff: list[AtRate]
    cost: list[AtRate]


class InShort(AtRate):
    """Figures that need no search, as they are shown."""

    net_cost: float | None
    saving_year: float | None
    lcc: float | None
    lcc_as_is: float | None


class Whole(InShort):
    """The same with rate of return and discounted payback."""

    irr_share: float | None
    discounted_payback_years: float | None


@dataclass(frozen=True)
class Terms:
    """What money costs on a site.

    Parameters
    ----------
    discount_share : float
        Discount rate a year, 0.05 for 5 %.
    escalation_share : float
        Rise of energy prices a year.
    study_years : int
        Years looked at.
    """

    discount_share: float
    escalation_share: float
    study_years: int


@dataclass(frozen=True)
class Kept:
    """Upkeep saved in a year, what is paid again within the years looked at, and what is left after them.

    Parameters
    ----------
    saved_year : float
        Upkeep of a year as things are, less that of the conversion [currency].
    replaced : tuple of Replacement
        What is paid again, and when.
    residual : float
        What is left after the last year [currency].
    as_is_year : float
        Upkeep of a year as things are [currency].
    """

    saved_year: float = 0.0
    replaced: tuple[Replacement, ...] = ()
    residual: float = 0.0
    as_is_year: float = 0.0


NOTHING_KEPT = Kept()
"""Where upkeep, replacements and what is left are not reckoned."""


@dataclass(frozen=True)
class Result:
    """What a conversion comes to. Money in the site's currency; None where there is no such number.

    Parameters
    ----------
    net_cost : float
        Investment less rebate.
    saving_year : float
        First year's saving of energy, demand and upkeep.
    first_year_short : float
        What the first year's saving lacks.
    simple_payback_years : float or None
        None: nothing is saved.
    npv : float
        Net present value.
    sir : float or None
        Savings-to-investment ratio.
    lcc, lcc_as_is : float
        Life-cycle cost of the conversion and of leaving things as they are.
    kept : Kept
        Upkeep, replacements and what is left.
    """

    net_cost: float
    saving_year: float
    first_year_short: float
    simple_payback_years: float | None
    npv: float
    sir: float | None
    lcc: float
    lcc_as_is: float
    kept: Kept = field(default=NOTHING_KEPT)


def npv(rate_share: float, flows: Sequence[float]) -> float:
    """Net present value of flows at the ends of years 0, 1, 2…

    Parameters
    ----------
    rate_share : float
        Discount rate a year.
    flows : sequence of float
        Money in, by year; the first is at once and not discounted.

    Returns
    -------
    float

    Examples
    --------
    Docstring of `npv` in numpy-financial 1.0.0:

    >>> round(npv(0.08, [-40_000, 5_000, 8_000, 12_000, 30_000]), 5)
    3065.22267
    """
    return float(sum(flow / (1 + rate_share) ** year for year, flow in enumerate(flows)))


def irr(flows: Sequence[float]) -> float | None:
    """Internal rate of return: the rate at which the present value is nil.

    Found by halving between −99 % and 1,000 % a year. Flows that change sign more than once may have
    several such rates, of which none says anything; they and those without any give None.

    Examples
    --------
    Docstring of `irr` in numpy-financial 1.0.0:

    >>> round(irr([-100, 39, 59, 55, 20]), 5), round(irr([-100, 0, 0, 74]), 4)
    (0.28095, -0.0955)
    >>> irr([-100, 100, 0, -7]) is None
    True
    """
    signs = [flow > 0 for flow in flows if flow]
    changes = sum(one != other for one, other in pairwise(signs))
    low, high = -0.99, LONGEST_RATE
    if changes != 1 or npv(low, flows) * npv(high, flows) > 0:
        return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if npv(middle, flows) * npv(low, flows) > 0 else (low, middle)
    return low


def annuity_factor(rate_share: float, years: int) -> float:
    """Present value of 1 at the end of each of so many years.

    >>> round(annuity_factor(0.10, 20), 4)
    8.5136
    """
    return npv(rate_share, [0.0] + [1.0] * years)


@lru_cache(maxsize=64)
def savings_factor(terms: Terms) -> float:
    """Present value of a saving of 1 in the first year that rises with energy prices over the years looked at.

    >>> round(savings_factor(Terms(0.05, 0.02, 12)), 4)
    9.7932
    """
    return npv(terms.discount_share, [0.0, *savings_by_year(1.0, terms)])


def simple_payback_years(cost: float, saving_year: float) -> float | None:
    """Years until savings at today's prices have paid the cost; None if nothing is saved.

    >>> simple_payback_years(12_000 - 2_000, 4_000)
    2.5
    """
    if cost <= 0:
        return 0.0
    return cost / saving_year if saving_year > 0 else None


def discounted_payback_years(rate_share: float, flows: Sequence[float]) -> float | None:
    """Years until the discounted sum of flows is no longer negative, straight lines within a year; None if never.

    >>> round(discounted_payback_years(0.10, [-20_000, 5_000, 8_000, 10_000, 10_000]), 3)
    3.195
    """
    total = flows[0]
    if total >= 0:
        return 0.0
    for year, flow in enumerate(flows[1:], 1):
        now = flow / (1 + rate_share) ** year
        if total + now >= 0:
            return year - 1 + -total / now
        total += now
    return None


def savings_by_year(saving_year: float, terms: Terms, first_year_short: float = 0.0) -> list[float]:
    """Savings of each year: today's, risen with energy prices from the second year on.

    `first_year_short` is what the first year lacks (a demand ratchet still bills the old peak).

    >>> [round(each, 2) for each in savings_by_year(100.0, Terms(0.05, 0.02, 3))]
    [100.0, 102.0, 104.04]
    """
    every = [saving_year * (1 + terms.escalation_share) ** year for year in range(terms.study_years)]
    return [every[0] - first_year_short, *every[1:]]


def rebate(
    cost: float, working_fixtures: int, saved_kw: float, each: float, per_kw: float, cap_share: float | None
) -> float:
    """Rebate: so much for each working fixture and each kW saved, no more than its share of the cost.

    >>> rebate(1_000.0, 40, 2.0, 12.0, 0.0, 0.40)
    400.0
    """
    sum_ = working_fixtures * each + max(saved_kw, 0.0) * per_kw
    return sum_ if cap_share is None else min(sum_, cap_share * cost)


def rebate_of_application(rebate_sum: float, most: float) -> float:
    """What one application pays: the rebates of its groups together, no more than its own limit (common practice).

    Parameters
    ----------
    rebate_sum : float
        Rebates of all groups in the application [currency].
    most : float
        Limit of one application [currency].

    >>> rebate_of_application(6_200.0, 5_000.0), rebate_of_application(4_999.0, 5_000.0)
    (5000.0, 4999.0)
    """
    return min(rebate_sum, most)


def hire_days(minutes: float, minutes_a_day: float = 420.0) -> int:
    """Days for which an access platform is hired: work in whole days of 7 h (common practice).

    >>> hire_days(421.0), hire_days(0.0)
    (2, 0)
    """
    return ceil(minutes / minutes_a_day)


def reckon(
    cost: float,
    rebate_sum: float,
    bill_now_year: float,
    bill_then_year: float,
    terms: Terms,
    first_year_short: float = 0.0,
    kept: Kept = NOTHING_KEPT,
) -> Result:
    """All figures of one conversion.

    Parameters
    ----------
    cost : float
        What it costs to carry out, waste included.
    rebate_sum : float
        What comes back at once.
    bill_now_year, bill_then_year : float
        Energy and demand of a year as things are and afterwards, at today's prices.
    terms : Terms
        Discount, rise of prices, years.
    first_year_short : float
        What the first year's saving lacks.
    kept : Kept
        Upkeep, replacements and what is left.

    Returns
    -------
    Result

    References
    ----------
    .. [1] 10 CFR 436 subpart A (methods and procedures of life-cycle cost analyses): net savings, SIR, AIRR.

    Examples
    --------
    >>> found = reckon(5_000.0, 0.0, 1_500.0, 0.0, Terms(0.10, 0.0, 5))
    >>> round(found.npv, 2), round(found.sir, 4), round(found.lcc, 2), round(found.lcc_as_is, 2)
    (686.18, 1.1372, 5000.0, 5686.18)
    """
    net, saving = cost - rebate_sum, bill_now_year - bill_then_year
    factor, annuity = savings_factor(terms), _annuity(terms)
    saved = saving * factor - first_year_short / (1 + terms.discount_share) + kept.saved_year * annuity
    invested = net + replaced_worth(kept, terms) - residual_worth(kept, terms)
    as_is = bill_now_year * factor + kept.as_is_year * annuity
    return Result(
        net_cost=net,
        saving_year=saving + kept.saved_year,
        first_year_short=first_year_short,
        simple_payback_years=simple_payback_years(net, saving + kept.saved_year),
        npv=saved - invested,
        sir=saved / invested if invested > 0 else None,
        lcc=as_is - saved + invested,
        lcc_as_is=as_is,
        kept=kept,
    )


@lru_cache(maxsize=64)
def _annuity(terms: Terms) -> float:
    return annuity_factor(terms.discount_share, terms.study_years)


def replaced_worth(kept: Kept, terms: Terms) -> float:
    """Present value of what is paid again within the years looked at.

    >>> round(replaced_worth(Kept(replaced=({"year": 2, "cost": 110.25},)), Terms(0.05, 0.0, 3)), 2)
    100.0
    """
    return sum(each["cost"] / (1 + terms.discount_share) ** each["year"] for each in kept.replaced)


def residual_worth(kept: Kept, terms: Terms) -> float:
    """Present value of what is left after the years looked at.

    >>> round(residual_worth(Kept(residual=121.0), Terms(0.10, 0.0, 2)), 2)
    100.0
    """
    return float(kept.residual / (1 + terms.discount_share) ** terms.study_years)


def airr_share(sir: float, terms: Terms) -> float:
    """Adjusted internal rate of return: (1 + r) · SIR^(1/n) − 1, as 10 CFR 436.22 has it.

    >>> round(airr_share(1.0, Terms(0.05, 0.0, 10)), 4)
    0.05
    """
    return float((1 + terms.discount_share) * sir ** (1 / terms.study_years) - 1)


def sensitivity(
    cost: float,
    rebate_sum: float,
    saving_energy_year: float,
    saving_demand_year: float,
    terms: Terms,
    first_year_short: float = 0.0,
    kept: Kept = NOTHING_KEPT,
) -> Sensitivity:
    """Payback, present value and ratio with hours, energy prices or cost 20 % lower, as they are, and 20 % higher.

    Hours act on energy alone, prices on energy and demand, what the first year lacks among it; the rebate stays as it is,
    and so do upkeep and replacements.

    Parameters
    ----------
    cost, rebate_sum : float
        What it costs to carry out, and what comes back at once.
    saving_energy_year : float
        What a year saves of energy at today's prices [currency].
    saving_demand_year : float
        What it saves of demand [currency].
    terms : Terms
        Discount, rise of prices, years.
    first_year_short : float
        What the first year's saving lacks.
    kept : Kept
        Upkeep, replacements and what is left.

    Returns
    -------
    dict
        `hours`, `tariff` and `cost`, each lower, as it is, higher: `simple_payback_years`, `npv`, `sir`.

    References
    ----------
    .. [1] One input at a time by a fixed share: common practice, no source.

    Examples
    --------
    Saves 80 of energy and 20 of demand a year, for ten years without interest:

    >>> found = sensitivity(1_000.0, 0.0, 80.0, 20.0, Terms(0.0, 0.0, 10))
    >>> [each["npv"] for each in found["hours"]], [each["npv"] for each in found["tariff"]]
    ([-160.0, 0.0, 160.0], [-200.0, 0.0, 200.0])
    >>> [each["npv"] for each in found["cost"]], [each["simple_payback_years"] for each in found["cost"]]
    ([200.0, 0.0, -200.0], [8.0, 10.0, 12.0])
    """

    def worth(hours: float, tariff: float, by_cost: float) -> AtRate:
        saving = (saving_energy_year * hours + saving_demand_year) * tariff
        shown = in_short(reckon(cost * by_cost, rebate_sum, saving, 0.0, terms, first_year_short * tariff, kept))
        return {"simple_payback_years": shown["simple_payback_years"], "npv": shown["npv"], "sir": shown["sir"]}

    return {
        "hours": [worth(swing, 1, 1) for swing in SWINGS],
        "tariff": [worth(1, swing, 1) for swing in SWINGS],
        "cost": [worth(1, 1, swing) for swing in SWINGS],
    }


def flows_of(result: Result, terms: Terms) -> list[float]:
    """Money by year: the net cost at once, then what each year saves.

    >>> flows_of(reckon(100.0, 10.0, 50.0, 0.0, Terms(0.0, 0.0, 2)), Terms(0.0, 0.0, 2))
    [-90.0, 50.0, 50.0]
    """
    saving = result.saving_year - result.kept.saved_year
    return flows_by_year(result.net_cost, saving, result.first_year_short, result.kept, terms)


def flows_by_year(
    net_cost: float, saving_year: float, first_year_short: float, kept: Kept, terms: Terms
) -> list[float]:
    """Money by year: the net cost at once, then savings and upkeep less what is paid again; what is left in the last.

    Parameters
    ----------
    net_cost : float
        Investment less rebate [currency].
    saving_year : float
        First year's saving of energy and demand [currency].
    first_year_short : float
        What the first year lacks [currency].
    kept : Kept
        Upkeep, replacements and what is left.
    terms : Terms
        Rise of energy prices, years.

    >>> flows_by_year(90.0, 50.0, 0.0, Kept(5.0, ({"year": 1, "cost": 20.0},), 7.0), Terms(0.0, 0.0, 2))
    [-90.0, 35.0, 62.0]
    """
    found = [-net_cost, *(each + kept.saved_year for each in savings_by_year(saving_year, terms, first_year_short))]
    for each in kept.replaced:
        found[each["year"]] -= each["cost"]
    found[-1] += kept.residual
    return found


def told(result: Result, terms: Terms) -> Whole:
    """The figures as they are shown, with discounted payback and rate of return: money to cents, others to four decimals.

    >>> terms = Terms(0.0, 0.0, 3)
    >>> shown = told(reckon(100.0, 0.0, 50.0, 0.0, terms), terms)
    >>> shown["simple_payback_years"], shown["irr_share"]
    (2.0, 0.2338)
    """
    flows = flows_of(result, terms)
    payback = discounted_payback_years(terms.discount_share, flows)
    return {**in_short(result), "irr_share": _shown(irr(flows), 4), "discounted_payback_years": _shown(payback, 4)}


def in_short(result: Result) -> InShort:
    """The figures that need no search, as they are shown: money to cents, others to four decimals.

    >>> in_short(reckon(100.0, 0.0, 50.0, 0.0, Terms(0.0, 0.0, 3)))["simple_payback_years"]
    2.0
    """
    return {
        "net_cost": _shown(result.net_cost, 2),
        "saving_year": _shown(result.saving_year, 2),
        "npv": _shown(result.npv, 2),
        "lcc": _shown(result.lcc, 2),
        "lcc_as_is": _shown(result.lcc_as_is, 2),
        "simple_payback_years": _shown(result.simple_payback_years, 4),
        "sir": _shown(result.sir, 4),
    }


def _shown(value: float | None, decimals: int) -> float | None:
    """As it is shown; never minus nothing."""
    return None if value is None else round(value, decimals) + 0.0
