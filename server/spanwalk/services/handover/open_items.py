"""What is open when a building is handed over, and what was closed on the walk, room by room, as sentences: the punch list, told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import cast

from spanwalk.rules.installing.punch_list import Point, is_open
from spanwalk.rules.record_types import PunchPointView, RoomView
from spanwalk.rules.survey import Survey, facet, name_of_room
from spanwalk.services.days import day_of, zone_of
from spanwalk.services.handover.told import ClosedTold, OpenTold
from spanwalk.words import choice_text, say


def open_points(survey: Survey, listed: Iterable[Point]) -> tuple[OpenTold, ...]:
    """Every point of a punch list that is open, in the order of the walk."""
    return tuple(
        OpenTold(*_place(survey, point["room"]), point["sort"], say(point["code"], point["facts"]))
        for point in listed
        if is_open(point)
    )


def closed_points(survey: Survey, listed: Iterable[Point]) -> Iterator[ClosedTold]:
    """Those that were closed, with how, in which words and when."""
    for point in listed:
        if is_open(point):
            continue
        closing = cast("PunchPointView", survey.by_id[point["closing"]])
        said = facet(closing, "closed")
        yield ClosedTold(
            *_place(survey, point["room"]),
            text=say(point["code"], point["facts"]),
            how=choice_text(point["how"]),
            words=str(said.get("words") or ""),
            day=day_of(said.get("noted_at"), zone_of(survey.site())),
            record=closing["id"],
        )


def _place(survey: Survey, room_id: str) -> tuple[str, str]:
    room = cast("RoomView", survey.by_id[room_id])
    return str(facet(survey.floor_of(room), "identity").get("name", "")), name_of_room(room)
