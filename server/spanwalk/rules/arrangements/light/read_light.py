"""What readings of light in rooms of a site make of the estimates for its rooms: those that were read, and those of their kind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import log
from typing import NamedTuple, TypedDict

from spanwalk.rules.light.light_readings import Corrected, OfRoom, Reading, corrected, of_room
from spanwalk.rules.record_types import KindView, RoomView
from spanwalk.rules.survey import Survey, facet

BEFORE, AFTER = "before", "after"
NOT_FOR_COUNTING = {"lamps": ("on-for-less",), "daylight": ("not-excluded",)}
"""What of a reading says that it is not the electric light alone, of warm lamps: it is shown, and corrects nothing."""


class Read(TypedDict):
    """What was read in a room: mean [lx] of so many points, and how many readings were left out."""

    lux: int
    points: int
    left_out: int


class RoomToday(NamedTuple):
    """A room as it is: the view record, of what kind it and its bodies are, and its light as found by the tables; None if not known [lx]."""

    room: RoomView
    kind: str
    as_found_lux: float | None


@dataclass(frozen=True)
class SiteLight:
    """What the readings of a site correct: by room, with kinds of rooms by id and points that were read in each and believed.

    `doubtful` are rooms that read brighter than the tables have it, where nobody said how daylight was kept out.
    """

    found: Corrected
    kinds: Mapping[str, str]
    points: Mapping[str, int]
    range_share: float
    doubtful: frozenset[str] = frozenset()

    def of(self, room_id: str) -> OfRoom:
        """What the estimates of a room are to be multiplied by."""
        return of_room(room_id, self.kinds.get(room_id, ""), self.found, self.range_share, self.points.get(room_id, 0))


def kind_of_room(room: RoomView, kinds: Iterable[KindView]) -> str:
    """Of what kind a room and its bodies are, as far as estimates of their light are off alike: its use, bodies and optics."""
    housings = [facet(kind, "housing") for kind in kinds]
    bodies = {f"{each.get('body')} {each.get('optic')}" for each in housings}
    return " + ".join([str(facet(room, "identity").get("space_type")), *sorted(bodies)])


def light_of_site(survey: Survey, rooms: Iterable[RoomToday], range_share: float) -> SiteLight:
    """What the readings before any work correct, of all rooms with fixtures.

    Daylight in a reading would make a target too dim for good: a room that reads brighter than the tables have it counts
    only where it was said how daylight was kept out.

    Parameters
    ----------
    survey : Survey
        The records, with their readings.
    rooms : iterable of RoomToday
        Rooms as they are.
    range_share : float
        Half-width of the range about an estimate that nobody checked, as a share.
    """
    here = sorted(rooms, key=lambda each: each.room["id"]) if survey.of_type("lux_reading") else []
    every = [found for each in here if (found := _reading(survey, each)) is not None]
    doubtful = frozenset(each.reading.room for each in every if each.reading.log_ratio > 0 and not each.is_dark)
    readings = [each.reading for each in every if each.reading.room not in doubtful]
    made = corrected(readings, range_share)
    points = {each.room: each.points for each in readings if each.room in made.rooms}
    return SiteLight(made, {each.room["id"]: each.kind for each in here}, points, range_share, doubtful)


class _Read(NamedTuple):
    """A room's reading, and whether it was said of every point how daylight was kept out."""

    reading: Reading
    is_dark: bool


def _reading(survey: Survey, here: RoomToday) -> _Read | None:
    read = read_in(survey, here.room, BEFORE)
    if read is None or not read["points"] or not here.as_found_lux:
        return None
    counted = counted_in(survey, here.room, BEFORE)
    mean = _mean(counted)
    if not mean:
        return None
    calibrated = all(each.get("calibrated") for each in counted)
    reading = Reading(here.room["id"], here.kind, log(mean / here.as_found_lux), read["points"], calibrated)
    return _Read(reading, all(each.get("daylight") for each in counted))


def counted_in(survey: Survey, room: RoomView, when: str) -> list[dict[str, object]]:
    """Readings of a room that count, the newest last: not those under one fixture, of cold lamps, or with daylight in them."""
    every = [dict(facet(each, "identity")) for each in survey.children(room, "lux_reading")]
    return [
        each
        for each in sorted(every, key=lambda each: str(each.get("read_at") or ""))
        if each.get("when") == when
        and "lux" in each
        and not each.get("group")
        and not any(each.get(name) in codes for name, codes in NOT_FOR_COUNTING.items())
    ]


def read_in(survey: Survey, room: RoomView, when: str) -> Read | None:
    """Mean of a room's points, each by its newest reading; None where nothing was read.

    Parameters
    ----------
    survey : Survey
        The records.
    room : view record
        The room.
    when : str
        `before` or `after`.
    """
    every = [each for each in survey.children(room, "lux_reading") if facet(each, "identity").get("when") == when]
    if not every:
        return None
    counted = counted_in(survey, room, when)
    points = {str(each.get("point")) for each in counted}
    return {"lux": round(_mean(counted)), "points": len(points), "left_out": len(every) - len(points)}


def _mean(counted: Iterable[Mapping[str, object]]) -> float:
    """Mean over points, each by the last that is told of it; 0 of none [lx]."""
    points = {str(each.get("point")): float(str(each["lux"])) for each in counted}
    return sum(points.values()) / len(points) if points else 0.0


__all__ = [
    "AFTER",
    "BEFORE",
    "Read",
    "RoomToday",
    "SiteLight",
    "counted_in",
    "kind_of_room",
    "light_of_site",
    "read_in",
]
