"""The plan of every group of a site: made by the rules from its records, kept for as long as nothing in it changes."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil
from threading import Lock
from typing import Any, NamedTuple

from sqlalchemy.orm import Session

from spanwalk.rules import money
from spanwalk.rules.arrangements.body import Body, Record
from spanwalk.rules.arrangements.economics import terms_of
from spanwalk.rules.arrangements.plan import plan_group, plan_in_short
from spanwalk.rules.figures import SiteValue
from spanwalk.rules.judging import RULES_VERSION
from spanwalk.rules.misfit import misfit_cost
from spanwalk.rules.spares import enough_spares
from spanwalk.rules.survey import NOT_SEEN, Survey, facet, mark_of, name_of_room
from spanwalk.services.planning.figures import site_values
from spanwalk.services.planning.inputs import NO_PRINTS, Inputs, Prints, inputs_of
from spanwalk.services.refusals import NotThere
from spanwalk.services.sync.state import site_head, site_records

Json = Any
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
Plan = Mapping[str, Json]
GROUPS_OF_A_PAGE = 200
"""Groups in one answer, about 1 kB each."""
NO_FLOOR = "none"
KEPT_GROUPS = 40_000
"""Groups whose plans a process keeps, about 10 kB each with their records; the site asked for last is always kept."""
PLANNED_FROM = (
    "site",
    "money",
    "catalogue_item",
    "price",
    "floor",
    "room",
    "kind",
    "group",
    "cavity_reading",
    "trial_bar",
    "lux_reading",
)
"""Types of record that a plan is made from; the others would only take memory."""


@dataclass
class SitePlan:
    """The plans of one site.

    Parameters
    ----------
    head : int
        Sequence they hold for.
    inputs : Inputs
        What they were made from.
    plans : dict
        Plans in short by group id, in the order of the walk.
    prints : dict
        Group id -> what its judgement, and its plan, were made from; equal prints give equal plans.
    judged, made : int
        Judgements and plans that had to be made anew, for want of one from before.
    """

    head: int
    inputs: Inputs
    plans: dict[str, Plan] = field(default_factory=dict)
    prints: dict[str, tuple[bytes, bytes]] = field(default_factory=dict)
    judged: int = 0
    made: int = 0

    @property
    def survey(self) -> Survey:
        """The records they were made from."""
        return self.inputs.survey

    def body(self, group_id: str) -> Body:
        """A group with all that its plan hangs on, put together anew: too large to be kept for every group."""
        return self.inputs.body(group_id, self.plans)


_kept: OrderedDict[str, SitePlan] = OrderedDict()
_locks: dict[str, Lock] = {}


class Before(NamedTuple):
    """What is taken over from earlier plans of a site: they, and the prints of what they were made from."""

    plans: Mapping[str, Plan]
    prints: Mapping[str, tuple[bytes, bytes]]


NOTHING_BEFORE = Before({}, {})


def site_plan(session: Session, site_id: str) -> SitePlan:
    """The plans of a site's groups that are to be converted.

    Kept by the site's head; when it has moved, only groups of which something changed are planned anew. Who asks while
    another thread plans the site waits for it.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    """
    with _locks.setdefault(site_id, Lock()):
        head, kept = site_head(session, site_id), _kept.pop(site_id, None)
        if kept is None or kept.head != head:
            before = NOTHING_BEFORE if kept is None else Before(kept.plans, kept.prints)
            # The records read before are let go before they are read anew: a large site's take most of the memory.
            kept = None
            records = site_records(session, site_id, types=PLANNED_FROM)
            kept = make_plans(records, head, before, site_values(session, site_id))
        _kept[site_id] = kept
        while len(_kept) > 1 and sum(len(each.plans) for each in list(_kept.values())) > KEPT_GROUPS:
            _kept.popitem(last=False)
        return kept


def make_plans(
    records: Iterable[Record], head: int = 0, before: SitePlan | Before = NOTHING_BEFORE, own: Sequence[SiteValue] = ()
) -> SitePlan:
    """Plan every group among view records with the site's own figures, taking over from before what would come out the same.

    A group is judged again only if something changed that its judgement hangs on, its plan is made again only if that
    came out otherwise or something else changed that it hangs on.
    """
    inputs = inputs_of(records, own)
    found, prints = SitePlan(head, inputs), Prints(inputs)
    walk = sorted(inputs.places, key=inputs.walk)
    # Bodies that feed their neighbour come before those that are fed from it.
    for group_id in sorted(walk, key=inputs.is_fed):
        of_inputs = prints.of_inputs(group_id, found.plans)
        kept = before.prints.get(group_id, NO_PRINTS)
        if kept[0] == of_inputs:
            found.prints[group_id], found.plans[group_id] = kept, before.plans[group_id]
            continue
        body = found.body(group_id)
        found.judged += 1
        of_plan = prints.of_plan(group_id, found.plans, body.judged, body.partner.judged if body.partner else None)
        found.prints[group_id] = (of_inputs, of_plan)
        if kept[1] == of_plan:
            found.plans[group_id] = before.plans[group_id]
        else:
            found.plans[group_id] = plan_in_short(body)
            found.made += 1
    found.plans = {group_id: found.plans[group_id] for group_id in walk}
    return found


# -- what is asked


def plan_of_group(session: Session, site_id: str, group_id: str) -> Plan:
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
    about = {
        "head": found.head,
        "rules_version": RULES_VERSION,
        "lux_readings": lux_of_room(found.survey, body.room),
        "currency": body.money.get("currency", ""),
    }
    return plan | about | {"risk": risk_of(body, plan["proposal"])}


def risk_of(body: Body, proposal: Mapping[str, Json] | None) -> dict[str, Json]:
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
    said = {name: body.judged.get(name) for name in ("measure_more", "more_buys")}
    return {"m": trusted.get("m"), "could_be_shorter": trusted.get("could_be_shorter"), **said, "misfit": misfit}


def lux_of_room(survey: Survey, room: Record) -> dict[str, Json]:
    """What was measured in a room, to stand beside the estimate: mean [lx] and number of points, before and after."""
    found: dict[str, Json] = {}
    for when in ("before", "after"):
        readings = [facet(each, "identity") for each in survey.children(room, "lux_reading")]
        lux = [float(each["lux"]) for each in readings if each.get("when") == when]
        found[when] = {"mean_lux": round(sum(lux) / len(lux)), "points": len(lux)} if lux else None
    return found


def plan_of_site(session: Session, site_id: str) -> dict[str, Json]:
    """The plans of a site, floor by floor and group by group in short, with totals.

    Returns
    -------
    dict
        `{"head", "rules_version", "floors": [{"floor", "floor_name", "groups", "ready"}], "catalogue", "groups": […], "next", "totals": {…}}`:
        ``groups`` and ``next`` as in `groups_of_site`, from the first group of the site on; ``catalogue`` is the name of the
        version of the firm's catalogue that the site has, None where it took none.
    """
    found = site_plan(session, site_id)
    about = {"head": found.head, "rules_version": RULES_VERSION, "floors": floors_of(found)}
    about["catalogue"] = facet(found.survey.site(), "catalogue").get("name")
    return about | page_of(found, list(found.plans.values()), 0) | {"totals": totals(found)}


def groups_of_site(session: Session, site_id: str, floor: str | None, start: int) -> dict[str, Json]:
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
    return {"head": found.head} | page_of(found, plans, start)


def page_of(found: SitePlan, plans: Sequence[Plan], start: int) -> dict[str, Json]:
    """Some of the plans in short, and where the next page starts."""
    end = start + GROUPS_OF_A_PAGE
    return {
        "groups": [short(found.survey, plan) for plan in plans[start:end]],
        "next": end if end < len(plans) else None,
    }


def floors_of(found: SitePlan) -> list[dict[str, Json]]:
    """Floors in the order of the walk, each with how many groups it has and how many of them are ready."""
    floors: dict[str | None, dict[str, Json]] = {}
    for plan in found.plans.values():
        floor = _floor_of(found, plan)
        name = facet(found.survey.by_id.get(floor or ""), "identity").get("name", "")
        told = floors.setdefault(floor, {"floor": floor, "floor_name": name, "groups": 0, "ready": 0})
        told["groups"] += 1
        told["ready"] += plan["state"] == "ready"
    return list(floors.values())


def _floor_of(found: SitePlan, plan: Plan) -> str | None:
    floor = found.survey.floor_of(found.survey.by_id[plan["room"]])
    return floor["id"] if floor else None


def short(survey: Survey, plan: Plan) -> dict[str, Json]:
    """One line about a group: where, what, whether it is ready, what is proposed and what that comes to."""
    group = survey.by_id[plan["group"]]
    room, kind, proposal = survey.by_id[plan["room"]], survey.by_id[plan["kind"]], plan["proposal"]
    floor = survey.floor_of(room)
    told = {
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
            **{
                name: proposal["money"].get(name)
                for name in ("cost", "rebate", "saving_year", "simple_payback_years", "npv", "lcc")
            },
        }
    return told


def totals(found: SitePlan, states: tuple[str, ...] = ("ready",)) -> dict[str, Json]:
    """What the ready groups come to together: quantities with spares, energy, money and waste.

    Sums are left out (None) as soon as one group lacks the figure, so that no total hides a gap.
    Spares are the site's percentage of each item, rounded up, and shorter bars for misfits.
    """
    plans = [plan for plan in found.plans.values() if plan["state"] in states]
    settings = facet(found.survey.site(), "settings")
    proposals = [plan["proposal"] for plan in plans]
    sums = {name: _sum(each["money"].get(name) for each in proposals) for name in SUMMED}
    return {
        "groups": len(plans),
        "fixtures": sum(plan["fixtures"] for plan in plans),
        "quantities": quantities(plans, float(settings.get("spare_pct", 0))),
        "without_shorter": without_shorter(plans),
        "energy": {
            name: _sum(each["energy"][name] for each in proposals)
            for name in ("kwh_now", "kwh_then", "kw_saved", "emission_saved_kg")
        },
        "money": {**sums, "sensitivity": _sensitivity(sums, found.inputs.money)},
        "minutes": _sum(each["minutes"] for each in proposals),
        "waste": waste_in_all(plans),
        "site_values": [*{str(each): each for plan in plans for each in plan["site_values"]}.values()],
    }


def _sensitivity(sums: Mapping[str, float | None], terms_from: Mapping[str, Json]) -> dict[str, Json] | None:
    """What the sums together hang on, as `money.sensitivity` has it; None where one of them is missing."""
    needed = [sums[name] for name in ("cost", "rebate", "saving_energy_year", "saving_year", "first_year_short")]
    terms, _ = terms_of(terms_from)
    if terms is None or any(each is None for each in needed):
        return None
    cost, rebate, energy, saving, short = (each or 0.0 for each in needed)
    return money.sensitivity(cost, rebate, energy, saving - energy, terms, short)


def quantities(plans: Iterable[Plan], spare_pct: float) -> list[dict[str, Json]]:
    """Items to order, by code: number fitted, spare for breakage (rounded up), for misfits, and together.

    Bars for misfits are of the next shorter row, enough at 95 % for all groups that would take the same
    (`spares.enough_spares`); `why` says for how many cavities that is, null where there are none.

    >>> quantities([{"proposal": {"parts": [{"item": "b", "code": "B", "count": 40}]}}], 3)
    [{'item': 'b', 'code': 'B', 'fitted': 40, 'spare': 2, 'for_misfits': 0, 'order': 42, 'why': None}]
    """
    plans = list(plans)
    fitted: dict[str, tuple[str, int]] = {}
    for plan in plans:
        for part in plan["proposal"]["parts"]:
            fitted[part["item"]] = (part["code"], fitted.get(part["item"], ("", 0))[1] + part["count"])
    ready = _ready_for_misfits(plans)
    for item, (code, _, _) in ready.items():
        fitted.setdefault(item, (code, 0))
    found = []
    for item, (code, number) in sorted(fitted.items(), key=lambda each: each[1]):
        spare = ceil(round(number * spare_pct / 100, 6))
        _, for_misfits, why = ready.get(item, (code, 0, None))
        found.append(
            {
                "item": item,
                "code": code,
                "fitted": number,
                "spare": spare,
                "for_misfits": for_misfits,
                "order": number + spare + for_misfits,
                "why": why,
            }
        )
    return found


def _ready_for_misfits(plans: Iterable[Plan]) -> dict[str, tuple[str, int, dict[str, Json]]]:
    """Item id -> code, bars that lie ready for misfits, and why, for those that need any."""
    groups: dict[tuple[str, str, int], list[Mapping[str, Json]]] = {}
    for misfits in _misfits(plans):
        for each in misfits["spare"]:
            groups.setdefault((each["item"], each["code"], each["count"]), []).append(misfits)
    found: dict[str, tuple[str, int, dict[str, Json]]] = {}
    for (item, code, count), theirs in sorted(groups.items()):
        facts = _misfits_together(theirs)
        bars = count * (enough_spares(facts["expected"]) + facts["accepted"] + facts["aside"])
        if bars:
            before = found[item][1] if item in found else 0
            found[item] = (code, before + bars, {"code": "plan.spares.misfits", "facts": facts})
    return found


def _misfits(plans: Iterable[Plan]) -> list[Mapping[str, Json]]:
    return [plan["misfits"] for plan in plans if plan.get("misfits")]


def _misfits_together(theirs: Iterable[Mapping[str, Json]]) -> dict[str, Json]:
    sums = {name: sum(each[name] for each in theirs) for name in ("cavities", "expected", "accepted", "aside")}
    return sums | {"expected": round(sums["expected"], 2)}


def without_shorter(plans: Iterable[Plan]) -> dict[str, Json] | None:
    """Misfits for which the catalogue has no shorter row of bars, as a code and facts; None where none is to be ready for."""
    theirs = [each for each in _misfits(plans) if not each["spare"]]
    facts = _misfits_together(theirs)
    number = enough_spares(facts["expected"]) + facts["accepted"] + facts["aside"]
    return {"code": "plan.spares.none-shorter", "facts": {**facts, "number": number}} if number else None


def waste_in_all(plans: Iterable[Plan]) -> dict[str, Json]:
    """Lamps by length, ballasts by suspicion and batteries by what is in them, counted over groups; ballasts that nobody counted apart."""
    lamps: dict[str, int] = {}
    ballasts = {"suspect": 0, "not suspect": 0, "not known": 0}
    batteries: dict[str, int] = {}
    assumed = 0
    for waste in (plan["waste"] for plan in plans):
        lamps[waste["lamp"]] = lamps.get(waste["lamp"], 0) + waste["lamps"]
        ballasts[waste["suspicion"]] += waste["ballasts"]
        if waste["batteries"]:
            batteries[waste["battery"]] = batteries.get(waste["battery"], 0) + waste["batteries"]
        assumed += waste["ballasts"] if waste["count_assumed"] else 0
    return {
        "lamps": dict(sorted(lamps.items())),
        "ballasts": ballasts,
        "ballasts_assumed": assumed,
        "batteries": dict(sorted(batteries.items())),
    }


def _sum(values: Iterable[float | None]) -> float | None:
    found = list(values)
    known = [each for each in found if each is not None]
    return round(sum(known), 2) if len(known) == len(found) else None
