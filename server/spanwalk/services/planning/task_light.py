"""The light on the task area of a room: found, all lamps burning, on day one and maintained, each from the least to the most it may be.

Where nobody said how the fixtures stand or where the area lies, the range holds every even layout and every placing; what does not
stand evenly is not reckoned.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import exp, log, sqrt
from typing import NamedTuple, TypedDict

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.choosing.wanted import OF_MAINS, target_lux
from spanwalk.rules.arrangements.now import TICKS_PER_M, Now, Room, surveyed_room
from spanwalk.rules.light.light_readings import Z_95, Factor, OfRoom
from spanwalk.rules.light.light_task import (
    METHOD_SHARE,
    MOST_FIXTURES,
    MOST_NOT_SEEN,
    Area,
    Bodies,
    Box,
    OnArea,
    Stand,
    fits,
    light_between,
    on_area,
    surrounding_lux,
)
from spanwalk.rules.record_types import KindView, RoomView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import NOT_SEEN, Survey, facet, fixtures_of

METRES_PER_FOOT = 0.3048
USUAL_LENGTH, USUAL_SHORT_M = "4-ft", 0.15
"""Shining length and width of a body where nobody measured it (common practice, no source): two metres below, the light hardly depends on it."""
NARROW = ("louvre", "parabolic-louvre", "reflector")
"""Optics that shine more narrowly than the cosine law."""
EVEN, UNEVEN = "evenly-spread", "not-evenly-spread"


class Reach(TypedDict):
    """From the least to the most light it may be [lx]."""

    low: int
    high: int


class TaskLight(TypedDict):
    """The light on a task area; None what cannot be told. `around` is the maintained light of its surrounding, `says` are sentences."""

    length_ticks: int
    width_ticks: int
    found: Reach | None
    all_burning: Reach | None
    day_one: Reach | None
    maintained: Reach | None
    around: Reach | None
    wanted: int | None
    says: list[Said]


class _Each(NamedTuple):
    """Light of each fixture of the room [lm], in no order."""

    found: Sequence[float]
    all_burning: Sequence[float]
    day_one: Sequence[float]
    maintained: Sequence[float]


def task_light(
    room: RoomView,
    bodies: Sequence[Body],
    today: Sequence[Now],
    then: Sequence[tuple[float, float]] | None,
    factors: OfRoom,
) -> TaskLight | None:
    """What is told of the light on the task area of a room; None where it has none, or no fixtures.

    Parameters
    ----------
    room : view record
        The room.
    bodies, today : sequence
        Its groups, and each as it is.
    then : sequence of pair of float, or None
        Light of each group on day one and maintained [lm]; None where it is not known.
    factors : OfRoom
        What readings make of estimates for the room.
    """
    task = facet(room, "task")
    if "length_ticks" not in task or "width_ticks" not in task or not bodies:
        return None
    told: TaskLight = {
        "length_ticks": task["length_ticks"],
        "width_ticks": task["width_ticks"],
        "found": None,
        "all_burning": None,
        "day_one": None,
        "maintained": None,
        "around": None,
        "wanted": None,
        "says": [],
    }
    here, area, fixtures = today[0].room, _area(room), sum(body.fixtures for body in bodies)
    if here is None or not fixtures or any(each.light is None for each in today):
        told["says"] = [{"code": "task-light.not-known", "facts": {}}]
        return told
    stand, of_stand = _stand(room, fixtures)
    held = _held(here.box, area, fixtures, stand)
    if held is not None or stand is None:
        told["says"] = [held if held is not None else of_stand]
        return told
    found = on_area(here.box, area, _sizes((body.fixtures, body.kind) for body in bodies), stand)
    each = _lumens(bodies, today, then)
    told["found"] = _reach(found, each.found, factors.today)
    told["all_burning"] = _reach(found, each.all_burning, factors.today)
    told["day_one"] = _reach(found, each.day_one, factors.new)
    told["maintained"] = _reach(found, each.maintained, factors.new)
    told["around"] = _reach(found, each.maintained, factors.new, around=True)
    told["says"] = [
        *_wanted(told, bodies[0]),
        _share(here, found),
        of_stand,
        *_doubts(area, bodies, each),
        {"code": "task-light.method", "facts": {"pct": round(METHOD_SHARE * 100)}},
    ]
    return told


def task_of_room(survey: Survey, room: RoomView) -> list[Said]:
    """What a report tells of a task area by the survey alone: its light over the room's mean, and how the fixtures stand.

    Parameters
    ----------
    survey : Survey
        The records.
    room : view record
        The room; nothing is told of one without a task area or without fixtures.
    """
    task, here = facet(room, "task"), surveyed_room(room)
    groups = [(fixtures_of(each), survey.kind_of(each)) for each in survey.children(room, "group")]
    fixtures = sum(number for number, _ in groups)
    if "length_ticks" not in task or "width_ticks" not in task or here is None or not fixtures:
        return []
    sides = {"length_ticks": task["length_ticks"], "width_ticks": task["width_ticks"]}
    title: Said = {"code": "task-light.area", "facts": sides}
    area = _area(room)
    stand, of_stand = _stand(room, fixtures)
    held = _held(here.box, area, fixtures, stand)
    if held is not None or stand is None:
        return [title, held if held is not None else of_stand]
    return [title, _share(here, on_area(here.box, area, _sizes(groups), stand)), of_stand]


def _share(room: Room, found: Sequence[OnArea]) -> Said:
    """Least and most light on an area over the room's mean, and the least point over the mean on it, fixtures all alike."""
    number = len(found[0].task)
    mean = number * room.utilisation / room.area_m2
    between = light_between((each.task for each in found), [1.0] * number)
    facts = {
        "least_pct": round(between.least / mean * 100),
        "most_pct": round(between.most / mean * 100),
        "even_pct": int(min(each.evenness for each in found) * 100),
    }
    return {"code": "task-light.share", "facts": facts}


