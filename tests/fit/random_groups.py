"""Groups as surveyors might enter them, drawn from a seed; a third end within 0.1 mm of a limit."""

from __future__ import annotations

from itertools import product
from random import Random
from typing import Any

from spanwalk.rules.judging.judging import judge_group

Json = Any
Case = dict[str, Json]
NEAR_TICKS = 32
"""0.1 mm."""
SIXTEENTH = 508
INSTRUMENTS = ("tape-class-i", "tape-class-ii", "tape-class-iii", "us-tape", "gauge-goes", "gauge-does-not-go")
ON_THE_LIMIT = (-NEAR_TICKS, 0, NEAR_TICKS)
ALL_READ = 0.2
"""Share of the groups of one or two fixtures with a reading in each cavity."""
SHORTEST_BAR_TICKS = 32_000
"""No shorter bar can be entered (spec/records.json)."""
CORRECTIONS = 3
"""A longer bar also grows more in heat, so that one step does not land on the tick."""
MOVED = 0.75
"""Share of the groups that are moved to a limit; not every one can be."""
CAVITIES_MM = {
    ("T8", "4-ft"): 1200,
    ("T5", "4-ft"): 1150,
    ("T8", "2-ft"): 590,
    ("T12", "8-ft"): 2376,
    ("T12", "4-ft"): 1200,
}
TRIED = 0.25
"""Share of the groups in which bars were tried."""
NOT_SEEN = "not-seen"


def draw_case(rng: Random, tables: Json) -> Case:
    """Arguments of `judge_group` by name; most are moved to a limit."""
    case = _draw(rng)
    return _moved_to_a_limit(rng, case, tables) if rng.random() < MOVED else case


def _draw(rng: Random) -> Case:
    lamp = rng.choice(sorted(CAVITIES_MM))
    kind = _kind(rng, lamp)
    group, readings = _group(rng, "group", lamp, rng.choice([0, 1, 2, 3, 3, 4, 5, 8, 12]))
    if rng.random() < ALL_READ:
        readings = _all_read(rng, group, kind, lamp)
    bars = [_bar(rng, at, lamp) for at in range(rng.randint(0, 6))]
    others = [(*_group(rng, f"other-{at}", lamp, rng.randint(0, 4)),) for at in range(rng.choice([0, 0, 1, 2]))]
    return {
        "group": group,
        "kind": kind,
        "room": record(
            "room", surroundings=_temperatures(rng) | {"moisture": rng.choice(["dry", "damp", "wet", NOT_SEEN])}
        ),
        "site": record("site", settings=_temperatures(rng) | _settings(rng)),
        "readings": readings,
        "kind_readings": [[other, kind, theirs] for other, theirs in others],
        "bars": bars,
        "trial_bars": _trials(rng, bars, readings) if bars and rng.random() < TRIED else [],
    }


def _trials(rng: Random, bars: list[Json], readings: list[Json]) -> list[Json]:
    """Trial bars in cavities that were read and in others; most go in, some with a gap to be seen."""
    read = [{name: each["facets"]["identity"][name] for name in ("position", "row", "cavity")} for each in readings]
    drawn = [
        {"position": rng.randint(1, 3), "row": rng.choice([1, 1, 2]), "cavity": 1} for _ in range(rng.randint(0, 3))
    ]
    tried = rng.choice(bars)["id"]
    found = []
    for at, place in enumerate([*(read if rng.random() < 0.7 else []), *drawn]):
        said = {**place, "bar": tried, "went_in": rng.choices(["went-in-by-hand", "did-not-go-in"], weights=(12, 1))[0]}
        if rng.random() < 0.7:
            said["gap_ticks"] = rng.choice([0, 160, 960, 2560, 6400])
        if rng.random() < 0.1:
            said |= {"then_bar": rng.choice(bars)["id"], "then_number": rng.randint(1, 2)}
        found.append(
            record(
                "trial_bar", f"trial-{at:02}", identity=said, voided={"reason": "-"} if rng.random() < 0.05 else None
            )
        )
    return found


def record(type_name: str, ident: str | None = None, **facets: Json) -> Json:
    """A view record."""
    kept = {name: value for name, value in facets.items() if value is not None}
    return {
        "id": ident or type_name,
        "type": type_name,
        "parent": None,
        "removed": False,
        "facets": kept,
        "conflicts": [],
    }


