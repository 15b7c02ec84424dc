"""A scenario as changes of the site's records: planned with them, and written as ordinary operations where it is applied."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import TypedDict, cast

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.record_view import Facet, Record
from spanwalk.rules.survey import facet
from spanwalk.services.planning.inputs import Inputs, inputs_of
from spanwalk.services.planning.plans import Plan, SitePlan, before_of, plans_from
from spanwalk.services.refusals import InTheWay
from spanwalk.services.scenarios.asked import OF_MONEY, OF_SETTINGS, ScenarioAsked

HOURS_OF_A_YEAR = 8784
"""The most that a record takes: a leap year."""


class Edit(TypedDict):
    """A facet of a record that becomes something else, whole."""

    record: str
    type: str
    facet: str
    value: dict[str, object]


def edits_of(found: SitePlan, asked: ScenarioAsked) -> list[Edit]:
    """What a scenario changes of the records: only facets that come out otherwise.

    Parameters
    ----------
    found : SitePlan
        The plans of today.
    asked : ScenarioAsked
        The scenario.

    Raises
    ------
    InTheWay
        It changes money, and the site has none yet.
    """
    survey, said = found.survey, {name: value for name, value in asked.items() if value is not None}
    edits: list[Edit] = []
    money = survey.of_type("money")
    if not money and any(name in said for name in OF_MONEY):
        raise InTheWay("scenarios.no-money")
    for record in money[:1]:
        edits += _edit(record, "identity", {name: said[name] for name in OF_MONEY if name in said})
    edits += _edit(survey.site(), "settings", {name: said[name] for name in OF_SETTINGS if name in said})
    if "hours_pct" in said:
        edits += _hours(found, cast("float", said["hours_pct"]))
    for id in asked.get("without") or ():
        if id in survey.by_id and survey.by_id[id]["type"] == "catalogue_item":
            edits += _edit(survey.by_id[id], "identity", {"offered": False})
    return edits


def _edit(record: Record, name: str, values: Mapping[str, object]) -> Iterator[Edit]:
    before: dict[str, object] = {**cast("Mapping[str, object]", record["facets"].get(name) or {})}
    if any(before.get(each) != value for each, value in values.items()):
        yield {"record": record["id"], "type": record["type"], "facet": name, "value": {**before, **values}}


def _hours(found: SitePlan, pct: float) -> Iterator[Edit]:
    """Each room's hours as a share of those it has by itself, by its floor or by its use; those not known stay so."""
    seen: set[str] = set()
    for id, (_, room) in found.inputs.places.items():
        hours = None if room["id"] in seen else hours_of(found.inputs, id)
        seen.add(room["id"])
        if hours is not None:
            record = found.survey.by_id[room["id"]]
            how = str(facet(room, "hours").get("how_known", "assumed"))
            then = min(HOURS_OF_A_YEAR, round(hours * pct / 100))
            if then != hours:
                yield from _edit(record, "hours", {"hours_year": then, "how_known": how})


def hours_of(inputs: Inputs, group_id: str) -> int | None:
    """Hours lit a year in the room of a group; None where they are not known [h]."""
    kind, room = inputs.places[group_id]
    group, site = cast("GroupView", inputs.survey.by_id[group_id]), inputs.survey.site()
    return Body(group, kind, room, site, {}, inputs.catalogue, inputs.money, inputs.tables).hours_year


def planned_with(found: SitePlan, edits: Iterable[Edit]) -> SitePlan:
    """The plans as they are once the edits are written.

    What was worked out for the catalogue is used again unless an item of it is gone; then only groups are planned anew that
    are proposed to get such an item, or share a ballast with one: what nobody takes changes nobody's plan.

    Parameters
    ----------
    found : SitePlan
        The plans of today.
    edits : iterable of Edit
        What changes.
    """
    edits = list(edits)
    if not edits:
        return found
    gone = {each["record"] for each in edits if each["type"] == "catalogue_item"}
    inputs = _inputs(found, edits)
    if not gone:
        inputs.catalogue = found.inputs.catalogue
    only_items = len(gone) == len(edits)
    hangs = {id for id, plan in found.plans.items() if _uses(plan, gone)}
    hangs |= {partner for id in hangs if (partner := found.inputs.partners.get(id)) is not None}
    return plans_from(inputs, found.head, before_of(found), lambda id: only_items and id not in hangs)


def _inputs(found: SitePlan, edits: list[Edit]) -> Inputs:
    if all(each["type"] == "money" for each in edits):
        return replace(found.inputs, money=cast("Facet", edits[0]["value"]))
    of_record: dict[str, dict[str, object]] = {}
    for each in edits:
        of_record.setdefault(each["record"], {})[each["facet"]] = each["value"]
    records = [_edited(record, of_record.get(record["id"])) for record in found.survey.all]
    return inputs_of(records, found.inputs.own, found.inputs.kinds_held)


def _edited(record: Record, facets: Mapping[str, object] | None) -> Record:
    return record if facets is None else cast("Record", {**record, "facets": {**record["facets"], **facets}})


def _uses(plan: Plan, items: set[str]) -> bool:
    proposal, misfits = plan["proposal"], plan["misfits"]
    if proposal is None:
        return False
    spare = () if misfits is None else misfits["spare"]
    return any(each["item"] in items for each in (*proposal["parts"], *spare))


__all__ = ["Edit", "edits_of", "hours_of", "planned_with"]
