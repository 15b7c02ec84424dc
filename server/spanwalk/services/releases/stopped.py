"""Released groups that must not be converted for now: what of them is left, and what the survey says since that stops them."""

from __future__ import annotations

from collections.abc import Collection

from spanwalk.reference import tables
from spanwalk.rules.installing.last_word import last_words
from spanwalk.rules.installing.noted import DONE
from spanwalk.rules.record_types import GroupView, RoomView
from spanwalk.rules.since_release.seen import STOP, Change
from spanwalk.rules.since_release.standing import Standing, newest_of, not_released, standing_of
from spanwalk.rules.survey import Survey, facet, floor_order, mark_of, name_of_room, positions_of, walk_order
from spanwalk.services.releases.releasing import PlacedGroup


class StoppedGroup(PlacedGroup):
    """A group that must not be converted for now, with its fixtures that are left and what stops it."""

    changes: list[Change]


def left_in(survey: Survey, group: GroupView) -> tuple[int, Standing | None]:
    """Fixtures of a group that are released and not done, and how its newest conversion stands; None where it has none."""
    undone = _undone(survey, group)
    conversion = newest_of(survey, group)
    if not undone or conversion is None:
        return len(undone), None
    stands = standing_of(survey, conversion, tables())
    further = not_released(stands)
    return sum(position not in further for position in undone), stands


def is_stopped(stands: Standing | None) -> bool:
    """Whether a conversion must not be carried out for now."""
    return stands is not None and stands["standing"] == STOP


def stopped_group(survey: Survey, room: RoomView, group: GroupView, left: int, stands: Standing) -> StoppedGroup:
    """A group as those who order or plan the work are told of it."""
    return {
        "group": group["id"],
        "room": room["id"],
        "room_name": name_of_room(room),
        "floor_name": str(facet(survey.floor_of(room), "identity").get("name", "")),
        "mark": mark_of(survey.kind_of(group)),
        "fixtures": left,
        "changes": [each for each in stands["changes"] if each["weight"] == STOP],
    }


def stopped_groups(survey: Survey, released: Collection[str]) -> list[StoppedGroup]:
    """Those of some released groups that are stopped with fixtures left, in the order of the walk."""
    found: list[StoppedGroup] = []
    for room in in_walk_order(survey):
        for group in survey.children(room, "group"):
            left, stands = left_in(survey, group) if group["id"] in released else (0, None)
            if left and stands is not None and is_stopped(stands):
                found.append(stopped_group(survey, room, group, left, stands))
    return found


def in_walk_order(survey: Survey) -> list[RoomView]:
    """Rooms floor by floor, as one walks."""
    return sorted(
        survey.of_type("room"), key=lambda each: (floor_order(survey.floor_of(each)), walk_order(each), each["id"])
    )


def _undone(survey: Survey, group: GroupView) -> list[int]:
    """Fixtures of a group that are not done."""
    words = last_words(survey.children(group, "installation"))
    return [
        position
        for position in positions_of(group)
        if position not in words or facet(words[position], "identity").get("outcome") != DONE
    ]