# -- what it is reckoned from


def _area(room: RoomView) -> Area:
    task = facet(room, "task")
    end, side = task.get("from_end_ticks"), task.get("from_side_ticks")
    return Area(
        task["length_ticks"] / TICKS_PER_M,
        task["width_ticks"] / TICKS_PER_M,
        None if end is None else end / TICKS_PER_M,
        None if side is None else side / TICKS_PER_M,
    )


def _stand(room: RoomView, fixtures: int) -> tuple[Stand | None, Said]:
    """How the fixtures stand, and what is said of it; None where they do not stand evenly."""
    layout = facet(room, "layout")
    along, across, direction = layout.get("along"), layout.get("across"), layout.get("direction", NOT_SEEN)
    lies = None if direction == NOT_SEEN else direction == "along-the-length"
    if layout.get("spread") == UNEVEN:
        return None, {"code": "task-light.layout-not-even", "facts": {}}
    if along is None or across is None or layout.get("spread") != EVEN:
        return Stand(lies_along=lies), {"code": "task-light.layout-not-seen", "facts": {}}
    facts = {"along": along, "across": across, "fixtures": fixtures}
    if along * across != fixtures:
        return Stand(lies_along=lies), {"code": "task-light.layout-differs", "facts": facts}
    return Stand(along, across, lies), {"code": "task-light.layout-said", "facts": facts}


def _held(box: Box, area: Area, fixtures: int, stand: Stand | None) -> Said | None:
    """Why the light on it is not reckoned."""
    if not fits(box, area):
        return {"code": "task-light.outside", "facts": {}}
    most = MOST_FIXTURES if stand and stand.along else MOST_NOT_SEEN
    if fixtures > most:
        return {"code": "task-light.too-many", "facts": {"fixtures": fixtures, "most": most}}
    return None


