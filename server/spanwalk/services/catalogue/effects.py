"""What taking changed items would do to a site's plan, and what uses an item."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypedDict, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.records import IDENTITY, PARENT
from spanwalk.rules.record_types import GroupView, KindView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.catalogue.firm import firm_catalogue
from spanwalk.services.catalogue.versions import FIRM, ITEM, Items, differing, read_items
from spanwalk.services.people.people import site_name
from spanwalk.services.planning.figures import site_values
from spanwalk.services.planning.inputs import inputs_of
from spanwalk.services.planning.plans import PLANNED_FROM, Plan, SitePlan, before_of, plans_from, site_plan
from spanwalk.services.planning.told import short
from spanwalk.services.sites import BUILDING
from spanwalk.services.sync.state import site_records
from spanwalk.storage.tables import Membership, Site
from spanwalk.storage.tables import Record as Row

GROUPS_MOST = 2000
"""Groups up to which a site is planned again to see what would come out; beyond it only what uses the items is counted."""
TOLD_MOST = 200
"""Groups told one by one."""


class Otherwise(TypedDict):
    """A group that would be planned otherwise: state and arrangement (None: nothing) before and after, and what it costs."""

    group: str
    room_name: str
    floor_name: str
    mark: str
    fixtures: int
    state_from: str
    state_to: str
    arrangement_from: str | None
    arrangement_to: str | None
    cost_from: float | None
    cost_to: float | None


class Using(TypedDict):
    """A kind of which groups are planned with a changed item now."""

    kind: str
    mark: str
    groups: int


class Effects(TypedDict):
    """What the plan would be if changed items were taken: see `effects`."""

    groups: int
    using: list[Using]
    otherwise: int | None
    told: list[Otherwise]


class SiteNamed(TypedDict):
    """A building and what it is called."""

    id: str
    name: str


class Use(TypedDict):
    """What uses an item: groups planned with it and their fixtures, of those the decided ones, trial bars, releases, sites."""

    item: str
    groups: int
    fixtures: int
    decided: int
    trial_bars: int
    releases: list[int]
    sites: list[SiteNamed]


class Uses(TypedDict):
    """What uses each item; those that nothing uses are left out."""

    uses: list[Use]


# -- what taking would do


def effects(session: Session, site_id: str, chosen: Sequence[str] | None = None) -> Effects:
    """What the plan would be if changed items were taken.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        A building's site.
    chosen : sequence of str, optional
        Ids of items; None: all that the firm changed.

    Returns
    -------
    dict
        ``{"groups", "using", "otherwise", "told"}``: groups of the site; by kind how many are planned with the changed
        items now; how many would be planned otherwise (None: the site is too large to be planned again for a question),
        and the first of them.
    """
    found = site_plan(session, site_id)
    firm_id = firm_catalogue(session)
    empty = Items({}, {})
    firm = empty if firm_id in (None, site_id) else read_items(session, str(firm_id))
    here = read_items(session, site_id)
    differences = differing(firm, here)
    wanted = {
        each["item"]
        for each in differences
        if (each["item"] in set(chosen) if chosen is not None else each["whose"] == FIRM)
    }
    told: Effects = {"groups": len(found.plans), "using": _using(found, wanted), "otherwise": None, "told": []}
    if len(found.plans) > GROUPS_MOST:
        return told
    records = _as_if_taken(site_records(session, site_id, types=PLANNED_FROM), firm, wanted, site_id)
    inputs = inputs_of(records, site_values(session, site_id), found.inputs.kinds_held)
    then = plans_from(inputs, found.head, before_of(found))
    otherwise = [each for each in (_otherwise(found, then, id) for id in found.plans) if each is not None]
    return {**told, "otherwise": len(otherwise), "told": otherwise[:TOLD_MOST]}


def _as_if_taken(records: Iterable[Record], firm: Items, wanted: set[str], site_id: str) -> list[Record]:
    """A site's records with the wanted items and their prices as the firm's catalogue has them."""
    theirs = {part["id"]: part for id in wanted for part in firm.parts(id)}
    kept = [each for each in records if each["id"] not in theirs]
    return [*kept, *(_hung(each, site_id) if each["type"] == ITEM else each for each in theirs.values())]


def _hung(item: Record, site_id: str) -> Record:
    facets = {**item["facets"], IDENTITY: {**facet(item, IDENTITY), PARENT: site_id}}
    return {**item, "parent": site_id, "facets": facets}


def _otherwise(found: SitePlan, then: SitePlan, id: str) -> Otherwise | None:
    before, after = (_in_short(each, id) for each in (found, then))
    if before == after:
        return None
    where = short(found.survey, found.plans[id])
    return {
        "group": id,
        "room_name": where["room_name"],
        "floor_name": where["floor_name"],
        "mark": where["mark"],
        "fixtures": where["fixtures"],
        "state_from": before[0],
        "state_to": after[0],
        "arrangement_from": before[1],
        "arrangement_to": after[1],
        "cost_from": before[2],
        "cost_to": after[2],
    }


def _in_short(plans: SitePlan, id: str) -> tuple[str, str | None, float | None]:
    plan = plans.plans[id]
    proposal = plan["proposal"]
    if proposal is None:
        return plan["state"], None, None
    return plan["state"], proposal["arrangement"], proposal["money"].get("cost")


def _using(found: SitePlan, wanted: set[str]) -> list[Using]:
    """Kinds of which groups are planned with one of the items now: mark and number of groups, most first."""
    counted: dict[str, int] = {}
    for plan in found.plans.values():
        if wanted & _items_of(plan):
            counted[plan["kind"]] = counted.get(plan["kind"], 0) + 1
    kinds = {kind: cast("KindView", found.survey.by_id[kind]) for kind in counted}
    marks = {id: str(facet(kind, "identity").get("mark", "")) for id, kind in kinds.items()}
    told: list[Using] = [{"kind": kind, "mark": marks[kind], "groups": groups} for kind, groups in counted.items()]
    return sorted(told, key=lambda each: (-each["groups"], each["mark"]))


def _items_of(plan: Plan) -> set[str]:
    proposal = plan["proposal"]
    return set() if proposal is None else {part["item"] for part in proposal["parts"]}


# -- what uses an item


def uses(session: Session, site_id: str, person: str) -> Uses:
    """What uses each item of a site's catalogue; items that nothing uses are not told.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        A building's site, or the firm's catalogue: then it is told which buildings have the item.
    person : str
        Who asks: only sites that they are on are named.

    Returns
    -------
    dict
        ``{"uses": [Use]}``.
    """
    found: dict[str, Use] = {}
    if session.execute(select(Site.kind).where(Site.id == site_id)).scalar_one() == BUILDING:
        _count_plans(site_plan(session, site_id), found)
        records = site_records(session, site_id, types=("trial_bar", "release"))
        _count_records(Survey(records), found)
    else:
        _count_sites(session, site_id, person, found)
    return {"uses": sorted(found.values(), key=lambda each: each["item"])}


def _use(found: dict[str, Use], item: str) -> Use:
    nothing: Use = {
        "item": item,
        "groups": 0,
        "fixtures": 0,
        "decided": 0,
        "trial_bars": 0,
        "releases": [],
        "sites": [],
    }
    return found.setdefault(item, nothing)


def _count_plans(plans: SitePlan, found: dict[str, Use]) -> None:
    for id, plan in plans.plans.items():
        group = cast("GroupView", plans.survey.by_id[id])
        decided = facet(group, "decision").get("decision") == "convert-with-this-arrangement"
        for item in _items_of(plan):
            use = _use(found, item)
            use["groups"] += 1
            use["fixtures"] += plan["fixtures"]
            use["decided"] += decided


def _count_records(survey: Survey, found: dict[str, Use]) -> None:
    for trial in survey.of_type("trial_bar"):
        identity = facet(trial, "identity")
        for item in {identity.get("bar"), identity.get("then_bar")} - {None}:
            _use(found, str(item))["trial_bars"] += 1
    for release in survey.of_type("release"):
        for item in facet(release, "identity").get("items") or {}:
            _use(found, item)["releases"].append(facet(release, "identity")["number"])


def _count_sites(session: Session, catalogue: str, person: str, found: dict[str, Use]) -> None:
    ours = select(Row.id).where(Row.site == catalogue, Row.type == ITEM)
    query = (
        select(Row.id, Row.site)
        .join(Membership, Membership.site == Row.site)
        .where(Row.id.in_(ours), Row.site != catalogue, Row.removed.is_(False))
        .where(Membership.person == person, Membership.ended_at.is_(None))
        .order_by(Row.site)
    )
    names: dict[str, str] = {}
    for item, site in session.execute(query):
        names[site] = names.get(site) or site_name(session, site)
        _use(found, item)["sites"].append({"id": site, "name": names[site]})


__all__ = ["Effects", "Otherwise", "SiteNamed", "Use", "Uses", "Using", "effects", "uses"]
