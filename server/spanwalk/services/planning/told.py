"""What is answered about plans: of one group, of a site page by page, in short."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.light.read_light import AFTER, BEFORE, read_in
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.arrangements.plan_types import Proposal
from spanwalk.rules.fit.misfit import misfit_cost
from spanwalk.rules.judging.judging import RULES_VERSION
from spanwalk.rules.money.job_money import Share
from spanwalk.rules.record_types import GroupView, KindView, RoomView
from spanwalk.rules.survey import NOT_SEEN, Survey, facet, mark_of, name_of_room
from spanwalk.services.planning.plan_answers import (
    FloorTold,
    LuxOfRoom,
    MeanLux,
    Page,
    PageAnswer,
    PlanAnswer,
    Risk,
    ShortPlan,
    SiteAnswer,
)
from spanwalk.services.planning.plans import Plan, SitePlan, site_plan
from spanwalk.services.planning.released import released_as_planned
from spanwalk.services.planning.room_light import light_of_room
from spanwalk.services.planning.totals import job_of_site
from spanwalk.services.refusals import NotThere

GROUPS_OF_A_PAGE = 200
"""Groups in one answer, about 1 kB each."""
NO_FLOOR = "none"


def plan_of_group(session: Session, site_id: str, group_id: str) -> PlanAnswer:
    """The plan of one group with all its candidates, and the head it holds for.

    Raises
    ------
    NotThere
        The site has no such group, or its kind is not known.
    """
    found = site_plan(session, site_id)
    if group_id not in found.plans:
        raise NotThere("plan-group-unknown", value=group_id)
    body = found.body(group_id)
    plan = plan_group(body)
    return {
        **plan,
        "head": found.head,
        "rules_version": RULES_VERSION,
        "lux_readings": lux_of_room(found.survey, body.room),
        "room_light": light_of_room(found, body.room),
        "currency": body.money.get("currency", ""),
        "risk": risk_of(body, plan["proposal"]),
    }


def risk_of(body: Body, proposal: Proposal | None) -> Risk:
    """What may still go wrong with the bars proposed.

    Returns
    -------
    dict
        `m` cavities not read, `could_be_shorter` of them, `measure_more` and `more_buys` (see `judging.judge_group`), and
        `misfit` (see `misfit.misfit_cost`), null where nothing is proposed or no cavity is left.
    """
    trusted = body.judged.get("trusted", {})
    access = body.of_room("ceiling").get("access", NOT_SEEN)
    at_risk = proposal is not None and trusted.get("m") != 0
    misfit = (
        misfit_cost(proposal["fill_items"], body.catalogue.prices, body.money, access)
        if proposal is not None and at_risk
        else None
    )
    return {
        "m": trusted.get("m"),
        "could_be_shorter": trusted.get("could_be_shorter"),
        "measure_more": body.judged.get("measure_more"),
        "more_buys": body.judged.get("more_buys"),
        "misfit": misfit,
    }


def lux_of_room(survey: Survey, room: RoomView) -> LuxOfRoom:
    """What was measured in a room, to stand beside the estimate: mean [lx] of the points that count, before and after."""

    def mean(when: str) -> MeanLux | None:
        read = read_in(survey, room, when)
        return None if read is None or not read["points"] else {"mean_lux": read["lux"], "points": read["points"]}

    return {"before": mean(BEFORE), "after": mean(AFTER)}


def plan_of_site(session: Session, site_id: str) -> SiteAnswer:
    """The plans of a site, floor by floor and group by group in short, with totals.

    Returns
    -------
    dict
        `{"head", "rules_version", "floors": [{"floor", "floor_name", "groups", "ready", "released"}], "catalogue", "groups": […], "next", "totals": {…}}`:
        ``groups`` and ``next`` as in `groups_of_site`, from the first group of the site on; ``catalogue`` is the name of the
        version of the firm's catalogue that the site has, None where it took none.
    """
    found = site_plan(session, site_id)
    job = job_of_site(found)
    return {
        "head": found.head,
        "rules_version": RULES_VERSION,
        "floors": floors_of(found, job.shares, released_as_planned(session, site_id, found)),
        "catalogue": facet(found.survey.site(), "catalogue").get("name"),
        **page_of(found, list(found.plans.values()), 0, job.shares),
        "totals": job.totals,
    }


def groups_of_site(session: Session, site_id: str, floor: str | None, start: int) -> PageAnswer:
    """A page of the plans in short, in the order of the walk.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    floor : str or None
        Only groups of this floor, `NO_FLOOR` those that are on none; None: of all.
    start : int
        How many groups are passed over.

    Returns
    -------
    dict
        `{"head", "groups": […], "next"}`: up to `GROUPS_OF_A_PAGE` groups, and where the next page starts, None after the last.
    """
    found = site_plan(session, site_id)
    plans = [plan for plan in found.plans.values() if floor is None or (_floor_of(found, plan) or NO_FLOOR) == floor]
    return {"head": found.head, **page_of(found, plans, start, job_of_site(found).shares)}


def page_of(found: SitePlan, plans: Sequence[Plan], start: int, shares: Mapping[str, Share]) -> Page:
    """Some of the plans in short, and where the next page starts."""
    end = start + GROUPS_OF_A_PAGE
    return {
        "groups": [_with_share(short(found.survey, plan), shares) for plan in plans[start:end]],
        "next": end if end < len(plans) else None,
    }


def _with_share(told: ShortPlan, shares: Mapping[str, Share]) -> ShortPlan:
    """A group with its part of the job's money, where it is ready and there is a sum."""
    share = shares.get(told["group"])
    if share is None:
        return told
    return {**told, "cost_share": share["cost"], "rebate_share": share["rebate"], "npv_share": share["npv"]}