def _kind(rng: Random, lamp: tuple[str, str]) -> Json:
    diameter, nominal = lamp
    lamps = {
        "fitted": rng.choice(["fluorescent"] * 4 + ["led-tube-on-mains", NOT_SEEN]),
        "diameter": diameter,
        "cap": rng.choice([{"T5": "G5"}.get(diameter, "G13")] * 4 + ["single-pin", "U-bend", NOT_SEEN]),
        "nominal_ft": nominal,
        "rows": rng.choice([1, 2, 2, 3, 4]),
        "lamps_end_to_end": rng.choice([1, 1, 1, 2]),
    }
    _lose(rng, lamps)
    housing = {
        "material": rng.choice(["steel", "steel", "aluminium", "plastic", "other", NOT_SEEN]),
        "width_ticks": rng.choice([7039, 7040, 9600]),
        "height_ticks": rng.choice([3839, 3840]),
    }
    _lose(rng, housing)
    return record(
        "kind",
        identity={"mark": "K1", "alike": rng.choice(["yes", "not-sure", "two-makes-seen"])},
        housing=housing,
        lamps=lamps,
        spring_back=_spring_back(rng),
    )


def _spring_back(rng: Random) -> dict[str, Json] | None:
    """Five pairs of holders, now and then four, or sprung ones."""
    if rng.random() < 0.65:
        return None
    names = ("first_ticks", "second_ticks", "third_ticks", "fourth_ticks", "fifth_ticks")
    said: dict[str, Json] = {name: rng.randint(0, 600) for name in names[: rng.choice([5, 5, 5, 5, 4])]}
    said["holders"] = rng.choice(["rigid", "rigid", "rigid", "rigid", "sprung", NOT_SEEN])
    if rng.random() < 0.8:
        said["instrument"] = rng.choice(["tape", "steel-rule", "feeler-gauges", "caliper"])
    return said


def _lose(rng: Random, value: dict[str, Json]) -> None:
    """Now and then nobody entered a field."""
    for name in sorted(value):
        if rng.random() < 0.04:
            del value[name]


def _group(rng: Random, ident: str, lamp: tuple[str, str], n: int) -> tuple[Json, list[Json]]:
    count: dict[str, Json] = {"count": rng.choice([1, 2, 4, 6, 12, 24, 60, 400, 2000])}
    if rng.random() < 0.65:
        count["gone"] = [rng.choice([1, 1, 1, 2])]
    differs = (
        {"housing_material": rng.choice(["as-the-kind", "steel", "aluminium", "plastic"])}
        if rng.random() < 0.3
        else None
    )
    group = record("group", ident, count=count if rng.random() < 0.95 else {}, differs=differs)
    mean = CAVITIES_MM[lamp] * 320 + rng.randint(-600, 600)
    second = mean + rng.choice([0, 0, 0, rng.randint(600, 1700)])
    return group, [_reading(rng, f"{ident}-{at}", rng.choice([mean, second])) for at in range(n)]


def _all_read(rng: Random, group: Json, kind: Json, lamp: tuple[str, str]) -> list[Json]:
    """A reading in each cavity of one or two fixtures, of which a gauge makes several."""
    group["facets"]["count"] = {"count": rng.choice([1, 2])}
    rows, end_to_end = kind["facets"]["lamps"].get("rows", 1), kind["facets"]["lamps"].get("lamps_end_to_end", 1)
    places = list(
        product(range(1, group["facets"]["count"]["count"] + 1), range(1, rows + 1), range(1, end_to_end + 1))
    )
    readings = [_reading(rng, f"all-{at}", CAVITIES_MM[lamp] * 320) for at in range(len(places))]
    gauged = rng.random() < 0.5
    for reading, (position, row, cavity) in zip(readings, places, strict=True):
        identity = reading["facets"]["identity"]
        identity |= {"position": position, "row": row, "cavity": cavity}
        if gauged and rng.random() < 0.6:
            identity["instrument"] = rng.choice(["gauge-goes", "gauge-does-not-go"])
    return readings


def _reading(rng: Random, ident: str, mean: int) -> Json:
    length = round(rng.gauss(mean, rng.choice([40, 160, 400])))
    if rng.random() < 0.06:
        length += rng.choice([8128, -8128, 32_000, 4544, -16_000, mean])
    instrument = rng.choices(INSTRUMENTS, weights=(4, 8, 4, 16, 4, 1))[0]
    graduation = rng.choice(["1-16-in", "1-32-in", "1-64-in", "1-mm", "0.5-mm", None])
    step = SIXTEENTH if graduation == "1-16-in" else 1
    identity = {
        "position": rng.choice([1, 1, 2, rng.randint(1, 8)]),
        "row": rng.choice([1, 1, 2, 3]),
        "cavity": rng.choice([1, 1, 1, 2]),
    }
    identity |= {"length_ticks": round(length / step) * step, "as_entered": "drawn", "instrument": instrument}
    if graduation:
        identity["graduation"] = graduation
    if rng.random() < 0.5:
        identity["from_hook"] = rng.random() < 0.5
    return record("cavity_reading", ident, identity=identity, **_said_of(rng))


