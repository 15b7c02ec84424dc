"""What keeps a room, a group or the site from being complete, and who can close it. Twin: pwa/rules/points/open_points.js.

`RULES` names each rule, who closes what it finds, and on which screen (spec/rules.json); the rules themselves are one
small function each in `points/`. A rule finds one point for one thing, never two, and leaves out what a more
telling rule says already.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypedDict, cast

from spanwalk.rules.fit.by_lamp import ReadOfKind
from spanwalk.rules.judging.judged import Judge, judge_groups
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.points.found import (
    FigureNotUsed,
    Found,
    KindHeld,
    NotReady,
    OpenPoint,
    RoomFacts,
    Rule,
    Seen,
    Told,
    UnsentDevice,
    lengths_by_kind,
)
from spanwalk.rules.points.open_point_rules import RULES
from spanwalk.rules.points.owners import Part, owner_of
from spanwalk.rules.record_types import FloorView, RoomView
from spanwalk.rules.record_view import Record, Tables
from spanwalk.rules.survey import LAST, Survey, floor_order, name_of_room, walk_order

RANK = {rule.name: place for place, rule in enumerate(RULES)}


class SiteFacts(TypedDict, total=False):
    """What the records do not hold; see `open_points`."""

    photos_arrived: Iterable[str] | None
    devices: Sequence[UnsentDevice]
    figures_not_used: Sequence[FigureNotUsed]
    not_ready: Sequence[NotReady]
    lights_off: Sequence[RoomFacts]
    looks_mixed: Sequence[RoomFacts]
    kinds_held: Sequence[KindHeld]
    judgements: Mapping[str, Judgement]
    lengths: Mapping[str, list[int]]
    read: Mapping[str, ReadOfKind]


def open_points(
    site_records: Iterable[Record], facts: SiteFacts, tables: Tables, judge: Judge | None = None
) -> list[OpenPoint]:
    """All open points of a site, in the order of the walk.

    Parameters
    ----------
    site_records : iterable of view records
        All records of the site.
    facts : mapping
        What the records do not hold: ``photos_arrived`` (list of SHA-256, or None where not known),
        ``devices`` (``{"id", "person", "operations", "photos", "since"}``), ``figures_not_used``
        (``{"record", "row", "why"}``), ``not_ready`` (``{"group", "because"}``: groups whose plan is not ready, with
        codes and facts of why), ``lights_off`` (``{"room", "facts"}``: rooms whose readings of light
        lie outside what was reckoned), ``looks_mixed`` (the same: rooms in which bars of more than one look are proposed),
        ``kinds_held`` (``{"kind", "why", "facts"}``: kinds whose second readings hold them back),
        and, where they are at hand already, ``judgements`` by group id, ``lengths`` of all readings that count and what was
        ``read``, by kind.
    tables : mapping
        Reference tables, for `judging` and for the lengths of lamps.
    judge : callable, optional
        Instead of `judging.judge_group`.

    Returns
    -------
    list of dict
        ``{"rule", "record", "room", "floor", "who", "path", "facts"}``: `who` are the roles that can close
        it, `path` the screen on which they do, `room` and `floor` ids or None.
    """
    return open_points_in(Survey(site_records), facts, tables, judge)


def open_points_in(
    survey: Survey, facts: SiteFacts, tables: Tables, judge: Judge | None = None, part: Part | None = None
) -> list[OpenPoint]:
    """The same of records that are indexed already: a large site's are indexed once and asked by many.

    With `part` the points of some owners alone, where only their records, and what all have in common, are at hand.
    """
    judgements, lengths = facts.get("judgements"), facts.get("lengths")
    photos = facts.get("photos_arrived")
    seen = Seen(
        survey,
        None if photos is None else frozenset(photos),
        list(facts.get("devices") or []),
        judge_groups(survey, tables, judge) if judgements is None else judgements,
        lengths_by_kind(survey) if lengths is None else lengths,
        list(facts.get("figures_not_used") or []),
        tables,
        facts.get("not_ready") or (),
        facts.get("lights_off") or (),
        facts.get("looks_mixed") or (),
        facts.get("kinds_held") or (),
        facts.get("read") or {},
        [] if part is None else list(part.told),
    )
    points: list[OpenPoint] = []
    for rule in RULES:
        found = [_point(survey, rule, each) for each in rule.find(seen)]
        if part is not None:
            found = [point for point in found if part.has(owner_of(survey, point))]
        points += found
        seen.told.extend(Told(point["record"], point["room"]) for point in found)
    return in_order(survey, points)


def in_order(survey: Survey, points: Iterable[OpenPoint]) -> list[OpenPoint]:
    """Open points in the order of the walk."""
    rooms = {each["id"]: walk_order(cast("RoomView", each)) for each in survey.all if each["type"] == "room"}
    floors = {each["id"]: floor_order(cast("FloorView", each)) for each in survey.all if each["type"] == "floor"}

    def place(point: OpenPoint) -> tuple[int, int, str, int, str]:
        floor, room = floors.get(point["floor"] or "", LAST), rooms.get(point["room"] or "", LAST)
        return floor, room, point["room"] or "", RANK[point["rule"]], point["record"]

    return sorted(points, key=place)


def _point(survey: Survey, rule: Rule, found: Found) -> OpenPoint:
    floor = survey.floor_of(found.room) if found.room is not None else None
    where = {"where": name_of_room(found.room) if found.room is not None else "the site"}
    return {
        "rule": rule.name,
        "record": found.record,
        "room": found.room["id"] if found.room is not None else None,
        "floor": floor["id"] if floor is not None else None,
        "who": list(rule.who),
        "path": rule.path.format(site=survey.site()["id"], record=found.record, **_parent(survey, found)),
        "facts": where | found.facts,
    }


def _parent(survey: Survey, found: Found) -> dict[str, str]:
    record = survey.by_id.get(found.record)
    return {"parent": str(record["parent"]) if record is not None else ""}
