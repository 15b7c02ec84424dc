"""What the screen of the hand-over tells: the report in short, room by room, without what only its pages need.

What was told of a room is kept, so that after a change only rooms that it may touch are gone through again: crews push all day. Of
a large site it is kept in the database too: a server that starts again does not go through all of it.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import NamedTuple, cast

from sqlalchemy.orm import Session

from spanwalk.rules.installing.acceptance import Statement, of_room, of_rooms, rooms_covered
from spanwalk.rules.installing.noted import in_force
from spanwalk.rules.installing.punch_list import Point, handed_over, is_open, punch_list, rooms_in_order
from spanwalk.rules.record_types import RoomView
from spanwalk.rules.record_view import Facet, Record
from spanwalk.rules.survey import Survey, fixtures_of
from spanwalk.services.handover import pictures
from spanwalk.services.handover.acceptances import accepted
from spanwalk.services.handover.open_items import open_points
from spanwalk.services.handover.told import AcceptedTold, OpenTold
from spanwalk.services.labels.labels import Binding, fixtures_of_labels, labels_in_short
from spanwalk.services.people.members import incarnation
from spanwalk.services.planning.kept_answers import Kept, folder_fingerprint, keep_answer, kept_answer
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.emergency_tests import tests_of_site
from spanwalk.services.sync.state import records_by, records_in_part, site_head, site_records
from spanwalk.words import reading_language

NOTED = ("installation",)
ANSWERS = ("problem_answer", "problem_reply", "difference_answer")
ALL_ROOMS = ("site", "floor", "room", "kind", "group", "release", "conversion")
"""What changes in one of these may touch any room."""
IN_ROOMS = ("photo", "lux_reading", "emergency_test", "punch_point", *ANSWERS)
TYPES = ("site", "floor", "room", "kind", "group", "release", "acceptance", *IN_ROOMS)
"""Whole records; what was noted is read by room, labels and conversions in part."""
OF_CONVERSIONS = (
    ("identity", "number"),
    ("identity", "release"),
    ("identity", "frozen", "emergency"),
    ("identity", "frozen", "checks"),
    ("identity", "frozen", "checks_at"),
    ("identity", "frozen", "rows"),
    ("identity", "frozen", "driver"),
    ("identity", "frozen", "accessories"),
    ("identity", "facts", "group", "count"),
    ("withdrawn",),
)
"""What of a card says what is missing at a fixture that is done, and what is fitted there."""
OPEN_MOST = 300
"""Open points that are told as sentences."""
GROUPS_AT_ONCE = 500
"""Of so many groups, or of one room, what was noted is in memory at once."""
KEPT_NOTED = 200_000
"""So many records of what was noted a process knows the rooms of, about 0.2 kB each; the site asked for last is always kept."""
KEPT_FROM_NOTED = 5_000
"""Of so many of them on what was told of the rooms is kept in the database too; fewer are gone through in a moment."""
KEPT_AGAIN_ROOMS = 20
"""So many rooms gone through since, and it is kept anew; fewer are gone through again in a moment."""


@dataclass(frozen=True)
class InShort:
    """What the report would tell, in numbers; what is open and what was signed with its sentences.

    Parameters
    ----------
    fixtures, done : int
        Fixtures of groups that are handed over, and those noted as done.
    left_out : int
        Fixtures of the other groups.
    photos, releases, tests_open, closed : int
        Photos in the report, releases, emergency fixtures whose newest test did not pass, points that were closed.
    open : tuple of OpenTold
        What is open, up to `OPEN_MOST` points of `open_in_all`.
    accepted : tuple of AcceptedTold
        Signatures, without their pictures.
    """

    fixtures: int
    done: int
    left_out: int
    photos: int
    releases: int
    tests_open: int
    closed: int
    open: tuple[OpenTold, ...]
    open_in_all: int
    accepted: tuple[AcceptedTold, ...]


class _Room(NamedTuple):
    """What is told of a room: counts, `in_groups` by what was counted on the survey, the first open points, and what would be signed."""

    fixtures: int
    done: int
    in_groups: int
    photos: int
    closed: int
    opened: int
    first: tuple[Point, ...]
    signed: Statement


@dataclass
class _Site:
    """What is kept of a site: for which head and life of the database, whether with the lines that would be signed, rooms by id, in which room each record stood, and answers by language."""

    holds_for: tuple[int, str]
    with_lines: bool
    labelled: Mapping[str, frozenset[int]]
    rooms: dict[str, _Room]
    stood: dict[str, set[str]]
    told: dict[str, InShort] = field(default_factory=dict)


_kept: OrderedDict[str, _Site] = OrderedDict()
_locks: dict[str, Lock] = {}


def in_short(session: Session, site_id: str) -> InShort:
    """What the report of a site would tell now.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.

    Raises
    ------
    NotThere
        Nothing has been released on the site.
    """
    with _locks.setdefault(site_id, Lock()):
        kept = _kept.get(site_id) or _from_before(session, site_id)
        if kept is None or kept.holds_for != _holds_for(session, site_id) or reading_language() not in kept.told:
            kept = _with_told(session, site_id, kept)
        _keep(site_id, kept)
    return kept.told[reading_language()]


def _keep(site_id: str, kept: _Site) -> None:
    _kept[site_id] = kept
    _kept.move_to_end(site_id)
    while len(_kept) > 1 and sum(len(each.stood) for each in list(_kept.values())) > KEPT_NOTED:
        _kept.popitem(last=False)


def _holds_for(session: Session, site_id: str) -> tuple[int, str]:
    return site_head(session, site_id), incarnation(session)


def _with_told(session: Session, site_id: str, before: _Site | None) -> _Site:
    base = [
        *site_records(session, site_id, types=TYPES, who=True),
        *records_in_part(session, site_id, "conversion", OF_CONVERSIONS),
    ]
    survey = Survey(base)
    if not survey.of_type("release"):
        raise NotThere("handover.nothing-released")
    holds_for = _holds_for(session, site_id)
    changed = None if before is None else _changed(session, site_id, before.holds_for, holds_for)
    hung_on = None if before is None or changed is None or "label" in _types(changed) else before.labelled
    labelled = _labelled(session, site_id) if hung_on is None else hung_on
    now = _Site(holds_for, bool(survey.of_type("acceptance")), labelled, {}, {})
    touched = None
    if before is not None and changed is not None:
        touched = _touched(session, site_id, survey, changed, before, now)
    if before is not None and touched is not None:
        now.rooms, now.stood = before.rooms, before.stood
        now.told = before.told if before.holds_for == now.holds_for else {}
        now.with_lines = before.with_lines
    wanted = [each for each in rooms_in_order(survey) if touched is None or each["id"] in touched]
    live = {(group, position) for group, positions in labelled.items() for position in positions}
    for part in _parts(survey, wanted):
        _go_through(session, site_id, base, survey, part, live, now)
    if len(now.stood) >= KEPT_FROM_NOTED and (touched is None or len(wanted) >= KEPT_AGAIN_ROOMS):
        keep_answer(session, site_id, "handover", holds_for[0], _to_lines(now), _basis(holds_for[1]))
    now.told[reading_language()] = _told(session, site_id, survey, now)
    return now


def _labelled(session: Session, site_id: str) -> dict[str, frozenset[int]]:
    """Group -> its fixtures that have a live label."""
    found: dict[str, set[int]] = {}
    for group, position in fixtures_of_labels(labels_in_short(session, site_id)):
        found.setdefault(group, set()).add(position)
    return {group: frozenset(positions) for group, positions in found.items()}


def _changed(session: Session, site_id: str, before: tuple[int, str], now: tuple[int, str]) -> list[Record] | None:
    """What changed since; None: the database has begun another life, or goes on from an earlier day."""
    (head, life), (head_now, life_now) = before, now
    if life != life_now or head > head_now:
        return None
    return site_records(session, site_id, since=head) if head != head_now else []


def _types(records: Iterable[Record]) -> set[str]:
    return {each["type"] for each in records}


def _touched(
    session: Session, site_id: str, survey: Survey, changed: Sequence[Record], before: _Site, now: _Site
) -> set[str] | None:
    """Rooms of which something may be told otherwise than before; None: of all."""
    if (now.with_lines and not before.with_lines) or not _types(changed).isdisjoint(ALL_ROOMS):
        return None
    groups = {*before.labelled, *now.labelled}
    about = {group for group in groups if before.labelled.get(group) != now.labelled.get(group)}
    for each in changed:
        if each["type"] in (*NOTED, *IN_ROOMS):
            about |= _about(each)
    there = Survey([*survey.all, *records_by(session, site_id, "id", _unknown(survey, about), types=NOTED)])
    subjects = [there.by_id[id] for id in about if id in there.by_id]
    if any(each["type"] == "kind" for each in subjects):
        return None
    rooms = {room["id"] for each in subjects if (room := there.room_of(each)) is not None}
    return rooms.union(*(before.stood.get(each["id"], ()) for each in changed))


def _unknown(survey: Survey, ids: Iterable[str]) -> list[str]:
    return [id for id in ids if id not in survey.by_id]


def _about(record: Record) -> set[str]:
    """Ids of what a record is about: what it stands in, of a photo what it shows, of a point that was closed which room or group it names."""
    said = cast("Facet", record["facets"].get("identity") or {})
    named = {"photo": said.get("subject")}.get(record["type"], record["parent"])
    key = str(said.get("about") or "").split("|") if record["type"] == "punch_point" else []
    return {str(each) for each in (named, *key[1:2]) if each}


def _parts(survey: Survey, rooms: Iterable[RoomView]) -> Iterator[list[RoomView]]:
    part: list[RoomView] = []
    groups = 0
    for room in rooms:
        part.append(room)
        groups += len(survey.children(room, "group"))
        if groups >= GROUPS_AT_ONCE:
            yield part
            part, groups = [], 0
    if part:
        yield part


def _go_through(
    session: Session,
    site_id: str,
    base: Sequence[Record],
    survey: Survey,
    rooms: Sequence[RoomView],
    live: Container[Binding],
    now: _Site,
) -> None:
    """Take down what is told of some rooms."""
    room_of = {group["id"]: room["id"] for room in rooms for group in survey.children(room, "group")}
    noted = records_by(session, site_id, "parent", room_of, who=NOTED, types=NOTED)
    for each in noted:
        now.stood.setdefault(each["id"], set()).add(room_of[str(each["parent"])])
    there = Survey([*base, *noted])
    conversions, photos = in_force(there), pictures.by_subject(there.of_type("photo"))
    here = {room["id"]: handed_over(there, room, conversions) for room in rooms}
    points: dict[str, list[Point]] = {room["id"]: [] for room in rooms}
    for point in punch_list(there, live, here):
        points[point["room"]].append(point)
    for room in rooms:
        groups, listed = here[room["id"]], points[room["id"]]
        signed = of_room(there, room, groups, listed, with_lines=now.with_lines)
        now.rooms[room["id"]] = _Room(
            fixtures=signed["fixtures"],
            done=signed["done"],
            in_groups=sum(fixtures_of(each.group) for each in groups),
            photos=sum(len(pictures.photos_of(there, each.group, photos, frozenset())) for each in groups),
            closed=len(listed) - signed["open"],
            opened=signed["open"],
            first=tuple(each for each in listed if is_open(each))[:OPEN_MOST],
            signed=signed,
        )
    _take_down(there, now, rooms)


def _take_down(there: Survey, now: _Site, rooms: Sequence[RoomView]) -> None:
    """In which of some rooms stands what is told of them: what is moved elsewhere later is missed there."""
    wanted = {each["id"] for each in rooms}
    for type_name in IN_ROOMS:
        for each in there.of_type(type_name):  # type: ignore[call-overload]
            about = [there.by_id[id] for id in _about(each) if id in there.by_id]
            ids = {room["id"] for one in about if (room := there.room_of(one)) is not None} & wanted
            if any(one["type"] == "kind" for one in about):
                ids = wanted
            if ids:
                now.stood.setdefault(each["id"], set()).update(ids)


def _told(session: Session, site_id: str, survey: Survey, now: _Site) -> InShort:
    in_order = [now.rooms[each["id"]] for each in rooms_in_order(survey)]
    first = [point for room in in_order for point in room.first][:OPEN_MOST]

    def signed_now(subject: str) -> Statement:
        return of_rooms(survey, subject, (now.rooms[each["id"]].signed for each in rooms_covered(survey, subject)))

    return InShort(
        fixtures=sum(each.fixtures for each in in_order),
        done=sum(each.done for each in in_order),
        left_out=sum(map(fixtures_of, survey.of_type("group"))) - sum(each.in_groups for each in in_order),
        photos=sum(each.photos for each in in_order),
        releases=len(survey.of_type("release")),
        tests_open=tests_of_site(session, site_id)["open"],
        closed=sum(each.closed for each in in_order),
        open=open_points(survey, first),
        open_in_all=sum(each.opened for each in in_order),
        accepted=accepted(survey, signed_now, {}, frozenset()),
    )


# -- kept in the database


def _basis(life: str) -> tuple[str, str]:
    return life, folder_fingerprint(Path(__file__).parent)


def _from_before(session: Session, site_id: str) -> _Site | None:
    """What a server that ran before this one told of the rooms; None where nothing is kept."""
    life = incarnation(session)
    kept = kept_answer(session, site_id, "handover", _basis(life))
    return None if kept is None else _of_lines(kept, life)


def _to_lines(site: _Site) -> Iterator[object]:
    """Whether with lines, and what is labelled; then a room a line, with the records that stand in it."""
    standing: dict[str, list[str]] = {}
    for record, rooms in site.stood.items():
        for room in rooms:
            standing.setdefault(room, []).append(record)
    yield site.with_lines, {group: sorted(positions) for group, positions in site.labelled.items()}
    for id, told in site.rooms.items():
        yield id, tuple(told), standing.get(id, ())


def _of_lines(kept: Kept, life: str) -> _Site:
    with_lines, labelled = cast("tuple[bool, dict[str, list[int]]]", next(kept.lines))
    positions = {group: frozenset(each) for group, each in labelled.items()}
    site = _Site((kept.head, life), with_lines, positions, {}, {})
    for id, told, standing in cast("Iterator[tuple[str, list[object], list[str]]]", kept.lines):
        room = _Room._make(told)
        site.rooms[id] = room._replace(first=tuple(room.first))
        for record in standing:
            site.stood.setdefault(record, set()).add(id)
    return site


__all__ = ["OPEN_MOST", "InShort", "in_short"]