def _sizes(groups: Iterable[tuple[int, KindView | None]]) -> Bodies:
    """Fixtures of the room, their sides by what was surveyed: nominal length of the lamps, clear width of the body."""
    counted = list(groups)
    number = sum(fixtures for fixtures, _ in counted)
    long_m = sum(fixtures * _long_m(kind) for fixtures, kind in counted) / number
    short_m = sum(fixtures * _short_m(kind) for fixtures, kind in counted) / number
    return Bodies(number, round(long_m, 3), round(short_m, 3))


def _long_m(kind: KindView | None) -> float:
    lamps = facet(kind, "lamps")
    nominal = lamps.get("nominal_ft", NOT_SEEN)
    feet = float((USUAL_LENGTH if nominal == NOT_SEEN else nominal).split("-", 1)[0])
    return feet * METRES_PER_FOOT * int(lamps.get("lamps_end_to_end", 1))


def _short_m(kind: KindView | None) -> float:
    width = facet(kind, "housing").get("width_ticks")
    return USUAL_SHORT_M if width is None else width / TICKS_PER_M


def _lumens(bodies: Sequence[Body], today: Sequence[Now], then: Sequence[tuple[float, float]] | None) -> _Each:
    """Light of each fixture; dark lamps in as few fixtures as hold them, for nobody said in which they are."""
    found: list[float] = []
    burning: list[float] = []
    new: tuple[list[float], list[float]] = ([], [])
    for at, (body, current) in enumerate(zip(bodies, today, strict=True)):
        lit = current.light
        if lit is None or not body.fixtures:
            continue
        one = lit.all_burning_lm / body.fixtures
        burning += [one] * body.fixtures
        found += _with_dark_ones(one, body.fixtures, 1 - current.working_share)
        for lights, whole in zip(new, then[at] if then is not None else (), strict=False):
            lights += [whole / body.fixtures] * body.fixtures
    return _Each(found, burning, *new)


def _with_dark_ones(one_lm: float, fixtures: int, dark_share: float) -> list[float]:
    dark = dark_share * fixtures
    whole = min(int(dark + 1e-9), fixtures)
    partly = [one_lm * (1 - (dark - whole))] if fixtures > whole else []
    return [0.0] * whole + partly + [one_lm] * (fixtures - whole - len(partly))


# -- what is told


def _reach(found: Sequence[OnArea], lumens: Sequence[float], factor: Factor, *, around: bool = False) -> Reach | None:
    """Least and most light, with what readings make of it and the range of estimate and method."""
    every = [each.band if around else each.task for each in found]
    kept = [each for each in every if each]
    if not lumens or not kept:
        return None
    between = light_between(kept, lumens)
    half = Z_95 * sqrt(factor.deviation**2 + (log(1 + METHOD_SHARE) / Z_95) ** 2)
    low, high = between.least * exp(factor.mean - half), between.most * exp(factor.mean + half)
    return {"low": int(low), "high": -int(-high // 1)}


def _wanted(told: TaskLight, body: Body) -> Iterator[Said]:
    target = target_lux(body)
    maintained = told["maintained"]
    if target is None:
        return
    wanted = told["wanted"] = round(target["lux"])
    facts: dict[str, object] = {"wanted": wanted, "standard_row": target["row"]}
    if maintained is not None:
        reached = maintained["low"] >= wanted
        code = "reached" if reached else "not-reached" if maintained["high"] < wanted else "cannot-tell"
        yield {"code": f"task-light.{code}", "facts": facts}
    if target["standard"] == OF_MAINS[50] and told["around"] is not None:
        yield {"code": "task-light.around-wanted", "facts": {"wanted": round(surrounding_lux(wanted))}}


def _doubts(area: Area, bodies: Sequence[Body], each: _Each) -> Iterator[Said]:
    if area.from_end_m is None or area.from_side_m is None:
        yield {"code": "task-light.anywhere", "facts": {}}
    if any(len({round(lm) for lm in lights}) > 1 for lights in each):
        yield {"code": "task-light.mixed", "facts": {}}
    if any(body.of_kind("housing").get("optic") in NARROW for body in bodies):
        yield {"code": "task-light.narrow", "facts": {}}


__all__ = ["Reach", "TaskLight", "task_light", "task_of_room"]
