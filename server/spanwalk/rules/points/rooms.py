"""Open points of rooms. Twin: pwa/rules/points/rooms.js."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.points.found import Found, Seen, alike
from spanwalk.rules.survey import facet, name_of_room, progress_of


def room_not_visited(seen: Seen) -> Iterator[Found]:
    """Rooms in which nobody has entered anything."""
    for room in seen.survey.of_type("room"):
        if progress_of(room) == "open" and not seen.survey.children(room, "group"):
            yield Found(room["id"], room, {})


def room_open(seen: Seen) -> Iterator[Found]:
    """Rooms with groups in them that nobody has called finished."""
    for room in seen.survey.of_type("room"):
        if progress_of(room) == "open" and (groups := seen.survey.children(room, "group")):
            yield Found(room["id"], room, {"groups": len(groups)})


def room_empty(seen: Seen) -> Iterator[Found]:
    """Rooms called surveyed in which there is no group: forgotten, or nothing to convert."""
    for room in seen.survey.of_type("room"):
        if progress_of(room) == "surveyed" and not seen.survey.children(room, "group"):
            yield Found(room["id"], room, {})


def no_access(seen: Seen) -> Iterator[Found]:
    """Rooms into which nobody could get."""
    for room in seen.survey.of_type("room"):
        if progress_of(room) == "no-access":
            yield Found(room["id"], room, {"reason": facet(room, "progress").get("reason", "")})


def duplicate_room_number(seen: Seen) -> Iterator[Found]:
    """Numbers that two or more rooms of the site bear; one point for a number."""
    for rooms in alike(seen.survey.of_type("room"), "number"):
        numbers = {"number": facet(rooms[0], "identity")["number"], "rooms": len(rooms)}
        others = [name_of_room(room) for room in rooms[1:]]
        yield Found(rooms[0]["id"], rooms[0], numbers | {"others": ", ".join(others)})
