"""The work that is released and left, room by room, in shifts on the calendar; and what room after room would take.

Groups that are stopped by what the survey says since are in no shift: nobody is sent out to what must not be converted. They
are told with what stops them. That crews are not sent to stopped work is common practice of the trade, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from typing import TypedDict

from sqlalchemy.orm import Session

from spanwalk.rules.installing.last_word import last_words
from spanwalk.rules.ordering.opening_hours import clock_of, minutes_of, open_in_shift
from spanwalk.rules.ordering.schedule import Cost, Piece, Shift, Work, cost_of, in_order, shifts_of
from spanwalk.rules.record_types import GroupView, RoomView
from spanwalk.rules.survey import Survey, facet, name_of_room
from spanwalk.services.refusals import NotThere, WrongInput
from spanwalk.services.releases.releasing import records_with_releases
from spanwalk.services.releases.stopped import StoppedGroup, in_walk_order, is_stopped, left_in, stopped_group
from spanwalk.services.releases.sums import Figures, after, releases_of
from spanwalk.services.scheduling.minutes import Noted, Pace, paces

DONE = "done"
DAYS_A_WEEK = 7
SHIFTS_MOST = 1000
"""Days that a schedule has at most."""


@dataclass(frozen=True)
class Asked:
    """How a crew works.

    Parameters
    ----------
    first : date
        The first day.
    people : int
        People in the crew.
    begins : str
        When a shift begins, as 07:00, while the building may be worked in.
    minutes : int
        How long a shift is [min].
    weekdays : frozenset of int
        Days of the week on which is worked: 1 is Monday.
    """

    first: date
    people: int
    begins: str
    minutes: int
    weekdays: frozenset[int]


class Hours(TypedDict):
    """When a room may be worked in: days of the week, none for any day; from and until, empty at midnight."""

    days: list[str]
    begins: str
    ends: str


class ClosedRoom(TypedDict):
    """A room that no shift finds open, with what is left to do in it."""

    room: str
    room_name: str
    floor_name: str
    fixtures: int
    hours: Hours


class RoomOfShift(TypedDict):
    """A room in a shift: how many of its fixtures are done in it, how long the crew is there, from when after its beginning [min].

    `stopped`: fixtures of other groups in it that must not be converted for now.
    """

    room: str
    room_name: str
    floor_name: str
    fixtures: int
    at: int
    begins: str
    minutes: int
    platform: bool
    part: int
    parts: int
    hours: Hours | None
    stopped: int


class ShiftTold(TypedDict):
    """A day's work."""

    day: str
    minutes: int
    platforms: list[str]
    circuits: list[str]
    rooms: list[RoomOfShift]


class PaceTold(TypedDict):
    """How long a fixture takes against what was planned [%], known from how many fixtures."""

    basis: str
    pct: float
    fixtures: int


class Schedule(TypedDict):
    """The shifts; `cost` of them and `in_order`, of room after room: days, idle ones, days of platforms, circuits switched off.

    `closed`: rooms that no shift finds open. `stopped`: groups in no shift, for what the survey says since stops them.
    """

    site_name: str
    begins: str
    minutes: int
    people: int
    shifts: list[ShiftTold]
    closed: list[ClosedRoom]
    stopped: list[StoppedGroup]
    cost: dict[str, int]
    in_order: dict[str, int]
    pace: PaceTold
    without_minutes: int


@dataclass(frozen=True)
class RoomWork:
    """What is left in a room; `minutes` of one person [min]."""

    room: RoomView
    floor_name: str
    fixtures: int
    minutes: float
    platform: str
    circuits: frozenset[str]
    stopped: int


@dataclass(frozen=True)
class LeftWork:
    """What is left: rooms to be worked in, groups that are stopped, fixtures of which no minutes are known."""

    rooms: list[RoomWork]
    stopped: list[StoppedGroup]
    without: int


