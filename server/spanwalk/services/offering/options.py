"""What an offer sets side by side: leaving all as it is, what is planned, the least to buy, and what was released."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.arrangements.plan_types import PlanInShort, Proposal, proposal_of
from spanwalk.rules.gear.checks import PASSES
from spanwalk.rules.survey import facet
from spanwalk.services.planning.job_sums import together
from spanwalk.services.planning.plan_answers import MoneySums, Needs
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.planning.totals import job_of, quantities, with_packs
from spanwalk.services.releases.sums import Figures, Released, after, basis_frozen, sold_frozen, sums

TODAY, PLANNED, LEANEST, RELEASED = "today", "planned", "leanest", "released"
WHOLE_MOST = 400
"""Groups that are planned once more, with their light and all that would do; of larger sites an offer tells less."""


@dataclass(frozen=True)
class Option:
    """One way for the whole site, as one job.

    Parameters
    ----------
    name : str
        `today`, `planned`, `leanest` or `released`.
    groups, fixtures, items : int
        How many of them are converted, and how many different items that takes.
    kwh_now, kwh_then : float or None
        Energy of a year of these groups [kWh]; None where one of them lacks it.
    share_pct : tuple or None
        Least and most light against today's among the groups [%].
    money : mapping
        Figures by name [currency]; of `today` only what the years cost if nothing is done.
    """

    name: str
    groups: int
    fixtures: int
    items: int
    kwh_now: float | None
    kwh_then: float | None
    share_pct: tuple[float, float] | None
    money: MoneySums


def leanest_of(found: SitePlan, plans: Sequence[PlanInShort]) -> list[PlanInShort] | None:
    """The same plans with the cheapest candidate of each group that passes; None where the site is too large for it.

    Bodies on one ballast stay as planned: what one gets the other depends on.
    """
    if len(plans) > WHOLE_MOST:
        return None
    return [_leanest(found, plan) for plan in plans]


def _leanest(found: SitePlan, plan: PlanInShort) -> PlanInShort:
    if plan["partner"] is not None:
        return plan
    chosen: Proposal = proposal_of(plan)
    for each in plan_group(found.body(plan["group"]))["feasible"]:
        cost, least = each["money"]["cost"], chosen["money"]["cost"]
        if each["verdict"] == PASSES and cost is not None and (least is None or cost < least):
            chosen = each
    return {**plan, "proposal": chosen}


def option_of(found: SitePlan, name: str, plans: Sequence[PlanInShort]) -> Option:
    """What some plans come to as one job."""
    settings = facet(found.survey.site(), "settings")
    needs: list[Needs] = [{"proposal": proposal_of(plan), "misfits": plan.get("misfits")} for plan in plans]
    bought = with_packs(quantities(needs, float(settings.get("spare_pct", 0))), found.survey)
    proposals = [proposal_of(plan) for plan in plans]
    return Option(
        name,
        len(plans),
        sum(plan["fixtures"] for plan in plans),
        len(bought),
        together(each["energy"]["kwh_now"] for each in proposals),
        together(each["energy"]["kwh_then"] for each in proposals),
        _span(each["light"].get("share_of_today_pct") for each in proposals),
        job_of(found, plans, together(each["sum"] for each in bought))["sums"],
    )


def released_option(releases: Sequence[Released]) -> Option | None:
    """What is in force after the newest release comes to, as it was frozen; None where nothing is released."""
    standing = [each for each in releases if not each.is_withdrawn and each.whole]
    if not standing:
        return None
    newest = standing[-1]
    figures = after(releases, newest.number)
    spare_pct = float(newest.whole.get("spare_pct", 0))
    told = sums(figures, basis_frozen(newest), sold_frozen(releases, newest.number), spare_pct)["sums"]
    energy = [_energy(each) for each in figures.values()]
    return Option(
        RELEASED,
        len(figures),
        sum(int(each.get("fixtures", 0)) for each in figures.values()),
        len({part["item"] for each in figures.values() for part in each.get("parts", [])}),
        together(now for now, _ in energy),
        together(then for _, then in energy),
        _span((each.get("light") or {}).get("share_of_today_pct") for each in figures.values()),
        told,
    )


def _energy(figures: Figures) -> tuple[float | None, float | None]:
    energy = figures.get("energy")
    return (energy["kwh_now"], energy["kwh_then"]) if energy else (None, None)


def today_option(planned: Option) -> Option:
    """Leaving all as it is: nothing is bought, and the years cost what they cost today."""
    money: Mapping[str, float | None] = {"cost": 0.0, "lcc": planned.money["lcc_as_is"]}
    return Option(
        TODAY,
        0,
        0,
        0,
        planned.kwh_now,
        planned.kwh_now,
        None,
        {
            "cost": 0.0,
            "rebate": None,
            "net_cost": 0.0,
            "saving_year": None,
            "saving_energy_year": None,
            "first_year_short": None,
            "npv": None,
            "lcc": money["lcc"],
            "lcc_as_is": money["lcc"],
        },
    )


def _span(shares: Iterable[float | None]) -> tuple[float, float] | None:
    known = [each for each in shares if each is not None]
    return (min(known), max(known)) if known else None


__all__ = [
    "LEANEST",
    "PLANNED",
    "RELEASED",
    "TODAY",
    "WHOLE_MOST",
    "Option",
    "leanest_of",
    "option_of",
    "released_option",
    "today_option",
]
