"""Money of several groups as one job: what they come to alone, what doing them together changes, and each one's part."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NotRequired, TypedDict, cast

from spanwalk.rules.money import money
from spanwalk.rules.money.job_money import Alone, JobStep, JobTerms, Limits, Share, job, shares_of
from spanwalk.rules.money.life_cycle import LifeTerms, LifeTold, told
from spanwalk.rules.money.life_cycle import added as added_terms
from spanwalk.rules.record_view import Facet
from spanwalk.services.planning.plan_answers import MoneySums

SUMMED = (
    "cost",
    "rebate",
    "net_cost",
    "saving_year",
    "saving_energy_year",
    "first_year_short",
    "npv",
    "lcc",
    "lcc_as_is",
)
"""Figures of money that are added up over groups."""


@dataclass(frozen=True)
class OfGroup:
    """Money of one group.

    Parameters
    ----------
    route : str
        What one platform serves without being brought again: its floor.
    sums : mapping
        Figures by the names in `SUMMED` [currency]; None or missing where one cannot be told.
    terms : mapping or None
        What is reckoned again for the job; None: not known, as of releases made before there were any.
    life : mapping or None
        What its present value is made of; None: not known, as above.
    """

    route: str
    sums: Mapping[str, float | None]
    terms: JobTerms | None
    life: LifeTerms | None = None


@dataclass(frozen=True)
class JobBasis:
    """What holds for a job as a whole, the discount rate a year, rise of energy prices and years looked at (0: not known)."""

    limits: Limits
    discount_share: float
    escalation_share: float = 0.0
    study_years: int = 0

    @property
    def terms(self) -> money.Terms | None:
        """Its terms of money; None where the years are not known."""
        if not self.study_years:
            return None
        return money.Terms(self.discount_share, self.escalation_share, self.study_years)


class FrozenBasis(TypedDict):
    """A basis as a release freezes it."""

    cap_share: float | None
    most: float | None
    ratchet_share: float | None
    meter_peak_kw: float | None
    discount_share: float
    escalation_share: NotRequired[float]
    study_years: NotRequired[int]


class JobSums(TypedDict):
    """Money of a job: see `MoneyTotals`."""

    sums: MoneySums
    alone: MoneySums
    steps: list[JobStep]
    days_alone: int | None
    days: int | None
    shares: dict[str, Share]
    life: LifeTold | None


def basis_of(set_: Facet) -> JobBasis:
    """What holds for a job by the site's money record."""
    share_of = {name: _share(set_.get(name)) for name in ("rebate_cap_pct", "ratchet_pct")}
    limits = Limits(
        share_of["rebate_cap_pct"],
        set_.get("rebate_cap_application"),
        share_of["ratchet_pct"],
        set_.get("meter_peak_kw"),
    )
    discount, escalation = float(set_.get("discount_pct", 0)) / 100, float(set_.get("escalation_pct", 0)) / 100
    return JobBasis(limits, discount, escalation, int(set_.get("study_years", 0)))


def frozen(basis: JobBasis) -> FrozenBasis:
    """A basis as a release freezes it."""
    limits = basis.limits
    return {
        "cap_share": limits.cap_share,
        "most": limits.most,
        "ratchet_share": limits.ratchet_share,
        "meter_peak_kw": limits.meter_peak_kw,
        "discount_share": basis.discount_share,
        "escalation_share": basis.escalation_share,
        "study_years": basis.study_years,
    }


def thawed(told: FrozenBasis) -> JobBasis:
    """A basis that a release froze."""
    limits = Limits(told["cap_share"], told["most"], told["ratchet_share"], told["meter_peak_kw"])
    return JobBasis(limits, told["discount_share"], told.get("escalation_share", 0.0), told.get("study_years", 0))