def schedule_of(session: Session, site_id: str, asked: Asked) -> Schedule:
    """The work that is released and left, in shifts.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    asked : Asked
        How the crew works.

    Raises
    ------
    NotThere
        Nothing is released, or nothing is left to do.
    WrongInput
        The work takes more than `SHIFTS_MOST` days.
    """
    survey = records_with_releases(session, site_id)
    releases = releases_of(survey)
    figures = after(releases, releases[-1].number) if releases else {}
    of_kind, of_site = paces(_noted(survey, figures))
    left = _left_work(survey, figures, of_kind, of_site)
    if not left.rooms and not left.stopped:
        raise NotThere("schedule.nothing-left")
    hours = _Hours(asked)
    closed = [each for each in left.rooms if not hours.is_open(each)]
    rooms = [each for each in left.rooms if hours.is_open(each)]
    works = [_work(each, asked, hours.of(each)) for each in rooms]
    shifts = bounded(shifts_of(works, asked.minutes)) if works else []
    parts = _parts(shifts)
    fewest = of_site if not of_kind else max(of_kind.values(), key=lambda each: each.fixtures)
    return {
        "site_name": str(facet(survey.site(), "identity").get("name", "")),
        "begins": asked.begins,
        "minutes": asked.minutes,
        "people": asked.people,
        "shifts": [
            _shift(rooms, shift, parts, day, asked) for shift, day in zip(shifts, _days(asked), strict=False) if shift
        ],
        "closed": [_closed(each) for each in closed],
        "stopped": left.stopped,
        "cost": _cost(cost_of(works, shifts)),
        "in_order": _cost(cost_of(works, in_order(works, asked.minutes))),
        "pace": {"basis": fewest.basis, "pct": round(fewest.factor * 100, 1), "fixtures": fewest.fixtures},
        "without_minutes": left.without,
    }


def bounded(shifts: list[Shift]) -> list[Shift]:
    """The shifts, unless they are more than a schedule holds.

    Raises
    ------
    WrongInput
        They are.
    """
    if len(shifts) > SHIFTS_MOST:
        raise WrongInput("schedule.too-long", days=len(shifts), most=SHIFTS_MOST)
    return shifts


def _cost(cost: Cost) -> dict[str, int]:
    return {
        "days": cost.days,
        "idle_days": cost.idle,
        "platform_days": cost.platform_days,
        "isolations": cost.isolations,
    }


class _Hours:
    """From when to when rooms are open in the shifts that are asked for: a week of them, over and over."""

    def __init__(self, asked: Asked) -> None:
        self._asked = asked
        days = (asked.first + timedelta(days=each) for each in range(DAYS_A_WEEK))
        self._weekdays = [day.isoweekday() for day in days if day.isoweekday() in asked.weekdays]

    def of(self, work: RoomWork) -> tuple[tuple[int, int], ...]:
        """Those of a room [min after the beginning of each shift]; none: always open."""
        hours = facet(work.room, "work_hours")
        begins, minutes = minutes_of(self._asked.begins), self._asked.minutes
        found = tuple(open_in_shift(hours, weekday, begins, minutes) for weekday in self._weekdays)
        return () if all(each == (0, minutes) for each in found) else found

    def is_open(self, work: RoomWork) -> bool:
        """Whether a room is open in any of them."""
        hours = self.of(work)
        return not hours or any(closes > opens for opens, closes in hours)


def _hours_told(work: RoomWork) -> Hours | None:
    said = facet(work.room, "work_hours")
    if not said:
        return None
    return {"days": list(said.get("days", [])), "begins": said.get("begins", ""), "ends": said.get("ends", "")}


def _closed(work: RoomWork) -> ClosedRoom:
    return {
        "room": work.room["id"],
        "room_name": name_of_room(work.room),
        "floor_name": work.floor_name,
        "fixtures": work.fixtures,
        "hours": _hours_told(work) or {"days": [], "begins": "", "ends": ""},
    }


def _work(work: RoomWork, asked: Asked, hours: tuple[tuple[int, int], ...]) -> Work:
    """What the crew has to do in a room: all its people at once, rounded up to whole minutes."""
    minutes = max(1, ceil(round(work.minutes / asked.people, 6)))
    return Work(work.room["id"], minutes, work.platform, work.circuits, work.fixtures, hours)


def _days(asked: Asked) -> Iterator[str]:
    """Days on which is worked, from the first on."""
    day = asked.first
    while True:
        if day.isoweekday() in asked.weekdays:
            yield day.isoformat()
        day += timedelta(days=1)


