"""The facts on which a conversion rests, frozen with its release, so that a phone can tell later whether they still hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from spanwalk.rules.arrangements.body import Body, Record, code_of
from spanwalk.rules.driver import ways_beside, ways_to_lie
from spanwalk.rules.judged import ToJudge
from spanwalk.rules.sampling import counting, questions_of
from spanwalk.rules.standing_changes import SIDES, facet_of_item, plain
from spanwalk.rules.survey import facet

Json = Any
EMERGENCY_PACK = "emergency-pack"


def frozen_facts(
    plan: Mapping[str, Json], body: Body, judge: ToJudge, items: Mapping[str, Record], partner: str | None
) -> dict[str, Json]:
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
    proposal = plan["proposal"]
    records = {"group": body.group, "kind": body.kind, "room": body.room, "site": body.site}
    parts = _parts(proposal, items)
    facts: dict[str, Json] = {
        name: said for name, record in records.items() if (said := _said(name, record, body.tables))
    }
    facts |= {"arrangement": proposal["arrangement"], "bars": list(proposal["fill_items"]), **parts}
    facts |= {"ways": _ways(proposal, body, parts, items), "fit": {"verdict": proposal["fit"]["verdict"]}}
    facts["spread"] = {"squares_ticks2": str(judge.elsewhere.squares_ticks2), "degrees": judge.elsewhere.degrees}
    facts["readings"] = len(judge.readings) + len(judge.trials)
    facts["questions"] = sorted(questions_of(counting(judge.readings), body.kind, body.tables))
    facts["conflicts"] = sorted(each["id"] for record in records.values() for each in record["conflicts"])
    return facts | ({"partner": partner} if partner else {})


def frozen_item(item: Record, tables: Mapping[str, Json]) -> dict[str, Json]:
    """What of a catalogue item is frozen with a release: its code and what is compared or judged later."""
    name = facet_of_item(item) or "accessory"
    return {"code": code_of(item), name: dict(_fields(_looked_at(tables).get(("item", name), {}), facet(item, name)))}


def without_spread(facts: Mapping[str, Json] | None) -> dict[str, Json] | None:
    """The facts by which it is told whether a group changed: a reading elsewhere in its kind does not count."""
    return None if facts is None else {name: value for name, value in facts.items() if name != "spread"}


def _looked_at(tables: Mapping[str, Json]) -> dict[tuple[str, str], dict[str, str]]:
    """Record and facet -> field -> class, as the table says."""
    found: dict[tuple[str, str], dict[str, str]] = {}
    for row in tables["standing"]["rows"]:
        found.setdefault((row["record"], row["facet"]), {})[row["field"]] = row["class"]
    return found


def _said(name: str, record: Record, tables: Mapping[str, Json]) -> dict[str, Json]:
    """What the facets of a record say, without what is never looked at."""
    found = {}
    for (of, facet_name), classes in _looked_at(tables).items():
        fields = dict(_fields(classes, facet(record, facet_name))) if of == name else {}
        if fields:
            found[facet_name] = fields
    return found


def _fields(classes: Mapping[str, str], value: Mapping[str, Json]) -> Iterator[tuple[str, Json]]:
    for field, said in value.items():
        if classes.get(field, classes.get("*", "ignored")) != "ignored" and plain(said) is not None:
            yield field, said


def _parts(proposal: Mapping[str, Json], items: Mapping[str, Record]) -> dict[str, list[str]]:
    """Ids of what is fitted beside bars: drivers, emergency packs, other accessories."""
    found: dict[str, list[str]] = {"drivers": [], "packs": [], "others": []}
    for item_id in dict.fromkeys(part["item"] for part in proposal["parts"]):
        item = items[item_id]
        name = facet_of_item(item)
        if name == "driver":
            found["drivers"].append(item_id)
        elif name == "accessory":
            found["packs" if facet(item, name).get("purpose") == EMERGENCY_PACK else "others"].append(item_id)
    return found


def _ways(
    proposal: Mapping[str, Json], body: Body, parts: Mapping[str, list[str]], items: Mapping[str, Record]
) -> list[list[int]]:
    """Length, width and height that the drivers, and a pack where one hangs, need in each way of laying them [1/320 mm].

    Drivers of several sorts lie as they were planned: then the space as it was is what they need.
    """
    if not parts["drivers"]:
        return []
    if len(parts["drivers"]) > 1:
        space = body.of_kind("ballast_space")
        return [[space[side] for side in SIDES]] if all(side in space for side in SIDES) else []
    driver, number = facet(items[parts["drivers"][0]], "driver"), proposal["drivers_each"]
    packs = [facet(items[each], "accessory") for each in parts["packs"]]
    if not packs or any(packs[0].get(side) is None for side in SIDES):
        return [list(way) for way in ways_to_lie(driver, number)]
    return [list(way) for way in ways_beside(driver, number, {**driver, **{side: packs[0][side] for side in SIDES}})]


__all__ = ["frozen_facts", "frozen_item", "without_spread"]
