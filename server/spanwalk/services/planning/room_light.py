"""The light of a room, all its groups together: found, all lamps burning, wanted, on day one and maintained, beside what was read.

Readings of a site correct what is told of its rooms and wanted of them (`arrangements.light.read_light`). Emergency light at the floor is not
reckoned here: it stays with who designs it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypedDict

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.choosing.wanted import wanted_light
from spanwalk.rules.arrangements.light.read_light import AFTER, BEFORE, Read, SiteLight, read_in
from spanwalk.rules.arrangements.now import TICKS_PER_M, Now, now
from spanwalk.rules.arrangements.plan import DECIDED
from spanwalk.rules.light import light
from spanwalk.rules.light.light_grid import Grid, grid, spacing_to_height
from spanwalk.rules.light.light_readings import Factor, of_tables, outside
from spanwalk.rules.points.found import RoomFacts
from spanwalk.rules.record_types import RoomView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.planning.task_light import TaskLight, task_light

EVEN_UP_TO = 1.5
"""Spacing over height up to which bodies that shine by the cosine law light a room evenly (common practice, no source)."""


class Lux(TypedDict):
    """A mean illuminance [lx] with its 95 % range."""

    lux: int
    low: int
    high: int


class GridTold(TypedDict):
    """Points along and across, and the largest cell [m]."""

    along: int
    across: int
    cell_m: float


class RoomLight(TypedDict):
    """The light of a room; None what cannot be told. `rooms` were read of its kind; `says` are codes and facts of sentences."""

    found: Lux | None
    all_burning: Lux | None
    wanted: int | None
    day_one: Lux | None
    maintained: Lux | None
    years: int
    read_before: Read | None
    read_after: Read | None
    rooms: int
    grid: GridTold | None
    spacing_to_height: float | None
    task: TaskLight | None
    says: list[Said]


@dataclass(frozen=True)
class _Room:
    """A room's groups as they are; estimates [lx] without any reading."""

    room: RoomView
    bodies: tuple[Body, ...]
    today: tuple[Now, ...]

    def lux(self, lumens: float | None) -> float | None:
        """What lumens of all groups make [lx]."""
        place = self.today[0].room if self.today else None
        if place is None or lumens is None:
            return None
        return light.illuminance_lux(lumens, place.utilisation, place.area_m2)

    @property
    def as_found(self) -> float | None:
        """Light as found [lx]; None where a group's is not known."""
        lights = [each.light for each in self.today]
        known = [each.as_found_lm for each in lights if each is not None]
        return self.lux(sum(known)) if known and len(known) == len(lights) else None

    @property
    def all_burning(self) -> float | None:
        """Light with all lamps burning [lx]."""
        lights = [each.light for each in self.today]
        known = [each.all_burning_lm for each in lights if each is not None]
        return self.lux(sum(known)) if known and len(known) == len(lights) else None


def light_of_room(found: SitePlan, room: RoomView) -> RoomLight:
    """All that is told of the light of a room.

    Parameters
    ----------
    found : SitePlan
        The plans of its site.
    room : view record
        The room.
    """
    here, spread = _room(found, room), _range_share(found)
    factor, new, _ = found.inputs.light.of(room["id"])
    then = _then(found, here)
    day_one, maintained = _sum(here, then)
    before, after = read_in(found.survey, room, BEFORE), read_in(found.survey, room, AFTER)
    told: RoomLight = {
        "found": _told(here.as_found, factor),
        "all_burning": _told(here.all_burning, factor),
        "wanted": _wanted(here, new),
        "day_one": _told(day_one, new),
        "maintained": _told(maintained, new),
        "years": here.bodies[0].light_years if here.bodies else 0,
        "read_before": before,
        "read_after": after,
        "rooms": factor.rooms,
        "grid": _grid(here),
        "spacing_to_height": _spacing(here),
        "task": task_light(room, here.bodies, here.today, then, found.inputs.light.of(room["id"])),
        "says": [],
    }
    off = [*_off(BEFORE, before, _plain(here.as_found, spread)), *_off(AFTER, after, told["day_one"])]
    told["says"] = [
        *(Said(code=f"room-light.off-{each['when']}", facts=each) for each in off),
        *_says(told, found.inputs.light, room, spread),
    ]
    return told


def lights_off(found: SitePlan, has: Callable[[str], bool] = lambda _: True) -> list[RoomFacts]:
    """Rooms of which readings lie outside what was reckoned: before, by the tables alone; after, by the plan; by room.

    Parameters
    ----------
    found : SitePlan
        The plans of its site.
    has : callable, optional
        Whether a room, by its id, is to be looked at; those of which plans are not at hand are not.
    """
    spread = _range_share(found)
    told: list[RoomFacts] = []
    for room in filter(lambda each: has(each["id"]), found.survey.of_type("room")):
        before, after = read_in(found.survey, room, BEFORE), read_in(found.survey, room, AFTER)
        if before is None and after is None:
            continue
        here = _room(found, room)
        off = list(_off(BEFORE, before, _plain(here.as_found, spread)))
        if after is not None:
            day_one, _ = _sum(here, _then(found, here))
            off += _off(AFTER, after, _told(day_one, found.inputs.light.of(room["id"]).new))
        if off:
            told.append({"room": room["id"], "facts": off[-1]})
    return told