def _said_of(rng: Random) -> dict[str, Json]:
    """What somebody said of a reading afterwards; an emptied facet is there and empty."""
    said: list[dict[str, Json]] = [
        {"voided": {"reason": "wrong room"}},
        {"set_aside": {"reason": "bent-pair"}},
        {"confirmed": {"answer": "it-is-what-the-tape-shows"}},
        {"confirmed": {"answer": "it-was-read-wrong"}},
        {"set_aside": {}},
    ]
    return rng.choice(said) if rng.random() < 0.2 else {}


def _temperatures(rng: Random) -> dict[str, Json]:
    all_of = {"coldest_c": rng.choice([-20, 0, 10, 12.5]), "hottest_c": rng.choice([25, 38, 45.25, 60])}
    return {name: value for name, value in all_of.items() if rng.random() < 0.6}


def _settings(rng: Random) -> dict[str, Json]:
    all_of = {"spread_floor_ticks": rng.choice([0, 128, 320, 640]), "spring_back_ticks": rng.choice([320, 480, 960])}
    return {name: value for name, value in all_of.items() if rng.random() < 0.6}


def _bar(rng: Random, at: int, lamp: tuple[str, str]) -> Json:
    length = (CAVITIES_MM[lamp] - rng.choice([0, 2, 5, 8, 11, 15])) * 320 // rng.choice(
        [1, 1, 1, 2, 3, 4]
    ) - rng.randint(0, 1600)
    bar = {
        "length_ticks": length,
        "tolerance_ticks": rng.choice([0, 160, 320, 333]),
        "joint_ticks": rng.choice([0, 320, 500]),
        "end_gap_ticks": rng.choice([0, 320, 480, 640]),
        "width_ticks": rng.choice([7040, 7040, 9600]),
        "height_ticks": 3840,
        "cover": rng.choice(["none", "none", "polycarbonate", "acrylic"]),
        "lit_ticks": length - rng.choice([0, 3200, 6400]),
        "rise_k": rng.choice([0, 12, 15, 22.5]),
        "moisture": rng.choice(["dry", "damp", "wet"]),
    }
    identity = {"item": "bar", "code": f"B{at}"} | ({"offered": rng.random() < 0.7} if rng.random() < 0.5 else {})
    return record("catalogue_item", f"bar-{at}", identity=identity, bar=bar)


def limits(fit: Json, status: str) -> dict[str, int]:
    """Where a judged row stands to its changes of verdict [1/320 mm]: 'nominal' to 'too long', 'clearance' to 'fits'."""
    nominal = fit["terms"].get("nominal_clearance_ticks")
    found = {} if nominal is None else {"nominal": nominal}
    if status == "known" and fit["clearance_ticks"] is not None and (nominal is None or nominal >= 0):
        found["clearance"] = fit["clearance_ticks"]
    return found


def _moved_to_a_limit(rng: Random, case: Case, tables: Json) -> Case:
    """Lengthen or shorten a bar until it lies on the limit of fitting, or of going in at all, or within 0.1 mm of it."""
    judged = judge_group(**case, tables=tables)
    status = judged["trusted"]["status"]
    able = [fit for fit in judged["fits"] if len(set(fit["bars"])) == 1 and limits(fit, status)]
    if not able:
        return case
    fit = rng.choice(able)
    limit = rng.choice(sorted(limits(fit, status)))
    goal = rng.choice(ON_THE_LIMIT) if rng.random() < 0.5 else rng.randint(-NEAR_TICKS, NEAR_TICKS)
    item = next(bar for bar in case["bars"] if bar["id"] == fit["bars"][0])
    for _ in range(CORRECTIONS):
        at = limits(fit, status).get(limit, goal)
        length = item["facets"]["bar"]["length_ticks"] + (at - goal) // len(fit["bars"])
        if length < SHORTEST_BAR_TICKS:
            break
        item["facets"]["bar"]["length_ticks"] = length
        again = judge_group(**case if case["trial_bars"] else case | {"bars": [item]}, tables=tables)["fits"]
        fit = next((each for each in again if each["bars"] == fit["bars"]), None)
        if fit is None or at == goal:
            break
    return case