def job_sums(groups: Mapping[str, OfGroup], basis: JobBasis, goods_bought: float | None) -> JobSums:
    """Money of groups done as one job.

    Where a group lacks what is reckoned again, the groups' own figures are added up, and only the limit of an application
    holds for them together.

    Parameters
    ----------
    groups : mapping
        Group id -> its money.
    basis : JobBasis
        What holds for the job as a whole.
    goods_bought : float or None
        What is bought with spares in whole packs [currency]; None: not known.
    """
    alone = added(each.sums for each in groups.values())
    one_by_one = {id: known for id, each in groups.items() if (known := _alone(each)) is not None}
    if len(one_by_one) < len(groups) or alone["npv"] is None:
        sums = capped(alone, basis.limits.most)
        return {"sums": sums, "alone": alone, "steps": [], "days_alone": None, "days": None, "shares": {}, "life": None}
    found = job(list(one_by_one.values()), basis.limits, goods_bought)
    net = round(found["cost"] - found["rebate"], 2)
    more_short = found["first_year_short"] - (alone["first_year_short"] or 0.0)
    dearer = net - (alone["net_cost"] or 0.0) + more_short / (1 + basis.discount_share)
    sums = {
        **alone,
        "cost": found["cost"],
        "rebate": found["rebate"],
        "net_cost": net,
        "first_year_short": found["first_year_short"],
        "npv": _more(alone["npv"], -dearer),
        "lcc": _more(alone["lcc"], dearer),
    }
    return {
        "sums": sums,
        "alone": alone,
        "steps": found["steps"],
        "days_alone": found["days_alone"],
        "days": found["days"],
        "shares": shares_of(one_by_one, found, {id: each.sums.get("npv") for id, each in groups.items()}, sums["npv"]),
        "life": _life(groups, sums, basis),
    }


def _life(groups: Mapping[str, OfGroup], sums: MoneySums, basis: JobBasis) -> LifeTold | None:
    """What the job's present value is made of, and its figures; None where a group lacks its terms, or there is none.

    Cost, rebate and what the first year lacks are the job's own; what the first year lacks stands for the rest, so that the
    terms add up to the job's present value to the cent.
    """
    terms, net, npv = basis.terms, sums["net_cost"], sums["npv"]
    saving = sums["saving_year"]
    known = [each.life for each in groups.values() if each.life is not None]
    if terms is None or not known or len(known) < len(groups):
        return None
    if net is None or npv is None or saving is None:
        return None
    life = added_terms(known)
    savings = npv + net + life["replaced_worth"] - life["residual_worth"]
    lacking = round(life["energy_worth"] + life["upkeep_worth"] - savings, 2) + 0.0
    return told({**life, "short_worth": lacking}, net, saving, terms)


def _alone(group: OfGroup) -> Alone | None:
    cost, rebate, short = (group.sums.get(name) for name in ("cost", "rebate", "first_year_short"))
    if group.terms is None or cost is None or rebate is None or short is None:
        return None
    return Alone(group.route, cost, rebate, short, group.terms)


def added(every: Iterable[Mapping[str, float | None]]) -> MoneySums:
    """Money of several groups added up; None where one of them lacks the figure, so that no total hides a gap."""
    groups = list(every)
    return cast("MoneySums", {name: together(group.get(name) for group in groups) for name in SUMMED})


def capped(sums: MoneySums, limit: float | None) -> MoneySums:
    """Sums of groups with the rebate held to the limit of one application; what it falls short is paid in the first year.

    Parameters
    ----------
    sums : MoneySums
        `rebate` and what hangs on it.
    limit : float or None
        What one application pays at most [currency]; None: no limit.
    """
    rebate = sums["rebate"]
    if limit is None or rebate is None:
        return sums
    cut = round(rebate - money.rebate_of_application(rebate, limit), 2)
    return {
        **sums,
        "rebate": round(rebate - cut, 2),
        "net_cost": _more(sums["net_cost"], cut),
        "npv": _more(sums["npv"], -cut),
        "lcc": _more(sums["lcc"], cut),
    }


def together(values: Iterable[float | None]) -> float | None:
    """A sum to the cent; None where one of the values is missing."""
    found = list(values)
    known = [each for each in found if each is not None]
    return round(sum(known), 2) if len(known) == len(found) else None


def _share(value_pct: float | None) -> float | None:
    return None if value_pct is None else float(value_pct) / 100


def _more(value: float | None, by: float) -> float | None:
    return None if value is None else round(value + by, 2)
