"""How much of a site is done, by known fixtures and by rooms, floor by floor. Twin: pwa/rules/points/completeness.js."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple, TypedDict

from spanwalk.rules import constants
from spanwalk.rules.points.found import OpenPoint, held_by
from spanwalk.rules.record_types import FloorView, RoomView
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


class GroupDone(NamedTuple):
    """How many fixtures a group has, and whether neither it nor its kind has an open point."""

    fixtures: int
    is_done: bool


def completeness_in(survey: Survey, points: Iterable[OpenPoint]) -> Completeness:
    """The same of records that are indexed already."""
    points = list(points)
    held = _held(survey, points)

    def groups(room: RoomView) -> list[GroupDone]:
        return [
            GroupDone(fixtures_of(each), held.isdisjoint((each["id"], facet(each, "identity").get("kind", ""))))
            for each in survey.children(room, "group")
        ]

    return completeness_of(survey, points, groups)


def completeness_of(
    survey: Survey, points: Sequence[OpenPoint], groups: Callable[[RoomView], Sequence[GroupDone]]
) -> Completeness:
    """The same where it is known of each room's groups whether they are done: of the records rooms and floors are looked at.

    Parameters
    ----------
    survey : Survey
        The site's rooms and floors.
    points : sequence of dict
        What is open.
    groups : callable
        The groups of a room that are not removed.
    """
    open_in = Counter(point["room"] for point in points)
    rooms = sorted(survey.of_type("room"), key=lambda room: (walk_order(room), room["id"]))
    told = [(room, _room(room, groups(room), open_in[room["id"]])) for room in rooms]
    floors = sorted(survey.of_type("floor"), key=lambda floor: (floor_order(floor), floor["id"]))
    everywhere = [entry for _, entry in told]
    return {
        "complete": bool(everywhere) and all(entry["complete"] for entry in everywhere) and not open_in[None],
        **_shares(everywhere),
        "points": len(points),
        "points_of_the_site": open_in[None],
        "rooms_by_progress": dict(sorted(Counter(entry["progress"] for entry in everywhere).items())),
        "floors": [_floor(floor, [entry for room, entry in told if room["parent"] == floor["id"]]) for floor in floors],
    }


def _held(survey: Survey, points: Iterable[OpenPoint]) -> set[str]:
    """Groups and kinds that the open points hold open."""
    found = (held_by(survey, survey.by_id.get(point["record"])) for point in points)
    return {each["id"] for each in found if each is not None}


def _room(room: RoomView, groups: Sequence[GroupDone], points: int) -> RoomDone:
    identity, progress = facet(room, "identity"), progress_of(room)
    done = [each.fixtures for each in groups if each.is_done]
    return {
        "id": room["id"],
        "number": identity.get("number", ""),
        "name": identity.get("name", ""),
        "progress": "not visited" if progress == "open" and not groups else progress,
        "fixtures": {"known": sum(each.fixtures for each in groups), "complete": sum(done)},
        "points": points,
        "complete": progress in DONE and not points and len(done) == len(groups),
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
