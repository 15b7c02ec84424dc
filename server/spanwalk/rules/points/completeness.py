"""How much of a site is done, by known fixtures and by rooms, floor by floor. Twin: pwa/rules/points/completeness.js."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import TypedDict

from spanwalk.rules import constants
from spanwalk.rules.points.found import OpenPoint, held_by
from spanwalk.rules.record_types import FloorView, GroupView, RoomView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, facet, fixtures_of, floor_order, progress_of, walk_order

DONE = constants.ROOM_DONE


class Counted(TypedDict):
    """How many are known, and how many of them are complete."""

    known: int
    complete: int


class Share(Counted):
    """The same with whole percent, rounded down."""

    share_pct: int


class Shares(TypedDict):
    """Shares of fixtures and of rooms."""

    fixtures: Share
    rooms: Share


class RoomDone(TypedDict):
    """A room and whether it is complete; `points` counts those that are open in it."""

    id: str
    number: str
    name: str
    progress: str
    fixtures: Counted
    points: int
    complete: bool


class FloorDone(Shares):
    """A floor with its rooms."""

    id: str
    name: str
    points: int
    in_rooms: list[RoomDone]


class Completeness(Shares):
    """How much of a site is done: see `completeness`."""

    complete: bool
    points: int
    points_of_the_site: int
    rooms_by_progress: dict[str, int]
    floors: list[FloorDone]


def completeness(records: Iterable[Record], points: Iterable[OpenPoint]) -> Completeness:
    """Shares complete, for the site, each floor and each room.

    A fixture counts as complete when neither its group nor its kind has an open point. A room is complete
    when it is called surveyed or has nothing to convert, and nothing in it, nor the kinds in it, has an
    open point. A room that nobody has seen or could get into weighs nothing in fixtures, and so holds the
    site open as a room.

    Parameters
    ----------
    records : iterable of view records
        All records of the site.
    points : iterable of dict
        What `open_points.open_points` found in them.

    Returns
    -------
    dict
        ``{"complete", "fixtures": {"known", "complete", "share_pct"}, "rooms": {…}, "points",
        "points_of_the_site", "rooms_by_progress", "floors": [{"id", "name", "fixtures", "rooms", "points",
        "in_rooms": [{"id", "number", "name", "progress", "fixtures", "points", "complete"}]}]}``;
        shares are whole percent, rounded down, so that 100 means all; 0 where nothing is known.
    """
    return completeness_in(Survey(records), points)


def completeness_in(survey: Survey, points: Iterable[OpenPoint]) -> Completeness:
    """The same of records that are indexed already."""
    points = list(points)
    holds = _Holds(survey, points)
    rooms = sorted(survey.of_type("room"), key=lambda room: (walk_order(room), room["id"]))
    told = [(room, _room(survey, holds, room)) for room in rooms]
    floors = sorted(survey.of_type("floor"), key=lambda floor: (floor_order(floor), floor["id"]))
    everywhere = [entry for _, entry in told]
    of_site = [point for point in points if point["room"] is None]
    return {
        "complete": bool(everywhere) and all(entry["complete"] for entry in everywhere) and not of_site,
        **_shares(everywhere),
        "points": len(points),
        "points_of_the_site": len(of_site),
        "rooms_by_progress": dict(sorted(Counter(entry["progress"] for entry in everywhere).items())),
        "floors": [_floor(floor, [entry for room, entry in told if room["parent"] == floor["id"]]) for floor in floors],
    }


class _Holds:
    """What the open points hold open: how many each room and group has, and which kinds have one."""

    def __init__(self, survey: Survey, points: list[OpenPoint]) -> None:
        self.rooms = Counter(point["room"] for point in points)
        self.records: set[str] = set()
        for point in points:
            held = held_by(survey, survey.by_id.get(point["record"]))
            if held is not None:
                self.records.add(held["id"])

    def holds(self, group: GroupView) -> bool:
        """Whether a group or its kind has an open point."""
        return bool({group["id"], facet(group, "identity").get("kind", "")} & self.records)


def _room(survey: Survey, holds: _Holds, room: RoomView) -> RoomDone:
    groups = survey.children(room, "group")
    done = [group for group in groups if not holds.holds(group)]
    identity, progress = facet(room, "identity"), progress_of(room)
    fixtures: Counted = {"known": sum(map(fixtures_of, groups)), "complete": sum(map(fixtures_of, done))}
    return {
        "id": room["id"],
        "number": identity.get("number", ""),
        "name": identity.get("name", ""),
        "progress": "not visited" if progress == "open" and not groups else progress,
        "fixtures": fixtures,
        "points": holds.rooms[room["id"]],
        "complete": progress in DONE and not holds.rooms[room["id"]] and len(done) == len(groups),
    }


def _floor(floor: FloorView, rooms: list[RoomDone]) -> FloorDone:
    name = facet(floor, "identity").get("name", "")
    return {
        "id": floor["id"],
        "name": name,
        **_shares(rooms),
        "points": sum(room["points"] for room in rooms),
        "in_rooms": rooms,
    }


def _shares(rooms: list[RoomDone]) -> Shares:
    fixtures: Counted = {
        "known": sum(room["fixtures"]["known"] for room in rooms),
        "complete": sum(room["fixtures"]["complete"] for room in rooms),
    }
    counted: Counted = {"known": len(rooms), "complete": sum(room["complete"] for room in rooms)}
    return {"fixtures": _share(fixtures), "rooms": _share(counted)}


def _share(parts: Counted) -> Share:
    return {**parts, "share_pct": parts["complete"] * 100 // parts["known"] if parts["known"] else 0}
