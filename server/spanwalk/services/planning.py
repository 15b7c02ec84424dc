"""The plan of every group of a site: gathered from its records, made by the rules, kept for as long as nothing in it changes."""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil
from typing import Any

from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import Body, Catalogue, Others, Record
from spanwalk.rules.arrangements.now import now
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.arrangements.site_figures import used_today
from spanwalk.rules.figures import SiteValue, Tables, with_site_values
from spanwalk.rules.judged import judge_groups
from spanwalk.rules.judging import RULES_VERSION
from spanwalk.rules.misfit import misfit_cost
from spanwalk.rules.points import readings
from spanwalk.rules.points.found import Seen, lengths_by_kind
from spanwalk.rules.survey import NOT_SEEN, Survey, facet, floor_order, mark_of, name_of_room, walk_order
from spanwalk.services.figures import site_values
from spanwalk.services.refusals import NotThere
from spanwalk.services.state import site_head, site_records

Json = Any
Plan = Mapping[str, Json]
KEPT_SITES = 8
LEADS_TO = {
    "ballast here feeds the neighbour": "fed from the neighbour's ballast",
    "fed from the neighbour's ballast": "ballast here feeds the neighbour",
}


@dataclass
class SitePlan:
    """The plans of one site.

    Parameters
    ----------
    head : int
        Sequence they hold for.
    survey : Survey
        The records they were made from.
    judged : mapping
        Fits by group id.
    plans : dict
        Plans by group id, in the order of the walk; of candidates only the proposal.
    bodies : dict
        What they were made from, by group id.
    made : int
        Plans that had to be made anew, for want of one from before.
    """

    head: int
    survey: Survey
    judged: Mapping[str, Json]
    plans: dict[str, Plan] = field(default_factory=dict)
    bodies: dict[str, Body] = field(default_factory=dict)
    prints: dict[str, str] = field(default_factory=dict)
    made: int = 0


_kept: OrderedDict[str, SitePlan] = OrderedDict()


def site_plan(session: Session, site_id: str) -> SitePlan:
    """The plans of a site's groups that are to be converted.

    Kept by the site's head; when it has moved, only groups of which something changed are planned anew.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    """
    head, before = site_head(session, site_id), _kept.get(site_id)
    if before is not None and before.head == head:
        _kept.move_to_end(site_id)
        return before
    made = make_plans(site_records(session, site_id), head, before, site_values(session, site_id))
    _kept[site_id] = made
    _kept.move_to_end(site_id)
    while len(_kept) > KEPT_SITES:
        _kept.popitem(last=False)
    return made


def make_plans(
    records: Iterable[Record], head: int = 0, before: SitePlan | None = None, own: Sequence[SiteValue] = ()
) -> SitePlan:
    """Plan every group among view records with the site's own figures, taking over from before what would come out the same."""
    records = list(records)
    laid, _ = with_site_values(tables(), own) if own else (tables(), [])
    survey = Survey(records)
    found = SitePlan(head, survey, judge_groups(survey, tables()))
    catalogue, money = Catalogue.of(records), _money(survey)
    common = _print([catalogue.bars, catalogue.drivers, catalogue.accessories, catalogue.prices, money, survey.site(), RULES_VERSION, [each.__dict__ for each in own]])
    doubts = doubts_of(survey, found.judged)
    bodies = {body.group["id"]: body for body in _bodies(survey, found.judged, catalogue, money, doubts, laid)}
    rooms = _light_of_rooms(bodies)
    for group_id in sorted(bodies, key=lambda id: _order(survey, bodies[id])):
        body = _with_others(bodies[group_id], rooms)
        partner = find_partner(survey, bodies, body)
        plan_of_partner = found.plans.get(partner.group["id"]) if partner and body.is_fed_by_neighbour else None
        body = _with_partner(body, partner, plan_of_partner)
        print_ = _print([common, body.group, body.kind, body.room, body.judged, body.others.__dict__, body.partner, body.doubts])
        found.prints[group_id] = print_
        if before is not None and before.prints.get(group_id) == print_:
            found.plans[group_id] = before.plans[group_id]
        else:
            # A copy, so that what it works out on the way is not kept for every group of a large site.
            found.plans[group_id] = plan_group(_changed(body), shown=0)
            found.made += 1
        found.bodies[group_id] = body
    found.plans = {id: found.plans[id] for id in sorted(found.plans, key=lambda id: _walk(survey, bodies[id]))}
    return found


