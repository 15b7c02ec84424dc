"""Groups as surveyors might enter them, drawn from a seed; a third end within 0.1 mm of a limit."""

from __future__ import annotations

from random import Random
from typing import Any

from spanwalk.rules.judging import judge_group

Json = Any
Case = dict[str, Json]
NEAR_TICKS = 32
"""0.1 mm."""
SIXTEENTH = 508
INSTRUMENTS = ("tape class I", "tape class II", "tape class III", "US tape", "gauge goes", "gauge does not go")
MOVED = 0.6
"""Share of the groups that are moved to a limit; not every one can be."""
CAVITIES_MM = {("T8", "4 ft"): 1200, ("T5", "4 ft"): 1150, ("T8", "2 ft"): 590, ("T12", "8 ft"): 2376, ("T12", "4 ft"): 1200}
NOT_SEEN = "not seen"


def draw_case(rng: Random, tables: Json) -> Case:
    """Arguments of `judge_group` by name; most are moved to a limit."""
    case = _draw(rng)
    return _moved_to_a_limit(rng, case, tables) if rng.random() < MOVED else case


def _draw(rng: Random) -> Case:
    lamp = rng.choice(sorted(CAVITIES_MM))
    kind = _kind(rng, lamp)
    group, readings = _group(rng, "group", lamp, rng.choice([0, 1, 2, 3, 3, 4, 5, 8, 12]))
    others = [(*_group(rng, f"other-{at}", lamp, rng.randint(0, 4)),) for at in range(rng.choice([0, 0, 1, 2]))]
    return {
        "group": group,
        "kind": kind,
        "room": record("room", surroundings=_temperatures(rng)),
        "site": record("site", settings=_temperatures(rng) | _settings(rng)),
        "readings": readings,
        "kind_readings": [[other, kind, theirs] for other, theirs in others],
        "bars": [_bar(rng, at, lamp) for at in range(rng.randint(0, 6))],
    }


def record(type_name: str, ident: str | None = None, **facets: Json) -> Json:
    """A view record."""
    kept = {name: value for name, value in facets.items() if value is not None}
    return {"id": ident or type_name, "type": type_name, "parent": None, "removed": False, "facets": kept, "conflicts": []}


def _kind(rng: Random, lamp: tuple[str, str]) -> Json:
    diameter, nominal = lamp
    lamps = {
        "fitted": rng.choice(["fluorescent"] * 4 + ["LED tube on mains", NOT_SEEN]),
        "diameter": diameter,
        "cap": rng.choice([{"T5": "G5"}.get(diameter, "G13")] * 4 + ["single pin", "U-bend", NOT_SEEN]),
        "nominal_ft": nominal,
        "rows": rng.choice([1, 2, 2, 3, 4]),
        "lamps_end_to_end": rng.choice([1, 1, 1, 2]),
    }
    _lose(rng, lamps)
    housing = {"material": rng.choice(["steel", "steel", "aluminium", "plastic", "other", NOT_SEEN])}
    return record("kind", identity={"mark": "K1", "alike": rng.choice(["yes", "not sure", "two makes seen"])}, housing=housing, lamps=lamps)


def _lose(rng: Random, value: dict[str, Json]) -> None:
    """Now and then nobody entered a field."""
    for name in sorted(value):
        if rng.random() < 0.04:
            del value[name]


def _group(rng: Random, ident: str, lamp: tuple[str, str], n: int) -> tuple[Json, list[Json]]:
    count: dict[str, Json] = {"count": rng.choice([1, 2, 4, 6, 12, 24, 60, 400, 2000])}
    if rng.random() < 0.2:
        count["gone"] = [rng.randint(1, 4)]
    differs = {"housing_material": rng.choice(["as the kind", "steel", "aluminium", "plastic"])} if rng.random() < 0.2 else None
    group = record("group", ident, count=count if rng.random() < 0.95 else {}, differs=differs)
    mean = CAVITIES_MM[lamp] * 320 + rng.randint(-600, 600)
    second = mean + rng.choice([0, 0, 0, rng.randint(600, 1700)])
    return group, [_reading(rng, f"{ident}-{at}", rng.choice([mean, second])) for at in range(n)]


def _reading(rng: Random, ident: str, mean: int) -> Json:
    length = round(rng.gauss(mean, rng.choice([40, 160, 400])))
    if rng.random() < 0.06:
        length += rng.choice([8128, -8128, 32_000, 4544, -16_000, mean])
    instrument = rng.choices(INSTRUMENTS, weights=(4, 8, 4, 16, 3, 1))[0]
    graduation = rng.choice(["1/16 in", "1/32 in", "1/64 in", "1 mm", "0.5 mm", None])
    step = SIXTEENTH if graduation == "1/16 in" else 1
    identity = {"position": rng.choice([1, 1, 2, rng.randint(1, 8)]), "row": rng.choice([1, 1, 2, 3]), "cavity": rng.choice([1, 1, 1, 2])}
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
        {"set_aside": {"reason": "bent pair"}},
        {"confirmed": {"answer": "it is what the tape shows"}},
        {"confirmed": {"answer": "it was read wrong"}},
        {"set_aside": {}},
    ]
    return rng.choice(said) if rng.random() < 0.2 else {}


def _temperatures(rng: Random) -> dict[str, Json]:
    all_of = {"coldest_c": rng.choice([-20, 0, 10, 12.5]), "hottest_c": rng.choice([25, 38, 45.25, 60])}
    return {name: value for name, value in all_of.items() if rng.random() < 0.6}


def _settings(rng: Random) -> dict[str, Json]:
    all_of = {"spread_floor_ticks": rng.choice([0, 128, 320]), "spring_back_ticks": rng.choice([320, 640, 960])}
    return {name: value for name, value in all_of.items() if rng.random() < 0.5}


def _bar(rng: Random, at: int, lamp: tuple[str, str]) -> Json:
    length = (CAVITIES_MM[lamp] - rng.choice([0, 2, 5, 8, 11, 15])) * 320 // rng.choice([1, 1, 1, 2, 3, 4]) - rng.randint(0, 1600)
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
    }
    identity = {"item": "bar", "code": f"B{at}"} | ({"offered": rng.random() < 0.7} if rng.random() < 0.5 else {})
    return record("catalogue_item", f"bar-{at}", identity=identity, bar=bar)


def _moved_to_a_limit(rng: Random, case: Case, tables: Json) -> Case:
    """Lengthen or shorten a bar until it lies within 0.1 mm of fitting, or of going in at all."""
    fits = judge_group(**case, tables=tables)["fits"]
    near = [fit for fit in fits if len(set(fit["bars"])) == 1 and (fit["clearance_ticks"] is not None or "nominal_clearance_ticks" in fit["terms"])]
    if not near:
        return case
    fit = rng.choice(near)
    spare = [fit["clearance_ticks"], fit["terms"].get("nominal_clearance_ticks")]
    moved = rng.choice([each for each in spare if each is not None]) + rng.randint(-NEAR_TICKS, NEAR_TICKS)
    item = next(bar for bar in case["bars"] if bar["id"] == fit["bars"][0])
    item["facets"]["bar"]["length_ticks"] += moved // len(fit["bars"])
    return case
