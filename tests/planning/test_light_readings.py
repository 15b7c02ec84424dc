"""Ranges about light hold: rooms and readings are simulated, and what is told of each is compared with its truth.

Truth is made from rooms that were ray-traced (tests/published), bodies that are off by kind, rooms about them and meters that are
off themselves. `python -m tests.planning.test_light_readings 4000` counts many more.
"""

from __future__ import annotations

import csv
import random
import sys
from collections import Counter
from collections.abc import Iterator
from math import exp, log, sqrt
from pathlib import Path
from typing import NamedTuple

import pytest

from spanwalk.rules.light import light
from spanwalk.rules.light.light_readings import (
    ALIKE_SHARE,
    CARRIED,
    METER_SHARE,
    METER_UNKNOWN_SHARE,
    ODD_AT,
    POINTS_SPREAD,
    Corrected,
    Factor,
    Reading,
    corrected,
    of_room,
    prior_deviation,
    unread,
    with_daylight_said,
)

RANGE_SHARE = 0.15
KINDS = ("office · troffer", "corridor · wrap", "store · strip")
ROOMS_A_KIND, READ_A_KIND = 6, 4
SMALL = 150
PUBLISHED = Path(__file__).parents[1] / "published" / "utilisation.csv"
BOXES = list(csv.DictReader(PUBLISHED.read_text(encoding="utf-8").splitlines()))


def surprise_of(box: dict[str, str]) -> float:
    """ln of what a ray tracer found of a box over our own utilisation."""
    aspect, ratio = float(box["aspect"]), float(box["cavity_ratio"])
    width = 5 * (aspect + 1) / (aspect * ratio)
    shares = (float(box[name]) for name in ("ceiling", "walls", "floor"))
    return log(float(box["ray_traced"]) / light.utilisation(aspect * width, width, 1.0, *shares))


SURPRISES = [surprise_of(box) for box in BOXES]


FEW = ("of a room of tables alone",)
"""What is told of few rooms."""


class Site(NamedTuple):
    """Of what sort simulated sites are: at how many of their rooms it is said how daylight was kept out, how many others have some
    in their readings, how much of what bodies are off by is alike for a kind, and how many readings are blunders."""

    said: float = 1.0
    daylight: float = 0.0
    alike: float = ALIKE_SHARE
    blunders: float = 0.0


SORTS = {
    "all said": Site(),
    "none said, no daylight": Site(said=0.0),
    "half said, no daylight": Site(said=0.5),
    "half said, daylight in three of ten others": Site(said=0.5, daylight=0.3),
    "half said, daylight in all others": Site(said=0.5, daylight=1.0),
    "bodies differ less by kind": Site(alike=0.5),
    "bodies differ more by kind": Site(alike=0.9),
    "one reading in twelve a blunder": Site(said=0.5, daylight=0.3, blunders=1 / 12),
}
MEAN_DAYLIGHT = 0.3
"""Daylight in a reading over the electric light, exponential about this mean."""
BLUNDERS = (log(0.45), log(0.5), log(2.0), log(2.5))
"""A wrong range of the meter, half of the lamps off, a lamp of one's own on."""


class Truth(NamedTuple):
    """What a room is: its kind, ln of the truth over the estimate today and with bars, and how it was read."""

    kind: str
    off: float
    new: float
    read: str


def a_site(chance: random.Random, sort: Site) -> tuple[Corrected, dict[str, Truth]]:
    """A site with readings: what they correct by the rule on daylight, and the truth of each room."""
    deviation = prior_deviation(RANGE_SHARE)
    alike, own = deviation * sqrt(sort.alike), deviation * sqrt(1 - sort.alike)
    truth: dict[str, Truth] = {}
    readings = []
    for kind in KINDS:
        of_kind = chance.gauss(0, alike)
        for number in range(ROOMS_A_KIND):
            room = f"{kind} {number}"
            off = of_kind + chance.gauss(0, own) + chance.choice(SURPRISES)
            new = CARRIED * off + chance.gauss(0, deviation * sqrt(1 - CARRIED**2))
            truth[room] = Truth(kind, off, new, "not")
            if number < READ_A_KIND:
                reading, how = a_reading(chance, sort, room, kind, off)
                readings.append((reading, how != "unsaid"))
                truth[room] = truth[room]._replace(read=how)
    return corrected(with_daylight_said(readings)[0], RANGE_SHARE), truth


