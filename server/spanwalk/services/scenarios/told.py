"""What a scenario comes to beside today: money, items, light, saving, groups that do not pass; and what applying it writes."""

from __future__ import annotations

from collections import Counter
from typing import TypedDict

from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.plan_types import PlanInShort, proposal_of
from spanwalk.rules.site_order.first_answer import first_answer
from spanwalk.services.planning.plans import SitePlan, site_plan
from spanwalk.services.planning.totals import job_of_site
from spanwalk.services.scenarios.asked import ScenarioAsked
from spanwalk.services.scenarios.changing import Edit, edits_of, planned_with
from spanwalk.services.scenarios.weighing import is_weighed, weighed
from spanwalk.services.site_order.asked import Decided
from spanwalk.services.site_order.difference import planned_so, sums_of
from spanwalk.services.site_order.feasible import gather, refuse_without_money
from spanwalk.services.site_order.fixed import fixed_groups
from spanwalk.services.site_order.ordering import decided_by

NOT_PASSING = "nothing passes"


class Figures(TypedDict):
    """What the plan of a site comes to; sums are those of the ready groups together, None where one lacks its part.

    `light_pct` is today's light that is kept, the mean of the fixtures; `light_least_pct` the least of any group; `left` are
    groups that are left or deferred, `not_passing` those for which nothing passes, `open` those that lack something.
    """

    groups: int
    ready: int
    open: int
    left: int
    not_passing: int
    cost: float | None
    rebate: float | None
    net_cost: float | None
    npv: float | None
    simple_payback_years: float | None
    order_sum: float | None
    items: int
    days: int | None
    minutes: float | None
    kwh_saved: float | None
    saving_year: float | None
    light_pct: float | None
    light_least_pct: float | None


class ScenarioTold(TypedDict):
    """A scenario beside today.

    `edits` and `decided` are what is written where it is applied; `over_budget` says that even so it costs more than the
    budget; `changed` counts groups that become something else.
    """

    head: int
    currency: str
    today: Figures
    then: Figures
    changed: int
    over_budget: bool
    edits: list[Edit]
    decided: list[Decided]


def scenario_of(session: Session, site_id: str, asked: ScenarioAsked) -> ScenarioTold:
    """What a scenario comes to; nothing is written.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    asked : ScenarioAsked
        The scenario.

    Raises
    ------
    InTheWay
        The site has no money to change; a budget was set, and no group is ready, or the money of a ready one is not known.
    """
    found = site_plan(session, site_id)
    fixed = fixed_groups(session, site_id, found) if asked.get("budget") is not None else {}
    return scenario(found, asked, fixed)


def scenario(found: SitePlan, asked: ScenarioAsked, fixed: dict[str, str]) -> ScenarioTold:
    """The same of plans that are at hand; `fixed` are groups that no budget may leave out."""
    edits = edits_of(found, asked)
    budget = asked.get("budget")
    quick = bool(edits) and budget is None and is_weighed(edits)
    then = weighed(found, edits) if quick else planned_with(found, edits)
    decided, then = _within_budget(then, budget, fixed)
    figures = figures_of(then)
    return {
        "head": found.head,
        "currency": str(found.inputs.money.get("currency", "")),
        "today": figures_of(found),
        "then": figures,
        "changed": sum(_become(found.plans[id]) != _become(plan) for id, plan in then.plans.items()),
        "over_budget": budget is not None and (figures["cost"] is None or figures["cost"] > budget + 0.005),
        "edits": edits,
        "decided": decided,
    }


def _within_budget(then: SitePlan, budget: float | None, fixed: dict[str, str]) -> tuple[list[Decided], SitePlan]:
    """What is decided so that the job costs no more than the budget: by the quick answer of the best order, without a search."""
    cost = None if budget is None else job_of_site(then).totals["money"]["cost"]
    if budget is None or (cost is not None and cost <= budget):
        return [], then
    refuse_without_money(then)
    gathered = gather(then, {"budget": budget}, fixed)
    answer = first_answer(gathered.problem)
    if answer is None:
        return [], then
    decided = decided_by(then, gathered, answer.choice)
    return decided, planned_so(then, {each["group"]: each for each in decided})


def figures_of(found: SitePlan) -> Figures:
    """What the plan of a site comes to."""
    told = job_of_site(found).totals
    sums, states = sums_of(told), Counter(plan["state"] for plan in found.plans.values())
    lights = [(plan["fixtures"], _light(plan)) for plan in found.plans.values() if plan["state"] == "ready"]
    known = [(fixtures, light) for fixtures, light in lights if light is not None and fixtures]
    fixtures = sum(each for each, _ in known)
    return {
        "groups": len(found.plans),
        "ready": states["ready"],
        "open": states["open"],
        "left": states["left as it is"] + states["deferred"],
        "not_passing": states[NOT_PASSING],
        "cost": sums["cost"],
        "rebate": sums["rebate"],
        "net_cost": sums["net_cost"],
        "npv": sums["npv"],
        "simple_payback_years": _payback(sums["net_cost"], told["money"]["saving_year"]),
        "order_sum": sums["order_sum"],
        "items": sums["items"],
        "days": sums["days"],
        "minutes": sums["minutes"],
        "kwh_saved": sums["kwh_saved"],
        "saving_year": told["money"]["saving_year"],
        "light_pct": round(sum(n * light for n, light in known) / fixtures, 1) if fixtures else None,
        "light_least_pct": min((light for _, light in known), default=None),
    }


def _payback(net_cost: float | None, saving_year: float | None) -> float | None:
    """Years until what is paid has come back, nothing discounted; None where nothing is saved."""
    if net_cost is None or saving_year is None or saving_year <= 0:
        return None
    return round(max(0.0, net_cost) / saving_year, 2)


def _light(plan: PlanInShort) -> float | None:
    return proposal_of(plan)["light"].get("share_of_today_pct")


def _become(plan: PlanInShort) -> tuple[str, str | None]:
    return plan["state"], None if plan["proposal"] is None else plan["proposal"]["arrangement"]


__all__ = ["Figures", "ScenarioTold", "figures_of", "scenario", "scenario_of"]