def _off(when: str, read: Read | None, reckoned: Lux | None) -> Iterator[dict[str, object]]:
    if read and read["points"] and reckoned and outside(read["lux"], reckoned["low"], reckoned["high"]):
        yield {"when": when, "read_lux": read["lux"], "points": read["points"], **reckoned}


def _says(told: RoomLight, made: SiteLight, room: RoomView, spread: float) -> Iterator[Said]:
    if room["id"] in made.doubtful:
        yield {"code": "room-light.daylight-not-said", "facts": {}}
    if room["id"] in made.found.odd:
        yield {"code": "room-light.odd", "facts": {"deviations": round(made.found.odd[room["id"]], 1)}}
    elif told["rooms"]:
        yield {"code": "room-light.corrected", "facts": {"rooms": told["rooms"], "pct": round(spread * 100)}}
    else:
        yield {"code": "room-light.tables-alone", "facts": {}}
    left_out = sum(read["left_out"] for read in (told["read_before"], told["read_after"]) if read)
    if left_out:
        yield {"code": "room-light.left-out", "facts": {"readings": left_out}}
    spacing = told["spacing_to_height"]
    if spacing is not None:
        code = "even" if spacing <= EVEN_UP_TO else "uneven"
        yield {"code": f"room-light.{code}", "facts": {"spacing_to_height": spacing, "even_up_to": EVEN_UP_TO}}
    yield {"code": "room-light.not-reckoned", "facts": {}}


def _room(found: SitePlan, room: RoomView) -> _Room:
    bodies = tuple(found.body(group) for group in found.inputs.today.get(room["id"], ()))
    return _Room(room, bodies, tuple(now(body) for body in bodies))


def _range_share(found: SitePlan) -> float:
    return float(found.inputs.tables["bodies"]["range_share"])


def _then(found: SitePlan, here: _Room) -> list[tuple[float, float]] | None:
    """Light of each group on day one and maintained [lm], those that are not converted as they are with all lamps burning.

    None where one is not known, or nothing of the room is converted.
    """
    each: list[tuple[float, float]] = []
    some = False
    for body, current in zip(here.bodies, here.today, strict=True):
        plan = found.plans.get(body.group["id"])
        proposal = None if plan is None or plan["state"] in DECIDED.values() else plan["proposal"]
        lit = {} if proposal is None else proposal["light"]
        then, first = lit.get("then_lm"), lit.get("day_one_lm")
        if then is not None and first is not None:
            some = True
            each.append((first, then))
        elif current.light is not None:
            each.append((current.light.all_burning_lm, current.light.all_burning_lm))
        else:
            return None
    return each if some else None


def _sum(here: _Room, then: list[tuple[float, float]] | None) -> tuple[float | None, float | None]:
    """Light of the room on day one and maintained [lx]."""
    if then is None:
        return None, None
    return here.lux(sum(first for first, _ in then)), here.lux(sum(last for _, last in then))


def _wanted(here: _Room, new: Factor) -> int | None:
    lumens = [wanted_light(body, current).lumens for body, current in zip(here.bodies, here.today, strict=True)]
    known = [each for each in lumens if each is not None]
    lux = here.lux(sum(known)) if known and len(known) == len(lumens) else None
    return None if lux is None else round(new.of(lux)[0])


def _told(estimate: float | None, factor: Factor) -> Lux | None:
    if estimate is None:
        return None
    lux, low, high = factor.of(estimate)
    return {"lux": round(lux), "low": round(low), "high": round(high)}


def _plain(estimate: float | None, spread: float) -> Lux | None:
    """An estimate with the range that the tables alone give it."""
    return _told(estimate, of_tables(spread).today)


def _sides(here: _Room) -> tuple[float, float] | None:
    size = facet(here.room, "size")
    if "length_ticks" not in size or "width_ticks" not in size:
        return None
    return size["length_ticks"] / TICKS_PER_M, size["width_ticks"] / TICKS_PER_M


def _grid(here: _Room) -> GridTold | None:
    sides = _sides(here)
    if sides is None:
        return None
    found: Grid = grid(*sides)
    return {"along": found.along, "across": found.across, "cell_m": round(found.cell_m, 2)}


def _spacing(here: _Room) -> float | None:
    sides, place = _sides(here), here.today[0].room if here.today else None
    fixtures = sum(body.fixtures for body in here.bodies)
    if sides is None or place is None or not fixtures:
        return None
    height = place.cavity_ratio * sides[0] * sides[1] / (5 * (sides[0] + sides[1]))
    return round(spacing_to_height(*sides, height, fixtures), 2)


__all__ = ["RoomLight", "light_of_room", "lights_off"]
