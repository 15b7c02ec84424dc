"""What other decisions change, before they are taken: money of the job, items, platform days, and group by group."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypedDict, cast

from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.plan import plan_in_short
from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.record_types import GroupView, KindView, RoomView
from spanwalk.rules.survey import facet, mark_of, name_of_room
from spanwalk.services.planning.plan_answers import Totals
from spanwalk.services.planning.plans import SitePlan, site_plan
from spanwalk.services.planning.totals import job_of_site
from spanwalk.services.refusals import NotThere
from spanwalk.services.scenarios.weighing import decided, with_decision
from spanwalk.services.site_order.asked import Decided, DecisionsAsked
from spanwalk.services.site_order.fixed import counted, fixed_groups, with_decided, with_partners

AS_RECOMMENDED, WITH_THIS, LEAVE, DEFER = (
    "convert-as-recommended",
    "convert-with-this-arrangement",
    "leave-as-is",
    "defer",
)
NOT_CONVERTED = (LEAVE, DEFER)


class Sums(TypedDict):
    """What the ready groups come to, by the job's own money.

    `left_lcc` is what groups cost as they are that are ready today and would be left or deferred: so that what is looked at
    is the same on both sides.
    """

    groups: int
    cost: float | None
    rebate: float | None
    net_cost: float | None
    npv: float | None
    lcc: float | None
    left_lcc: float
    order_sum: float | None
    items: int
    days: int | None
    minutes: float | None
    kwh_saved: float | None


class ItemChange(TypedDict):
    """An item of which another number is bought."""

    code: str
    today: int
    best: int


class Change(TypedDict):
    """A group of which something else is decided: what is written, and what it is instead of; no arrangement: none passes, or it is left."""

    group: str
    room_name: str
    floor_name: str
    mark: str
    fixtures: int
    today: str | None
    today_state: str
    best: str | None
    best_state: str
    light_today_pct: float | None
    light_best_pct: float | None
    decision: str
    arrangement: str | None


class Difference(TypedDict):
    """Other decisions beside today's; `saved` is what the life-cycle cost falls by, None where it is not known on both sides.

    With `each_item` given, what each different item costs beside its price is in it. `fixed` counts the groups that were
    asked for and are left alone, by why: `fitted`, `released`, `by-hand`.
    """

    head: int
    currency: str
    today: Sums
    best: Sums
    saved: float | None
    each_item: float
    items: list[ItemChange]
    changes: list[Change]
    fixed: dict[str, int]


def difference_of(session: Session, site_id: str, asked: DecisionsAsked) -> Difference:
    """What decisions would change, of the groups that may change.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    asked : DecisionsAsked
        What would be decided.

    Raises
    ------
    NotThere
        The site has no such group, or its kind is not known.
    """
    found = site_plan(session, site_id)
    wanted = asked["decided"]
    fixed = fixed_groups(session, site_id, found, [each["group"] for each in wanted])
    stays = with_partners(found, with_decided(found, fixed) if asked.get("keep_decided", True) else fixed)
    told = difference(found, [each for each in wanted if each["group"] not in stays], asked.get("each_item", 0.0))
    return {**told, "fixed": counted(stays, {each["group"] for each in wanted})}


def difference(found: SitePlan, wanted: Iterable[Decided], each_item: float = 0.0) -> Difference:
    """What decisions would change of plans that are at hand, whatever stands against it."""
    decisions = {each["group"]: each for each in wanted}
    for id in decisions:
        if id not in found.plans:
            raise NotThere("plan-group-unknown", value=id)
    best = planned_so(found, decisions)
    today_told, best_told = job_of_site(found).totals, job_of_site(best).totals
    left = [id for id, plan in found.plans.items() if plan["state"] == "ready" and best.plans[id]["state"] != "ready"]
    new = [id for id, plan in best.plans.items() if plan["state"] == "ready" and found.plans[id]["state"] != "ready"]
    today, after = sums_of(today_told, _as_is(best, new)), sums_of(best_told, _as_is(found, left))
    before, then = _worth(today, each_item), _worth(after, each_item)
    return {
        "head": found.head,
        "currency": str(found.inputs.money.get("currency", "")),
        "today": today,
        "best": after,
        "saved": None if before is None or then is None else round(before - then, 2),
        "each_item": each_item,
        "items": _items(today_told, best_told),
        "changes": [_change(found, best, each) for each in decisions.values()],
        "fixed": {},
    }


def planned_so(found: SitePlan, decisions: Mapping[str, Decided]) -> SitePlan:
    """The plans as they are once the decisions are written, as far as sums and changes look at them: see `weighing.weighed`."""
    plans = dict(found.plans)
    touched = {*decisions, *(found.inputs.partners.get(id, id) for id in decisions)}
    # Bodies that feed their neighbour come before those that are fed from it.
    for id in sorted(touched, key=lambda id: (found.inputs.is_fed(id), id)):
        written = decisions.get(id)
        value = value_of(written) if written else facet(cast("GroupView", found.survey.by_id[id]), "decision")
        plans[id] = decided(found, id, value) or plan_in_short(with_decision(found.inputs.body(id, plans), value))
    return replace(found, plans=plans)


def value_of(wanted: Decided) -> dict[str, object]:
    """The decision as it is written, without reason."""
    named = {"arrangement": wanted["arrangement"]} if "arrangement" in wanted else {}
    return {"decision": wanted["decision"], **named}


def _as_is(found: SitePlan, ids: Iterable[str]) -> float:
    proposals = (found.plans[id]["proposal"] for id in ids)
    return round(sum(each["money"].get("lcc_as_is") or 0.0 for each in proposals if each is not None), 2)


def sums_of(told: Totals, left_lcc: float = 0.0) -> Sums:
    """The sums of totals that are compared."""
    money = told["money"]
    return {
        "groups": told["groups"],
        "cost": money["cost"],
        "rebate": money["rebate"],
        "net_cost": money["net_cost"],
        "npv": money["npv"],
        "lcc": money["lcc"],
        "left_lcc": left_lcc,
        "order_sum": told["order_sum"],
        "items": sum(each["order"] > 0 for each in told["quantities"]),
        "days": money["days"],
        "minutes": told["minutes"],
        "kwh_saved": told["energy"]["kwh_saved"],
    }


def _worth(sums: Sums, each_item: float) -> float | None:
    return None if sums["lcc"] is None else sums["lcc"] + sums["left_lcc"] + each_item * sums["items"]


def _items(today: Totals, best: Totals) -> list[ItemChange]:
    before, after = ({each["code"]: each["bought"] for each in told["quantities"]} for told in (today, best))
    return [
        {"code": code, "today": before.get(code, 0), "best": after.get(code, 0)}
        for code in sorted({*before, *after})
        if before.get(code, 0) != after.get(code, 0)
    ]


def _change(found: SitePlan, best: SitePlan, wanted: Decided) -> Change:
    survey, id = found.survey, wanted["group"]
    before, after = found.plans[id], best.plans[id]
    room = cast("RoomView", survey.by_id[before["room"]])
    return {
        "group": id,
        "room_name": name_of_room(room),
        "floor_name": facet(survey.floor_of(room), "identity").get("name", ""),
        "mark": mark_of(cast("KindView", survey.by_id[before["kind"]])),
        "fixtures": before["fixtures"],
        "today": _arrangement(before),
        "today_state": before["state"],
        "best": _arrangement(after),
        "best_state": after["state"],
        "light_today_pct": _light(before),
        "light_best_pct": _light(after),
        "decision": wanted["decision"],
        "arrangement": wanted.get("arrangement"),
    }


def _arrangement(plan: PlanInShort) -> str | None:
    return None if plan["proposal"] is None else plan["proposal"]["arrangement"]


def _light(plan: PlanInShort) -> float | None:
    return None if plan["proposal"] is None else plan["proposal"]["light"].get("share_of_today_pct")


__all__ = [
    "Change",
    "Decided",
    "Difference",
    "Sums",
    "difference",
    "difference_of",
    "planned_so",
    "sums_of",
    "value_of",
]