def floors_of(found: SitePlan, shares: Mapping[str, Share], released: Container[str] = ()) -> list[FloorTold]:
    """Floors in the order of the walk: how many groups each has, how many are ready, how many of these are released as they are planned, and its part of the job's money."""
    floors: dict[str | None, FloorTold] = {}
    for plan in found.plans.values():
        floor = _floor_of(found, plan)
        name = facet(found.survey.by_id.get(floor or ""), "identity").get("name", "")
        told = floors.setdefault(floor, _nothing_on(floor, name))
        told["groups"] += 1
        told["ready"] += plan["state"] == "ready"
        told["released"] += plan["group"] in released
        share = shares.get(plan["group"])
        if share is not None:
            told["cost_share"] = round((told["cost_share"] or 0.0) + share["cost"], 2)
            told["rebate_share"] = round((told["rebate_share"] or 0.0) + share["rebate"], 2)
            npv = share["npv"]
            told["npv_share"] = None if npv is None else round((told["npv_share"] or 0.0) + npv, 2)
    return list(floors.values())


def _nothing_on(floor: str | None, name: str) -> FloorTold:
    return {
        "floor": floor,
        "floor_name": name,
        "groups": 0,
        "ready": 0,
        "released": 0,
        "cost_share": None,
        "rebate_share": None,
        "npv_share": None,
    }


def _floor_of(found: SitePlan, plan: Plan) -> str | None:
    floor = found.survey.floor_of(found.survey.by_id[plan["room"]])
    return floor["id"] if floor else None


def short(survey: Survey, plan: Plan) -> ShortPlan:
    """One line about a group: where, what, whether it is ready, what is proposed and what that comes to."""
    group = cast("GroupView", survey.by_id[plan["group"]])
    room, kind = cast("RoomView", survey.by_id[plan["room"]]), cast("KindView", survey.by_id[plan["kind"]])
    proposal = plan["proposal"]
    floor = survey.floor_of(room)
    told: ShortPlan = {
        "group": plan["group"],
        "room": room["id"],
        "room_name": name_of_room(room),
        "floor": floor["id"] if floor else None,
        "floor_name": facet(floor, "identity").get("name", ""),
        "kind": kind["id"],
        "mark": mark_of(kind),
        "note": facet(group, "identity").get("note", ""),
        "fixtures": plan["fixtures"],
        "state": plan["state"],
        "blockers": plan["blockers"],
        "instead": plan["instead"],
        "site_values": plan["site_values"],
        "arrangement": None,
    }
    if proposal is not None:
        told |= {
            "arrangement": proposal["arrangement"],
            "verdict": proposal["verdict"],
            "watts_now": plan["now"]["watts"],
            "watts_then": proposal["watts"],
            "share_of_today_pct": proposal["light"].get("share_of_today_pct"),
            "share_of_all_burning_pct": proposal["light"].get("share_of_all_burning_pct"),
            "cost": proposal["money"]["cost"],
            "rebate": proposal["money"]["rebate"],
            "saving_year": proposal["money"].get("saving_year"),
            "simple_payback_years": proposal["money"].get("simple_payback_years"),
            "npv": proposal["money"]["npv"],
            "lcc": proposal["money"]["lcc"],
        }
    return told