def a_reading(chance: random.Random, sort: Site, room: str, kind: str, off: float) -> tuple[Reading, str]:
    """A reading of a room, and whether it is `said` of it how daylight was kept out, `unsaid`, or it is said and a `blunder`."""
    points, calibrated = chance.choice((1, 4, 9, 16, 48)), chance.random() < 0.5
    limit = METER_SHARE if calibrated else METER_UNKNOWN_SHARE
    found = off + chance.uniform(-limit, limit) + chance.gauss(0, POINTS_SPREAD / sqrt(points))
    if chance.random() >= sort.said:
        lit = log(1 + chance.expovariate(1 / MEAN_DAYLIGHT)) if chance.random() < sort.daylight else 0.0
        return Reading(room, kind, found + lit, points, calibrated), "unsaid"
    if chance.random() < sort.blunders:
        return Reading(room, kind, found + chance.choice(BLUNDERS), points, calibrated), "blunder"
    return Reading(room, kind, found, points, calibrated), "said"


def held(factor: Factor, truth: float) -> bool:
    _, low, high = factor.of(1.0)
    return low <= exp(truth) <= high


def counted(sites: int, seed: int, sort: Site = SORTS["all said"]) -> dict[str, float]:
    """Share of rooms whose truth lies in the 95 % range that was told [%], by what was told of it."""
    chance, inside, tried = random.Random(seed), Counter[str](), Counter[str]()
    for _ in range(sites):
        for name, is_inside in _told(*a_site(chance, sort)):
            tried[name] += 1
            inside[name] += is_inside
    return {name: 100 * inside[name] / tried[name] for name in tried}


def _told(found: Corrected, truth: dict[str, Truth]) -> Iterator[tuple[str, bool]]:
    plain = Factor(0.0, prior_deviation(RANGE_SHARE), 0)
    for room, is_ in truth.items():
        told = of_room(room, is_.kind, found, RANGE_SHARE)
        if is_.read == "blunder":
            continue
        name = (
            "that was read"
            if room in found.rooms
            else "of a kind that was read"
            if told.is_corrected
            else "of tables alone"
        )
        yield f"of a room {name}", held(told.today, is_.off)
        if is_.read == "unsaid":
            yield "of a room read without a word on daylight", held(told.today, is_.off)
        yield "of new light", held(told.new, is_.new)
        yield "of no readings at all", held(plain, is_.off)


def odd_of(sites: int, seed: int, sort: Site) -> tuple[float, float]:
    """Of the readings that are blunders, and of those that are not, how many are not believed [%]."""
    chance, odd, tried = random.Random(seed), Counter[str](), Counter[str]()
    for _ in range(sites):
        found, truth = a_site(chance, sort)
        for room, is_ in truth.items():
            tried[is_.read] += 1
            odd[is_.read] += room in found.odd
    return 100 * odd["blunder"] / tried["blunder"], 100 * odd["said"] / tried["said"]


OTHERWISE = [name for name in SORTS if "differ" in name]
"""Where the assumption on what a kind has alike is wrong either way."""


@pytest.mark.parametrize("name", [name for name in SORTS if name not in OTHERWISE])
def test_ranges_of_95_pct_cover_93_to_97_pct_of_simulated_rooms(name: str) -> None:
    """150 sites of 18 rooms: 2,700 rooms, up to 1,800 read; what is told of few is counted by the command alone."""
    found = counted(SMALL, 5, SORTS[name])
    assert {"of new light", "of no readings at all"} < set(found)
    for told, share in found.items():
        if told not in FEW:
            assert 93 <= share <= 97, (name, told, share)


