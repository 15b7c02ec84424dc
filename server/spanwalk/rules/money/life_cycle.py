"""Life-cycle figures of a conversion, each with the terms it is made of.

Names and definitions are those of NIST Handbook 135, whose rules are 10 CFR 436 subpart A: 436.19 life-cycle costs, 436.20
net savings and 436.22 adjusted internal rate of return (read), 436.21 savings-to-investment ratio (in part read, its
numerator from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import accumulate
from typing import TypedDict

from spanwalk.rules.money import money
from spanwalk.rules.money.upkeep import Replacement


class LifeTerms(TypedDict):
    """What the present value of a conversion is made of [currency], to the cent.

    `…_worth` are present values. Net present value is energy + upkeep + residual − short − replaced − net cost.

    Parameters
    ----------
    energy_worth : float
        Energy and demand saved over the years.
    upkeep_worth : float
        Upkeep saved over the years.
    short_worth : float
        What the first year lacks.
    replaced_worth : float
        What is paid again within the years.
    residual_worth : float
        What is left after the last year.
    upkeep_year, residual : float
        Upkeep saved in a year, and what is left, at today's prices.
    replaced : list of Replacement
        What is paid again, and when.
    """

    energy_worth: float
    upkeep_worth: float
    short_worth: float
    replaced_worth: float
    residual_worth: float
    upkeep_year: float
    residual: float
    replaced: list[Replacement]


class Measures(TypedDict):
    """Figures that are made of the terms; None where there is no such number.

    `savings_worth` and `investment_worth` are what the ratio divides; `flows` money by year, the first at once; `worth_so_far`
    their sum up to each year in present values, of which the last is the net present value.
    """

    npv: float
    savings_worth: float
    investment_worth: float
    sir: float | None
    airr_share: float | None
    irr_share: float | None
    simple_payback_years: float | None
    discounted_payback_years: float | None
    flows: list[float]
    worth_so_far: list[float]


class LifeTold(TypedDict):
    """Terms and figures with what they rest on: rates a year and years looked at."""

    terms: LifeTerms
    measures: Measures
    net_cost: float
    saving_year: float
    discount_share: float
    escalation_share: float
    study_years: int


def terms_of(result: money.Result, terms: money.Terms) -> LifeTerms:
    """The terms of one conversion, in cents; rounding falls to the largest, energy, so that they add up to the present value."""
    kept = result.kept
    found = {
        "upkeep_worth": _cents(kept.saved_year * money.annuity_factor(terms.discount_share, terms.study_years)),
        "short_worth": _cents(result.first_year_short / (1 + terms.discount_share)),
        "replaced_worth": _cents(money.replaced_worth(kept, terms)),
        "residual_worth": _cents(money.residual_worth(kept, terms)),
    }
    others = found["upkeep_worth"] + found["residual_worth"] - found["short_worth"] - found["replaced_worth"]
    return {
        "energy_worth": _cents(_cents(result.npv) + _cents(result.net_cost) - others),
        "upkeep_worth": found["upkeep_worth"],
        "short_worth": found["short_worth"],
        "replaced_worth": found["replaced_worth"],
        "residual_worth": found["residual_worth"],
        "upkeep_year": _cents(kept.saved_year),
        "residual": _cents(kept.residual),
        "replaced": [{"year": each["year"], "cost": _cents(each["cost"])} for each in kept.replaced],
    }


def added(every: Iterable[LifeTerms]) -> LifeTerms:
    """Terms of several groups added up; what is paid again in one year stands together.

    >>> one = {"energy_worth": 10.0, "upkeep_worth": 0.1, "short_worth": 0.0, "replaced_worth": 2.0, "residual_worth": 1.0, "upkeep_year": 0.01, "residual": 1.5, "replaced": [{"year": 5, "cost": 2.5}]}
    >>> both = added([one, one])
    >>> both["energy_worth"], both["upkeep_worth"], both["replaced"]
    (20.0, 0.2, [{'year': 5, 'cost': 5.0}])
    """
    groups = list(every)
    by_year: dict[int, float] = {}
    for each in (paid for group in groups for paid in group["replaced"]):
        by_year[each["year"]] = by_year.get(each["year"], 0.0) + each["cost"]
    return {
        "energy_worth": _cents(sum(each["energy_worth"] for each in groups)),
        "upkeep_worth": _cents(sum(each["upkeep_worth"] for each in groups)),
        "short_worth": _cents(sum(each["short_worth"] for each in groups)),
        "replaced_worth": _cents(sum(each["replaced_worth"] for each in groups)),
        "residual_worth": _cents(sum(each["residual_worth"] for each in groups)),
        "upkeep_year": _cents(sum(each["upkeep_year"] for each in groups)),
        "residual": _cents(sum(each["residual"] for each in groups)),
        "replaced": [{"year": year, "cost": _cents(cost)} for year, cost in sorted(by_year.items())],
    }


def told(life: LifeTerms, net_cost: float, saving_year: float, terms: money.Terms) -> LifeTold:
    """Terms of a group or a job with the figures that they make.

    Parameters
    ----------
    life : LifeTerms
        Its terms.
    net_cost : float
        Investment less rebate [currency].
    saving_year : float
        First year's saving of energy, demand and upkeep together [currency].
    terms : money.Terms
        Discount, rise of energy prices, years.

    Returns
    -------
    LifeTold
        Money to the cent, others to four decimals.

    References
    ----------
    .. [1] 10 CFR 436.21: savings of energy and of operation and maintenance over the net increase of investment and
       replacement less salvage, all in present values. 436.22: the n-th root of the ratio of what savings come to at the end of
       the years to the same denominator, less one.
    """
    savings = _cents(life["energy_worth"] + life["upkeep_worth"] - life["short_worth"])
    invested = _cents(net_cost + life["replaced_worth"] - life["residual_worth"])
    sir = savings / invested if invested > 0 else None
    flows = _flows(life, net_cost, terms)
    present = (flow / (1 + terms.discount_share) ** year for year, flow in enumerate(flows))
    payback = money.discounted_payback_years(terms.discount_share, flows)
    airr = money.airr_share(sir, terms) if sir is not None and sir > 0 else None
    return {
        "terms": life,
        "measures": {
            "npv": _cents(savings - invested),
            "savings_worth": savings,
            "investment_worth": invested,
            "sir": _four(sir),
            "airr_share": _four(airr),
            "irr_share": _four(money.irr(flows)),
            "simple_payback_years": _four(money.simple_payback_years(net_cost, saving_year)),
            "discounted_payback_years": _four(payback),
            "flows": [_cents(each) for each in flows],
            "worth_so_far": [_cents(each) for each in accumulate(present)],
        },
        "net_cost": _cents(net_cost),
        "saving_year": _cents(saving_year),
        "discount_share": terms.discount_share,
        "escalation_share": terms.escalation_share,
        "study_years": terms.study_years,
    }


def _flows(life: LifeTerms, net_cost: float, terms: money.Terms) -> list[float]:
    """Money by year, taken back from the present values, so that it comes to them to the cent for many groups as for one."""
    once, annuity = 1 + terms.discount_share, money.annuity_factor(terms.discount_share, terms.study_years)
    paid = money.replaced_worth(kept_of(life), terms)
    share = life["replaced_worth"] / paid if paid else 0.0
    replaced = tuple(Replacement(year=each["year"], cost=each["cost"] * share) for each in life["replaced"])
    left = life["residual_worth"] * once**terms.study_years
    kept = money.Kept(life["upkeep_worth"] / annuity, replaced, left)
    saving = life["energy_worth"] / money.savings_factor(terms)
    return money.flows_by_year(net_cost, saving, life["short_worth"] * once, kept, terms)


def kept_of(life: LifeTerms) -> money.Kept:
    """Upkeep, replacements and what is left, as the terms have them."""
    return money.Kept(life["upkeep_year"], tuple(life["replaced"]), life["residual"])


def _cents(value: float) -> float:
    return round(value, 2) + 0.0


def _four(value: float | None) -> float | None:
    return None if value is None else round(value, 4) + 0.0