def _noted(survey: Survey, figures: Mapping[str, Figures]) -> Iterator[Noted]:
    for group in survey.of_type("group"):
        planned = _planned_each(figures.get(group["id"], {}))
        for each in last_words(survey.children(group, "installation")).values():
            said = facet(each, "identity")
            if said.get("outcome") == DONE and "minutes" in said and planned is not None:
                yield Noted(str(facet(group, "identity").get("kind", "")), int(said["minutes"]), planned)


def _planned_each(figures: Figures) -> float | None:
    """Minutes planned for one fixture [min]; None where the release did not keep them."""
    minutes, fixtures = figures.get("minutes"), figures.get("fixtures")
    return minutes / fixtures if minutes and fixtures else None


def _left_work(survey: Survey, figures: Mapping[str, Figures], of_kind: Mapping[str, Pace], of_site: Pace) -> LeftWork:
    """Rooms with work left, in the order of the walk; of what is stopped only that it is."""
    found: list[RoomWork] = []
    stopped: list[StoppedGroup] = []
    without = 0
    for room in in_walk_order(survey):
        fixtures, minutes, circuits, platform = 0, 0.0, set(), ""
        floor_name = str(facet(survey.floor_of(room), "identity").get("name", ""))
        stopped_here: list[StoppedGroup] = []
        for group in survey.children(room, "group"):
            told = figures.get(group["id"])
            left, stands = left_in(survey, group) if told is not None else (0, None)
            if told is None or not left:
                continue
            if stands is not None and is_stopped(stands):
                stopped_here.append(stopped_group(survey, room, group, left, stands))
                continue
            each = _planned_each(told)
            if each is None:
                without += left
                continue
            pace = of_kind.get(str(facet(group, "identity").get("kind", "")), of_site)
            fixtures, minutes = fixtures + left, minutes + left * each * pace.factor
            circuits |= _circuits(group)
            job = told.get("job")
            if job is not None and job["hire_minutes"]:
                platform = str(told.get("floor") or told.get("floor_name", ""))
        stopped += stopped_here
        if fixtures:
            here = sum(each["fixtures"] for each in stopped_here)
            found.append(RoomWork(room, floor_name, fixtures, minutes, platform, frozenset(circuits), here))
    return LeftWork(found, stopped, without)


def _circuits(group: GroupView) -> set[str]:
    """Panel and circuit of a group; nothing where nobody has seen it."""
    supply = facet(group, "supply")
    panel, circuit = supply.get("panel"), supply.get("circuit")
    return {"/".join(str(each) for each in (panel, circuit) if each)} if circuit else set()


def _parts(shifts: Sequence[Shift]) -> Mapping[int, list[Piece]]:
    """The pieces into which each room comes, in the order in which they are done."""
    found: dict[int, list[Piece]] = {}
    for piece in (piece for shift in shifts for piece in shift):
        found.setdefault(piece.work, []).append(piece)
    return found


def _shift(
    rooms: Sequence[RoomWork], shift: Shift, parts: Mapping[int, list[Piece]], day: str, asked: Asked
) -> ShiftTold:
    works = [rooms[piece.work] for piece in shift]
    floors = {each.platform: each.floor_name for each in works if each.platform}
    return {
        "day": day,
        "minutes": sum(piece.minutes for piece in shift),
        "platforms": sorted(floors.values()),
        "circuits": sorted({circuit for each in works for circuit in each.circuits}),
        "rooms": [_room(rooms[piece.work], piece, parts[piece.work], asked) for piece in shift],
    }


def _room(work: RoomWork, piece: Piece, parts: Sequence[Piece], asked: Asked) -> RoomOfShift:
    return {
        "room": work.room["id"],
        "room_name": name_of_room(work.room),
        "floor_name": work.floor_name,
        "fixtures": _fixtures(work, parts, piece.after) - _fixtures(work, parts, piece.first),
        "at": piece.begins,
        "begins": clock_of(minutes_of(asked.begins) + piece.begins),
        "minutes": piece.minutes,
        "platform": bool(work.platform),
        "part": parts.index(piece) + 1,
        "parts": len(parts),
        "hours": _hours_told(work),
        "stopped": work.stopped,
    }


def _fixtures(work: RoomWork, parts: Sequence[Piece], until: int) -> int:
    """How many fixtures of a room are done by then; of one that takes longer than a shift, the last day's is whole."""
    return work.fixtures * until // parts[-1].after


__all__ = ["Asked", "Schedule", "ShiftTold", "schedule_of"]
