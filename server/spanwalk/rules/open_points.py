"""What keeps a room, a group or the site from being complete, and who can close it. Twin: pwa/rules/open_points.js.

`RULES` names each rule, who closes what it finds, and on which screen; the rules themselves are one small
function each in `points/`. A rule finds one point for one thing, never two, and leaves out what a more
telling rule says already.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict, cast

from spanwalk.rules.judged import Judge, judge_groups
from spanwalk.rules.judgement_types import Judgement
from spanwalk.rules.points import emergency, groups, kinds, readings, records, rooms
from spanwalk.rules.points.found import FigureNotUsed, Found, OpenPoint, Seen, UnsentDevice, lengths_by_kind
from spanwalk.rules.record_types import FloorView, RoomView
from spanwalk.rules.record_view import Record, Tables
from spanwalk.rules.survey import Survey, floor_order, name_of_room, walk_order


@dataclass(frozen=True)
class Rule:
    """A rule: its name, who can close what it finds, on which screen, and the function that finds."""

    name: str
    who: tuple[str, ...]
    path: str
    find: Callable[[Seen], Iterator[Found]]


SURVEYOR, MANAGER = ("surveyor", "manager", "owner"), ("manager", "owner")
ROOM, GROUP = "/s/{site}/room/{record}", "/s/{site}/group/{record}"
READ, FORM = "/s/{site}/group/{record}/read", "/s/{site}/record/{record}/"
OF_READING = "/s/{site}/group/{parent}"
CONFLICTS, UNSENT, FIGURES = "/s/{site}/conflicts", "/s/{site}/unsent", "/s/{site}/desk/figures"

RULES = (
    Rule("room-not-visited", SURVEYOR, ROOM, rooms.room_not_visited),
    Rule("no-access", SURVEYOR, ROOM, rooms.no_access),
    Rule("room-open", SURVEYOR, ROOM, rooms.room_open),
    Rule("room-empty", SURVEYOR, ROOM, rooms.room_empty),
    Rule("duplicate-room-number", SURVEYOR, FORM + "identity", rooms.duplicate_room_number),
    Rule("duplicate-kind-mark", SURVEYOR, FORM + "identity", kinds.duplicate_kind_mark),
    Rule("lamps-not-seen", SURVEYOR, FORM + "lamps", kinds.lamps_not_seen),
    Rule("no-ballast-space", SURVEYOR, FORM + "ballast_space", kinds.no_ballast_space),
    Rule("feeds-not-seen", SURVEYOR, FORM + "wiring", kinds.feeds_not_seen),
    Rule("no-count", SURVEYOR, FORM + "count", groups.no_count),
    Rule("doubtful-count", SURVEYOR, FORM + "count", groups.doubtful_count),
    Rule("no-volts", SURVEYOR, FORM + "supply", groups.no_volts),
    Rule("emergency-not-seen", SURVEYOR, FORM + "duty", groups.emergency_not_seen),
    Rule("emergency-positions-not-said", SURVEYOR, FORM + "duty", emergency.positions_not_said),
    Rule("battery-not-seen", SURVEYOR, FORM + "duty", emergency.battery_not_seen),
    Rule("second-source-not-named", SURVEYOR, FORM + "duty", emergency.second_source_not_named),
    Rule("groups-do-not-differ", SURVEYOR, FORM + "identity", groups.groups_do_not_differ),
    Rule("position-above-count", SURVEYOR, FORM + "count", groups.position_above_count),
    Rule("dark-lamps-above-lamps", SURVEYOR, FORM + "count", groups.dark_lamps_above_lamps),
    Rule("longer-than-room", SURVEYOR, GROUP, groups.longer_than_room),
    Rule("no-reading", SURVEYOR, READ, readings.no_reading),
    Rule("too-few-readings", SURVEYOR, READ, readings.too_few_readings),
    Rule("two-clusters", SURVEYOR, GROUP, readings.two_clusters),
    Rule("tight-not-settled", SURVEYOR, READ, readings.tight_not_settled),
    Rule("fits-by-lamp", SURVEYOR, READ, readings.fits_by_lamp),
    Rule("reading-matches-another", SURVEYOR, OF_READING, readings.reading_matches_another),
    Rule("outlier", SURVEYOR, OF_READING, readings.outlier),
    Rule("reading-beyond-rows", SURVEYOR, OF_READING, readings.beyond_rows),
    Rule("pair-set-aside", SURVEYOR, OF_READING, readings.set_aside),
    Rule("verdict-differs", SURVEYOR, OF_READING, readings.verdict_differs),
    Rule("conflict", SURVEYOR, CONFLICTS, records.conflict),
    Rule("removed-with-children", SURVEYOR, CONFLICTS, records.removed_with_children),
    Rule("code-on-two-fixtures", SURVEYOR, CONFLICTS, records.code_on_two_fixtures),
    Rule("two-codes-on-a-fixture", SURVEYOR, FORM + "voided", records.two_codes_on_a_fixture),
    Rule("photo-not-arrived", ("surveyor", "crew"), UNSENT, records.photo_not_arrived),
    Rule("unsent-work", ("surveyor", "crew"), UNSENT, records.unsent_work),
    Rule("figure-not-used", MANAGER, FIGURES, records.figure_not_used),
    Rule("question-open", ("surveyor", "crew", "manager", "owner"), FORM + "answer", records.question_open),
)

RANK = {rule.name: place for place, rule in enumerate(RULES)}


class SiteFacts(TypedDict, total=False):
    """What the records do not hold; see `open_points`."""

    photos_arrived: Iterable[str] | None
    devices: Sequence[UnsentDevice]
    figures_not_used: Sequence[FigureNotUsed]
    judgements: Mapping[str, Judgement]


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
        (``{"record", "row", "why"}``), and, where they are at hand already, ``judgements`` by group id.
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
    survey = Survey(site_records)
    judgements = facts.get("judgements")
    photos = facts.get("photos_arrived")
    seen = Seen(
        survey,
        None if photos is None else frozenset(photos),
        list(facts.get("devices") or []),
        judge_groups(survey, tables, judge) if judgements is None else judgements,
        lengths_by_kind(survey),
        list(facts.get("figures_not_used") or []),
        tables,
    )
    points = [_point(survey, rule, found) for rule in RULES for found in rule.find(seen)]
    return sorted(points, key=lambda point: _place(survey, point))


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


def _place(survey: Survey, point: OpenPoint) -> tuple[int, int, str, int, str]:
    room = cast("RoomView | None", survey.by_id.get(point["room"] or ""))
    floor = cast("FloorView | None", survey.by_id.get(point["floor"] or ""))
    return floor_order(floor), walk_order(room), point["room"] or "", RANK[point["rule"]], point["record"]