def _print(value: Json) -> str:
    return hashlib.sha256(json.dumps(value, sort_keys=True, separators=(",", ":")).encode()).hexdigest()


def _money(survey: Survey) -> Mapping[str, Json]:
    records = survey.of_type("money")
    return facet(records[0], "identity") if records else {}


def doubts_of(survey: Survey, judged: Mapping[str, Json]) -> dict[str, list[dict[str, Json]]]:
    """Group id -> what is to be told of its readings that match another lamp or stand alone, until they are confirmed."""
    seen = Seen(survey, None, [], judged, lengths_by_kind(survey))
    found: dict[str, list[dict[str, Json]]] = {}
    for doubt in (*readings.reading_matches_another(seen), *readings.outlier(seen)):
        group = str(survey.by_id[doubt.record]["parent"])
        found.setdefault(group, []).append({name: doubt.facts[name] for name in ("as_entered", "position")})
    return found


def _bodies(
    survey: Survey,
    judged: Mapping[str, Json],
    catalogue: Catalogue,
    money: Mapping[str, Json],
    doubts: Mapping[str, list[dict[str, Json]]],
    laid: Tables,
) -> Iterable[Body]:
    """Every live group with a kind and a room; what is left as it is too, since a manager may look at it."""
    for group in survey.of_type("group"):
        kind, room = survey.kind_of(group), survey.room_of(group)
        if kind is not None and room is not None and survey.is_live(kind):
            fits = judged.get(group["id"], {})
            yield Body(
                group, kind, room, survey.site(), fits, catalogue, money, laid, doubts=doubts.get(group["id"], ())
            )


def _order(survey: Survey, body: Body) -> tuple[Json, ...]:
    """Feeding bodies before those that are fed from them; the rest in the order of the walk."""
    return (body.is_fed_by_neighbour, *_walk(survey, body))


def _walk(survey: Survey, body: Body) -> tuple[Json, ...]:
    floor = survey.floor_of(body.room)
    name = facet(body.room, "identity").get("number", "")
    return (floor_order(floor), walk_order(body.room), name, body.room["id"], mark_of(body.kind), body.group["id"])


def find_partner(survey: Survey, bodies: Mapping[str, Body], body: Body) -> Body | None:
    """The group in the same room that shares ballasts with this one; of several, the one with as many fixtures.

    Groups pair off in order of their ids, so that no feeding group is given to two fed ones.
    """
    other_way = LEADS_TO.get(body.neighbour_leads)
    if other_way is None:
        return None
    here = [each for each in bodies.values() if each.room["id"] == body.room["id"]]
    ours = sorted((each for each in here if each.neighbour_leads == body.neighbour_leads), key=_by_size)
    theirs = sorted((each for each in here if each.neighbour_leads == other_way), key=_by_size)
    place = [each.group["id"] for each in ours].index(body.group["id"])
    return theirs[place] if place < len(theirs) else None


def _by_size(body: Body) -> tuple[int, str]:
    return body.fixtures, body.group["id"]


def _with_partner(body: Body, partner: Body | None, plan: Plan | None) -> Body:
    if partner is None:
        return body
    return _changed(body, partner={"group": partner.group, "kind": partner.kind, "plan": plan})


OfRoom = tuple[str, float | None, float | None, tuple[Mapping[str, Json], ...]]


def _light_of_rooms(bodies: Mapping[str, Body]) -> dict[str, list[OfRoom]]:
    """Room id -> (group id, lumens, watts, figures of the site that they rest on) of each group in it today."""
    found: dict[str, list[OfRoom]] = {}
    for group_id, body in bodies.items():
        current = now(body)
        found.setdefault(body.room["id"], []).append((group_id, current.lumens, current.watts, used_today(body, current)))
    return found


def _with_others(body: Body, rooms: Mapping[str, list[OfRoom]]) -> Body:
    others = [each for each in rooms[body.room["id"]] if each[0] != body.group["id"]]
    known = all(lumens is not None and watts is not None for _, lumens, watts, _ in others)
    rest_on = tuple(note for each in others for note in each[3])
    return _changed(body, others=Others(sum(each[1] or 0 for each in others), sum(each[2] or 0 for each in others), known, rest_on))