@pytest.mark.parametrize("name", OTHERWISE)
def test_where_bodies_differ_more_or_less_by_kind_than_assumed_ranges_hold_about_nine_in_ten(name: str) -> None:
    """Seven tenths alike are assumed. At nine they are wider than they need be, at five too narrow for rooms not read (90 of 100)."""
    found = counted(SMALL, 5, SORTS[name])
    assert 93 <= found["of new light"] <= 97
    assert 92 <= found["of a room that was read"] <= 98
    assert 88 <= found["of a room of a kind that was read"] <= 99


def test_of_readings_that_are_blunders_nearly_all_are_not_believed_and_hardly_any_other() -> None:
    """Half or double the light, at one point too: of a kind with three others the odd one is 3 deviations off in most."""
    blunders, others = odd_of(SMALL, 5, SORTS["one reading in twelve a blunder"])
    assert blunders > 75
    assert others < 2


def test_darker_readings_kept_alone_would_make_what_is_told_of_a_kind_too_dark() -> None:
    """Why neither the brighter nor the darker ones count: no daylight in any, and the truth lies above what is told in the mean."""
    chance, off = random.Random(3), []
    for _ in range(SMALL):
        kept, truth = [], {}
        for number in range(READ_A_KIND):
            truth[f"r{number}"] = chance.gauss(0, prior_deviation(RANGE_SHARE))
            kept.append(Reading(f"r{number}", "k", truth[f"r{number}"] + chance.gauss(0, 0.05), 16, True))
        darker = corrected([each for each in kept if each.log_ratio <= 0], RANGE_SHARE)
        off.append(sum(truth.values()) / len(truth) - unread("k", darker, RANGE_SHARE).mean)
    assert sum(off) / len(off) > 0.015


def test_readings_narrow_the_range_and_more_of_them_more() -> None:
    """Nothing read: ±15 %. A room of its own at 16 points, sd √(0.05²/3 + 0.2²/16) = 0.058: 1 / √(1/0.0713² + 1/0.058²) = 0.0449."""
    one = corrected([Reading("a", "k", 0.0, 16, True)], RANGE_SHARE)
    four = corrected([Reading(name, "k", 0.0, 16, True) for name in "abcd"], RANGE_SHARE)
    assert one.rooms["a"].deviation == pytest.approx(0.0449, abs=0.0002)
    assert four.rooms["a"].deviation < one.rooms["a"].deviation
    assert four.kinds["k"].deviation < one.kinds["k"].deviation < prior_deviation(RANGE_SHARE)


def test_one_kind_says_nothing_of_another() -> None:
    found = corrected([Reading("a", "k", log(0.8), 48, True)], RANGE_SHARE)
    assert unread("other", found, RANGE_SHARE) == Factor(0.0, prior_deviation(RANGE_SHARE), 0)


def test_an_odd_room_is_not_believed_and_is_told() -> None:
    """Four rooms 10 % below their estimates, one at half of it: 0.69 off in ln where some 0.09 is usual."""
    rooms = [Reading(name, "k", log(0.9), 16, True) for name in "abcd"]
    found = corrected([*rooms, Reading("odd", "k", log(0.5), 16, True)], RANGE_SHARE)
    assert list(found.odd) == ["odd"]
    assert found.odd["odd"] > ODD_AT
    assert found.kinds == corrected(rooms, RANGE_SHARE).kinds
    assert "odd" not in found.rooms


def test_a_lone_reading_far_off_the_tables_corrects_nothing() -> None:
    """Half of the estimate, one room read alone: 0.69 / √(0.0713² + 0.058²) = 7.5 deviations."""
    found = corrected([Reading("a", "k", log(0.5), 16, True)], RANGE_SHARE)
    assert found.odd["a"] == pytest.approx(7.5, abs=0.1)
    assert unread("k", found, RANGE_SHARE).mean == 0.0


if __name__ == "__main__":
    for sort_name, of_sort in SORTS.items():
        print(sort_name)
        for told, covered in counted(int(sys.argv[1]), 1, of_sort).items():
            print(f"{covered:8.2f} %  {told}")
        if of_sort.blunders:
            print(
                "{:8.2f} %  of blunders not believed, {:.2f} % of others".format(*odd_of(int(sys.argv[1]), 1, of_sort))
            )
