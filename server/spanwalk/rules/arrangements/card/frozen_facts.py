"""The facts on which a conversion rests, frozen with its release, so that a phone can tell later whether they still hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NotRequired, TypedDict

from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.plan_types import PlanInShort, Proposal, proposal_of
from spanwalk.rules.fit.sampling import counting, questions_of
from spanwalk.rules.gear.driver_in_body import ways_beside, ways_to_lie
from spanwalk.rules.judging.judged import ToJudge
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.record_view import Facet, Record, Tables
from spanwalk.rules.since_release.seen import SIDES, facet_of_item, plain
from spanwalk.rules.survey import facet

EMERGENCY_PACK = "emergency-pack"


Saids = Mapping[str, Mapping[str, object]]
"""What a record said, by facet and field."""


class Verdict(TypedDict):
    """The verdict on the row of bars."""

    verdict: str


class FrozenSpread(TypedDict):
    """Spread within the other groups of a kind: squares [1/320 mm, squared; as text], degrees of freedom."""

    squares_ticks2: str
    degrees: int


class Fitted(TypedDict):
    """Ids of what is fitted beside bars."""

    drivers: list[str]
    packs: list[str]
    others: list[str]


class FrozenFacts(Fitted):
    """What a conversion rests on: see `frozen_facts`."""

    group: NotRequired[Saids]
    kind: NotRequired[Saids]
    room: NotRequired[Saids]
    site: NotRequired[Saids]
    arrangement: str
    bars: list[str]
    ways: list[list[int]]
    fit: Verdict
    spread: FrozenSpread
    readings: int
    questions: list[str]
    conflicts: list[str]
    partner: NotRequired[str]


class FrozenItem(TypedDict):
    """A catalogue item as it is frozen: its code and, by the facet that says what it is, what is compared later."""

    code: str
    bar: NotRequired[Mapping[str, object]]
    driver: NotRequired[Mapping[str, object]]
    accessory: NotRequired[Mapping[str, object]]
    seq: NotRequired[int]


def frozen_facts(
    plan: PlanInShort, body: Body, judge: ToJudge, items: Mapping[str, CatalogueItemView], partner: str | None
) -> FrozenFacts:
    """What `standing_changes.changes_of` holds later records against.

    Parameters
    ----------
    plan : mapping
        A ready plan.
    body : Body
        The group it is of.
    judge : ToJudge
        What the judgement of its readings hangs on.
    items : mapping
        Catalogue items by id.
    partner : str or None
        Group on the same ballasts.

    Returns
    -------
    dict
        ``group``, ``kind``, ``room``, ``site``: what their facets said, without what is never looked at; ``arrangement``;
        ``bars`` in the order they lie, ``drivers``, ``packs``, ``others``: item ids; ``ways`` of laying the drivers [1/320 mm];
        ``fit`` with its verdict; ``spread`` within the other groups of the kind [1/320 mm, squared; as text]; ``readings``, how many with
        trial bars; ``conflicts`` and ``questions`` that were known; ``partner`` where there is one.
    """
    proposal = proposal_of(plan)
    records = {"group": body.group, "kind": body.kind, "room": body.room, "site": body.site}
    parts = _parts(proposal, items)
    facts: FrozenFacts = {
        "arrangement": proposal["arrangement"],
        "bars": list(proposal["fill_items"]),
        "drivers": parts["drivers"],
        "packs": parts["packs"],
        "others": parts["others"],
        "ways": _ways(proposal, body, parts, items),
        "fit": {"verdict": proposal["fit"]["verdict"]},
        "spread": {"squares_ticks2": str(judge.elsewhere.squares_ticks2), "degrees": judge.elsewhere.degrees},
        "readings": len(judge.readings) + len(judge.trials),
        "questions": sorted(questions_of(counting(judge.readings), body.kind, body.tables)),
        "conflicts": sorted(each["id"] for record in records.values() for each in record["conflicts"]),
    }
    if group := _said("group", body.group, body.tables):
        facts["group"] = group
    if kind := _said("kind", body.kind, body.tables):
        facts["kind"] = kind
    if room := _said("room", body.room, body.tables):
        facts["room"] = room
    if site := _said("site", body.site, body.tables):
        facts["site"] = site
    if partner:
        facts["partner"] = partner
    return facts


def frozen_item(item: CatalogueItemView, tables: Tables) -> FrozenItem:
    """What of a catalogue item is frozen with a release: its code and what is compared or judged later."""
    name = facet_of_item(item) or "accessory"
    said = dict(_fields(_looked_at(tables).get(("item", name), {}), facet(item, name)))
    if name == "bar":
        return {"code": code_of(item), "bar": said}
    return {"code": code_of(item), "driver": said} if name == "driver" else {"code": code_of(item), "accessory": said}


def _looked_at(tables: Tables) -> dict[tuple[str, str], dict[str, str]]:
    """Record and facet -> field -> class, as the table says."""
    found: dict[tuple[str, str], dict[str, str]] = {}
    for row in tables["standing"]["rows"]:
        found.setdefault((row["record"], row["facet"]), {})[row["field"]] = row["class"]
    return found


def _said(name: str, record: Record, tables: Tables) -> dict[str, dict[str, object]]:
    """What the facets of a record say, without what is never looked at."""
    found = {}
    for (of, facet_name), classes in _looked_at(tables).items():
        fields = dict(_fields(classes, facet(record, facet_name))) if of == name else {}
        if fields:
            found[facet_name] = fields
    return found


def _fields(classes: Mapping[str, str], value: Facet) -> Iterator[tuple[str, object]]:
    for field, said in value.items():
        if classes.get(field, classes.get("*", "ignored")) != "ignored" and plain(said) is not None:
            yield field, said


def _parts(proposal: Proposal, items: Mapping[str, CatalogueItemView]) -> Fitted:
    """Ids of what is fitted beside bars: drivers, emergency packs, other accessories."""
    found: Fitted = {"drivers": [], "packs": [], "others": []}
    for item_id in dict.fromkeys(part["item"] for part in proposal["parts"]):
        item = items[item_id]
        name = facet_of_item(item)
        if name == "driver":
            found["drivers"].append(item_id)
        elif name == "accessory":
            found["packs" if facet(item, name).get("purpose") == EMERGENCY_PACK else "others"].append(item_id)
    return found


def _ways(proposal: Proposal, body: Body, parts: Fitted, items: Mapping[str, CatalogueItemView]) -> list[list[int]]:
    """Length, width and height that the drivers, and a pack where one hangs, need in each way of laying them [1/320 mm].

    Drivers of several sorts lie as they were planned: then the space as it was is what they need.
    """
    if not parts["drivers"]:
        return []
    if len(parts["drivers"]) > 1:
        space = body.of_kind("ballast_space")
        return [[space[side] for side in SIDES]] if all(side in space for side in SIDES) else []
    driver, number = facet(items[parts["drivers"][0]], "driver"), proposal["drivers_each"]
    packs: list[Facet] = [facet(items[each], "accessory") for each in parts["packs"]]
    if not packs or any(packs[0].get(side) is None for side in SIDES):
        return [list(way) for way in ways_to_lie(driver, number)]
    return [list(way) for way in ways_beside(driver, number, {**driver, **{side: packs[0][side] for side in SIDES}})]


__all__ = ["frozen_facts", "frozen_item"]
