"""What light falls on a task area of a room and on the band about it, by how its fixtures stand.

Light that comes straight from a fixture is reckoned exactly: a body is a rectangle in the plane of the fixtures that shines down by
the cosine law. What comes by way of ceiling, walls and floor is taken as evenly spread over the work plane, as much of it as the
lumen method finds for the room. Where nobody said how fixtures stand or where the area lies, every even layout and every placing is
tried, and the least and the most are told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product
from math import atan, ceil, hypot, pi, sqrt
from typing import NamedTuple

from spanwalk.rules.light.light import form_factor, utilisation

BAND_M = 0.5
"""Least width of the surrounding about a task area (EN 12464-1, immediate surrounding area)."""
METHOD_SHARE = 0.10
"""Half-width of the 95 % range of the method itself, as a share: how far it lies off rooms that were ray-traced point by point."""
FAR = 5.0
"""A fixture so many of its own lengths away shines as a point does, to 3 %; so little comes from there that a room does not notice."""
POINTS_A_HEIGHT = 4
POINTS_A_SIDE = (2, 12)
"""Points along a side of an area: so many for each height of the fixtures above it, at least and at most so many."""
MOST_FIXTURES, MOST_NOT_SEEN = 1000, 300
"""Above it no task area is reckoned, where it was said how fixtures stand and where not: a question must not hold the server up."""
LEAN = 3.0
"""Of layouts that nobody saw, those are tried whose spacings along and across differ up to so many times (common practice, no source)."""
SURROUNDING = ((750, 500), (500, 300), (300, 200))
"""Light on a task area from which on so much is wanted of its surrounding [lx]; below the last, as much as on the task."""


class Box(NamedTuple):
    """A room above its work plane: sides and height up to the fixtures [m], reflectances of ceiling, walls and floor."""

    length_m: float
    width_m: float
    height_m: float
    ceiling_share: float
    walls_share: float
    floor_share: float


class Area(NamedTuple):
    """A task area along the sides of its room [m], its centre from the nearer end and the nearer side; None: anywhere."""

    length_m: float
    width_m: float
    from_end_m: float | None = None
    from_side_m: float | None = None


class Bodies(NamedTuple):
    """Fixtures of a room: how many, their long and their short side [m]."""

    number: int
    long_m: float
    short_m: float


class Stand(NamedTuple):
    """How fixtures stand, evenly spread: so many along and across the room; whether their long side lies along it; None: not seen."""

    along: int | None = None
    across: int | None = None
    lies_along: bool | None = None


@dataclass(frozen=True)
class OnArea:
    """One layout and one placing: what a lumen of each fixture makes, straight and by way of surfaces.

    Parameters
    ----------
    task : tuple of float
        Mean on the task area, by fixture [lx/lm].
    band : tuple of float
        Mean on the band about it, by fixture [lx/lm]; empty where the area fills the room.
    evenness : float
        Least over mean of the points of the task area, fixtures all alike.
    """

    task: tuple[float, ...]
    band: tuple[float, ...]
    evenness: float


class Between(NamedTuple):
    """The least and the most of what was tried."""

    least: float
    most: float


# -- one fixture, one point


def corner_factor(x: float, y: float) -> float:
    """Share of what a level element sends up diffusely that meets a level rectangle above it, one corner of which is overhead.

    Parameters
    ----------
    x, y : float
        Sides of the rectangle over its height; a negative one turns the sign, so that other places follow by adding up.

    References
    ----------
    .. [1] Howell, catalogue of radiation view factors, B-3: element to a parallel rectangle, normal through its corner (from memory).

    Examples
    --------
    >>> round(corner_factor(1, 1), 6), round(4 * corner_factor(1e6, 1e6), 6)
    (0.138532, 1.0)
    """
    a, b = sqrt(1 + x * x), sqrt(1 + y * y)
    return (x / a * atan(y / a) + y / b * atan(x / b)) / (2 * pi)


def straight(x_m: float, y_m: float, height_m: float, long_m: float, short_m: float) -> float:
    """Light that a lumen of a fixture makes straight below or beside it, on a level plane [lx/lm].

    Parameters
    ----------
    x_m, y_m : float
        From the point to the middle of the fixture, along its long and its short side [m].
    height_m : float
        From the plane up to the fixture [m].
    long_m, short_m : float
        Sides of its shining face [m].

    Examples
    --------
    A small one shines as a point does, 1 / (π h²) below it:

    >>> round(straight(0, 0, 2, 0.01, 0.01), 5), round(1 / (pi * 4), 5)
    (0.07958, 0.07958)
    """
    away = hypot(x_m, y_m, height_m)
    if away > FAR * long_m:
        return height_m * height_m / (pi * away**4)
    xs = ((x_m - long_m / 2) / height_m, (x_m + long_m / 2) / height_m)
    ys = ((y_m - short_m / 2) / height_m, (y_m + short_m / 2) / height_m)
    seen = sum((1 if i == j else -1) * corner_factor(xs[i], ys[j]) for i in (0, 1) for j in (0, 1))
    return seen / (long_m * short_m)


def surrounding_lux(task_lux: float) -> float:
    """What is wanted of the surrounding of a task area, by what is wanted on it [lx].

    References
    ----------
    .. [1] EN 12464-1, illuminance of the immediate surrounding: one step lower, 500 lx from 750 lx on, and as much as on the task
       up to 200 lx, as a lighting maker's pages on the standard give it (read); the steps between from memory.

    Examples
    --------
    >>> [surrounding_lux(each) for each in (1000, 500, 499, 300, 200, 100)]
    [500, 300, 200, 200, 200, 100]
    """
    return next((around for task, around in SURROUNDING if task_lux >= task), task_lux)


# -- layouts and placings


def _rows(box: Box, along: int, across: int, count: int) -> tuple[tuple[float, float], ...]:
    """Places of so many fixtures in rows along the room, each evenly spread and half a spacing off the walls [m]."""
    whole, over = divmod(count, across)
    rows = [whole + (1 if row < over else 0) for row in range(across)] if along * across != count else [along] * across
    return tuple(
        ((at + 0.5) * box.length_m / many, (row + 0.5) * box.width_m / across)
        for row, many in enumerate(rows)
        for at in range(many)
    )


def layouts(box: Box, count: int, stand: Stand) -> list[tuple[tuple[float, float], ...]]:
    """Layouts to be tried: the one that was said, else even ones: the squarest first, and those that lean most either way.

    Parameters
    ----------
    box : Box
        The room.
    count : int
        Fixtures in it, at least 1 [fixtures].
    stand : Stand
        What was said of how they stand.

    Examples
    --------
    >>> room = Box(6, 4, 2, 0.8, 0.5, 0.2)
    >>> layouts(room, 2, Stand(2, 1)), len(layouts(room, 6, Stand()))
    ([((1.5, 2.0), (4.5, 2.0))], 2)
    """
    if stand.along and stand.across:
        return [_rows(box, stand.along, stand.across, count)]
    leans: dict[int, float] = {}
    for across in range(1, count + 1):
        spacing = (box.length_m / ceil(count / across), box.width_m / across)
        leans[across] = max(spacing) / min(spacing)
    squarest = min(leans, key=lambda across: leans[across])
    kept = [across for across, lean in leans.items() if lean <= LEAN] or [squarest]
    tried = dict.fromkeys((squarest, kept[0], kept[-1]))
    return [_rows(box, ceil(count / across), across, count) for across in tried]


def _candidates(side_m: float, area_m: float, said_m: float | None, fixtures: Iterable[float]) -> list[float]:
    """Where the centre of the area may lie along a side: as said, or at the wall, under fixtures and between them [m]."""
    if said_m is not None:
        return sorted({round(said_m, 6), round(side_m - said_m, 6)})
    at = sorted(set(fixtures))
    under = {at[0], at[-1], at[len(at) // 2], at[(len(at) - 1) // 2]}
    gaps = [(one + other) / 2 for one, other in pairwise(at)]
    between = {gaps[0], gaps[-1], gaps[len(gaps) // 2]} if gaps else set()
    edge = area_m / 2
    inside = [each for each in (*under, *between, side_m / 2) if edge <= each <= side_m - edge]
    return sorted({round(each, 6) for each in (edge, *inside, side_m - edge)})


def _points(x_m: float, y_m: float, length_m: float, width_m: float, height_m: float) -> list[tuple[float, float]]:
    """Points evenly spread over an area about a centre [m]."""

    def along(centre_m: float, side_m: float) -> list[float]:
        least, most = POINTS_A_SIDE
        number = min(max(ceil(POINTS_A_HEIGHT * side_m / height_m), least), most)
        return [centre_m + side_m * ((at + 0.5) / number - 0.5) for at in range(number)]

    return list(product(along(x_m, length_m), along(y_m, width_m)))


def _band(box: Box, area: Area, x_m: float, y_m: float) -> list[tuple[float, float]]:
    """Points of the band about an area, within the room [m]."""
    left, right = max(0.0, x_m - area.length_m / 2 - BAND_M), min(box.length_m, x_m + area.length_m / 2 + BAND_M)
    low, high = max(0.0, y_m - area.width_m / 2 - BAND_M), min(box.width_m, y_m + area.width_m / 2 + BAND_M)
    every = _points((left + right) / 2, (low + high) / 2, right - left, high - low, box.height_m)
    return [(x, y) for x, y in every if abs(x - x_m) > area.length_m / 2 or abs(y - y_m) > area.width_m / 2]


# -- a room


@lru_cache(maxsize=8)  # of a large room some megabytes each; all groups of a room ask for the same
def on_area(box: Box, area: Area, bodies: Bodies, stand: Stand) -> tuple[OnArea, ...]:
    """What lumens of the fixtures of a room make of a task area, for each layout and each placing that may be.

    Parameters
    ----------
    box : Box
        The room above its work plane.
    area : Area
        The task area, that fits into the room.
    bodies : Bodies
        Its fixtures.
    stand : Stand
        What was said of how they stand.

    Returns
    -------
    tuple of OnArea
        At least one.

    Examples
    --------
    One fixture in the middle of a room: a desk in the middle has more than twice the light of one in a corner.

    >>> room, one = Box(6, 6, 2, 0.7, 0.5, 0.2), Bodies(1, 1.2, 0.2)
    >>> found = on_area(room, Area(1.6, 0.8), one, Stand(1, 1, True))
    >>> max(each.task[0] for each in found) > 2 * min(each.task[0] for each in found)
    True
    """
    size = (box.length_m, box.width_m, box.height_m)
    whole = utilisation(*size, box.ceiling_share, box.walls_share, box.floor_share)
    about = (whole - form_factor(box.length_m / box.height_m, box.width_m / box.height_m)) / (
        box.length_m * box.width_m
    )
    squarest, *leaning = layouts(box, bodies.number, stand)
    lies = True if stand.lies_along is None else stand.lies_along
    tried = [(squarest, lies), *((each, lies) for each in leaning)]
    if stand.lies_along is None:
        tried.append((squarest, not lies))
    return tuple(
        _one(box, area, bodies, places, lies_along, at, about)
        for places, lies_along in tried
        for at in _placings(box, area, places)
    )


def _placings(box: Box, area: Area, places: Sequence[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    along = _candidates(box.length_m, area.length_m, area.from_end_m, (x for x, _ in places))
    across = _candidates(box.width_m, area.width_m, area.from_side_m, (y for _, y in places))
    mirrored = _same(places, [(box.length_m - x, y) for x, y in places])
    turned = _same(places, [(x, box.width_m - y) for x, y in places])
    for x, y in product(along, across):
        if (not mirrored or x <= box.length_m / 2 + 1e-6) and (not turned or y <= box.width_m / 2 + 1e-6):
            yield x, y


def _same(one: Iterable[tuple[float, float]], other: Iterable[tuple[float, float]]) -> bool:
    return {(round(x, 6), round(y, 6)) for x, y in one} == {(round(x, 6), round(y, 6)) for x, y in other}


def _one(
    box: Box,
    area: Area,
    bodies: Bodies,
    places: Sequence[tuple[float, float]],
    lies_along: bool,
    at: tuple[float, float],
    about: float,
) -> OnArea:
    """One layout, one placing; `about` is what a lumen makes by way of surfaces [lx/lm]."""

    def seen(points: Sequence[tuple[float, float]]) -> list[list[float]]:
        return [[_from(place, point, box.height_m, bodies, lies_along) for place in places] for point in points]

    task = seen(_points(*at, area.length_m, area.width_m, box.height_m))
    band = seen(_band(box, area, *at))
    sums = [sum(row) + about * len(places) for row in task]
    return OnArea(
        _means(task, about),
        _means(band, about) if band else (),
        min(sums) * len(sums) / sum(sums),
    )


def _from(
    place: tuple[float, float], point: tuple[float, float], height_m: float, bodies: Bodies, lies_along: bool
) -> float:
    x, y = place[0] - point[0], place[1] - point[1]
    return straight(*((x, y) if lies_along else (y, x)), height_m, bodies.long_m, bodies.short_m)


def _means(rows: Sequence[Sequence[float]], about: float) -> tuple[float, ...]:
    return tuple(sum(each) / len(rows) + about for each in zip(*rows, strict=True))


def light_between(found: Iterable[Sequence[float]], lumens: Sequence[float]) -> Between:
    """The least and the most light that fixtures make, whichever of them stands where [lx].

    Parameters
    ----------
    found : iterable of sequence of float
        For each layout and placing what a lumen of each fixture makes [lx/lm].
    lumens : sequence of float
        Light of each fixture [lm], in any order: which stands where nobody knows.

    Returns
    -------
    Between
        By the rearrangement inequality: a sum of products is most where both go up together, least where they go against.

    References
    ----------
    .. [1] Hardy, Littlewood, Pólya, Inequalities, theorem 368 (from memory).

    Examples
    --------
    >>> light_between([(0.03, 0.01)], [1000, 3000])
    Between(least=60.0, most=100.0)
    """
    up = sorted(lumens)
    least, most = [], []
    for each in found:
        by = sorted(each)
        most.append(sum(factor * lm for factor, lm in zip(by, up, strict=True)))
        least.append(sum(factor * lm for factor, lm in zip(reversed(by), up, strict=True)))
    return Between(min(least), max(most))


def fits(box: Box, area: Area) -> bool:
    """Whether an area lies within its room, where it was said to lie.

    >>> room = Box(6, 4, 2, 0.8, 0.5, 0.2)
    >>> fits(room, Area(1.6, 0.8)), fits(room, Area(1.6, 0.8, 0.5)), fits(room, Area(1.6, 4.5))
    (True, False, False)
    """

    def along(side_m: float, area_m: float, centre_m: float | None) -> bool:
        return area_m <= side_m + 1e-9 and (
            centre_m is None or area_m / 2 - 1e-9 <= centre_m <= side_m - area_m / 2 + 1e-9
        )

    return along(box.length_m, area.length_m, area.from_end_m) and along(box.width_m, area.width_m, area.from_side_m)
