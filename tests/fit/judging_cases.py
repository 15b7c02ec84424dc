"""Reads tests/vectors/judging.json: fields set by path, readings written short. Twin: judging_cases.js."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

Json = Any
VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "judging.json").read_text(encoding="utf-8"))


def arguments(case: Json) -> dict[str, Json]:
    """Arguments of `judge_group` by name, but for the tables."""
    said = copy.deepcopy(VECTORS["base"])
    for path, value in case["set"].items():
        *way, last = path.split(".")
        at = said
        for name in way:
            at = at[name]
        at[last] = copy.deepcopy(value)
    said["readings"] = [reading("r", at, short) for at, short in enumerate(said["readings"])]
    said["trial_bars"] = [trial(at, short) for at, short in enumerate(said["trial_bars"])]
    said["kind_readings"] = [
        [other["group"], said["kind"], [reading("o", at, short) for at, short in enumerate(other["readings"])]]
        for other in said["kind_readings"]
    ]
    return said


def reading(prefix: str, at: int, short: list[Json]) -> Json:
    """A cavity reading from fixture, row, ticks and further facets."""
    position, row, length, *more = short
    identity = {
        "position": position,
        "row": row,
        "cavity": 1,
        "length_ticks": length,
        "as_entered": "-",
        "instrument": "us-tape",
        "graduation": "1-16-in",
    }
    said = more[0] if more else {}
    facets = {**said, "identity": identity | said.get("identity", {})}
    return {
        "id": f"{prefix}{at}",
        "type": "cavity_reading",
        "parent": "group",
        "removed": False,
        "facets": facets,
        "conflicts": [],
    }


def trial(at: int, short: list[Json]) -> Json:
    """A trial of bar 'four' from fixture, row, whether it went in, gap in ticks or null, and further facets."""
    position, row, went_in, gap, *more = short
    identity = {
        "position": position,
        "row": row,
        "cavity": 1,
        "bar": "four",
        "went_in": "went-in-by-hand" if went_in else "did-not-go-in",
    }
    identity |= {} if gap is None else {"gap_ticks": gap}
    said = more[0] if more else {}
    facets = {**said, "identity": identity | said.get("identity", {})}
    return {
        "id": f"t{at:02}",
        "type": "trial_bar",
        "parent": "group",
        "removed": False,
        "facets": facets,
        "conflicts": [],
    }


def shown(found: Json, path: str) -> Json:
    """What stands at a path of the answer; None where there is nothing."""
    at = found
    for name in path.split("."):
        if isinstance(at, list):
            at = at[int(name)] if int(name) < len(at) else None
        else:
            at = at.get(name) if at else None
    return at