def _changed(body: Body, **values: Json) -> Body:
    fields = {name: getattr(body, name) for name in Body.__dataclass_fields__}
    return Body(**fields | values)


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
    body = found.bodies[group_id]
    plan = plan_group(body)
    about = {"head": found.head, "rules_version": RULES_VERSION, "lux_readings": lux_of_room(found.survey, body.room), "currency": body.money.get("currency", "")}
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
    misfit = misfit_cost(proposal["fill_items"], body.catalogue.prices, body.money, access) if proposal is not None and at_risk else None
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
    """Every group's plan in short, with totals.

    Returns
    -------
    dict
        `{"head", "rules_version", "groups": […], "totals": {…}}`.
    """
    found = site_plan(session, site_id)
    groups = [short(found.survey, plan) for plan in found.plans.values()]
    return {"head": found.head, "rules_version": RULES_VERSION, "groups": groups, "totals": totals(found)}


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
            **{name: proposal["money"].get(name) for name in ("cost", "rebate", "saving_year", "simple_payback_years", "npv", "lcc")},
        }
    return told


def totals(found: SitePlan, states: tuple[str, ...] = ("ready",)) -> dict[str, Json]:
    """What the ready groups come to together: quantities with spares, energy, money and waste.

    Sums are left out (None) as soon as one group lacks the figure, so that no total hides a gap.
    Spares are the site's percentage of each item, rounded up.
    """
    plans = [plan for plan in found.plans.values() if plan["state"] in states]
    settings = facet(found.survey.site(), "settings")
    proposals = [plan["proposal"] for plan in plans]
    return {
        "groups": len(plans),
        "fixtures": sum(plan["fixtures"] for plan in plans),
        "quantities": quantities(proposals, float(settings.get("spare_pct", 0))),
        "energy": {name: _sum(each["energy"][name] for each in proposals) for name in ("kwh_now", "kwh_then", "kw_saved", "emission_saved_kg")},
        "money": {name: _sum(each["money"].get(name) for each in proposals) for name in ("cost", "rebate", "net_cost", "saving_year", "npv", "lcc", "lcc_as_is")},
        "minutes": _sum(each["minutes"] for each in proposals),
        "waste": waste_in_all(plans),
        "site_values": [*{str(each): each for plan in plans for each in plan["site_values"]}.values()],
    }


def quantities(proposals: Iterable[Mapping[str, Json]], spare_pct: float) -> list[dict[str, Json]]:
    """Items to order, by code: number fitted, spare (rounded up), and together.

    >>> quantities([{"parts": [{"item": "b", "code": "B", "count": 40}]}], 3)
    [{'item': 'b', 'code': 'B', 'fitted': 40, 'spare': 2, 'order': 42}]
    """
    fitted: dict[str, tuple[str, int]] = {}
    for proposal in proposals:
        for part in proposal["parts"]:
            fitted[part["item"]] = (part["code"], fitted.get(part["item"], ("", 0))[1] + part["count"])
    found = []
    for item, (code, number) in sorted(fitted.items(), key=lambda each: each[1]):
        spare = ceil(round(number * spare_pct / 100, 6))
        found.append({"item": item, "code": code, "fitted": number, "spare": spare, "order": number + spare})
    return found


def waste_in_all(plans: Iterable[Plan]) -> dict[str, Json]:
    """Lamps by length and ballasts by suspicion, counted over groups; ballasts that nobody counted apart."""
    lamps: dict[str, int] = {}
    ballasts = {"suspect": 0, "not suspect": 0, "not known": 0}
    batteries = assumed = 0
    for waste in (plan["waste"] for plan in plans):
        lamps[waste["lamp"]] = lamps.get(waste["lamp"], 0) + waste["lamps"]
        ballasts[waste["suspicion"]] += waste["ballasts"]
        batteries += waste["batteries"]
        assumed += waste["ballasts"] if waste["count_assumed"] else 0
    return {"lamps": dict(sorted(lamps.items())), "ballasts": ballasts, "ballasts_assumed": assumed, "batteries": batteries}


def _sum(values: Iterable[float | None]) -> float | None:
    found = list(values)
    known = [each for each in found if each is not None]
    return round(sum(known), 2) if len(known) == len(found) else None
