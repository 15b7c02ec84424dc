"""An invented site of any number of groups of which most are ready: the demo's ready groups over and over, in rooms of their own.

Hours, counts and what was read of some cavities differ from copy to copy, so that few groups are quite alike.
"""

from __future__ import annotations

import copy
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from random import Random
from typing import Any
from uuid import UUID

from tests.planning.demo_records import demo_records

from spanwalk.services.planning.plans import make_plans

Record = dict[str, Any]
OF_A_ROOM = ("group", "lux_reading")
IN_A_ROOM = 3
ROOMS_ON_A_FLOOR = 40
TICKS_PER_MM = 320


@cache
def _ready() -> tuple[str, ...]:
    """The demo's groups that are ready by themselves."""
    found = make_plans(demo_records())
    return tuple(id for id, plan in found.plans.items() if plan["state"] == "ready" and id in found.kept)


def ready_site(groups: int, seed: int = 1, kinds: int = 0) -> list[Record]:
    """View records of a site with so many groups, of the demo's kinds or of so many like them; the same seed gives the same site."""
    return list(_records(groups, Random(seed), kinds))


def _records(groups: int, draw: Random, kinds: int) -> Iterator[Record]:
    demo = demo_records()
    by_id, below = {each["id"]: each for each in demo}, defaultdict(list)
    for each in demo:
        below[each["parent"]].append(each)
    old = {each["id"] for each in demo if each["type"] in ("floor", "room", *OF_A_ROOM)}
    yield from (
        each for each in demo if each["id"] not in old and each["parent"] not in old and each["type"] != "conversion"
    )
    alike: defaultdict[str, list[str]] = defaultdict(list)
    for base, made in _kinds(draw, by_id, kinds):
        alike[base].append(made["id"])
        yield made
    floor = room = ""
    for number in range(groups):
        group = by_id[draw.choice(_ready())]
        if number % (IN_A_ROOM * ROOMS_ON_A_FLOOR) == 0:
            level = number // (IN_A_ROOM * ROOMS_ON_A_FLOOR)
            yield (made := _copy(draw, by_id[by_id[group["parent"]]["parent"]]))
            made["facets"]["identity"] |= {"name": f"Level {level}", "order": level}
            floor = made["id"]
        if number % IN_A_ROOM == 0:
            yield (made := _room(draw, by_id[group["parent"]], floor, number // IN_A_ROOM))
            room = made["id"]
        yield from _group(draw, group, room, below[group["id"]], alike[_kind_of(group)])


def _kind_of(group: Record) -> str:
    return str(group["facets"]["identity"]["kind"])


def _kinds(draw: Random, by_id: dict[str, Record], number: int) -> Iterator[tuple[str, Record]]:
    """So many kinds like those of the ready groups, each with a somewhat longer space of its own for ballasts; and the id of what each is like."""
    bases = list(dict.fromkeys(_kind_of(by_id[id]) for id in _ready()))
    for place in range(number):
        base = bases[place % len(bases)]
        made = _copy(draw, by_id[base])
        made["facets"]["identity"]["mark"] = f"L{place + 1}"
        space = made["facets"].get("ballast_space", {})
        if "length_ticks" in space:
            space["length_ticks"] += draw.randrange(21) * TICKS_PER_MM
        yield base, made


def _copy(draw: Random, record: Record, parent: str | None = None) -> Record:
    id = str(UUID(int=draw.getrandbits(128), version=4))
    return {
        **copy.deepcopy(record),
        "id": id,
        "parent": record["parent"] if parent is None else parent,
        "conflicts": [],
    }


def _room(draw: Random, like: Record, floor: str, number: int) -> Record:
    made = _copy(draw, like, floor)
    made["facets"]["identity"] |= {"number": f"R{number}", "name": f"Room {number}"}
    made["facets"]["hours"] = {
        "hours_year": draw.choice((2_600, 3_000, 3_400, 4_200, 8_000)),
        "how_known": "owner-says",
    }
    return made


def _group(draw: Random, like: Record, room: str, below: list[Record], kinds: list[str]) -> Iterator[Record]:
    made = _copy(draw, like, room)
    if kinds:
        made["facets"]["identity"]["kind"] = draw.choice(kinds)
    made["facets"].pop("decision", None)
    made["facets"]["count"] |= {
        "count": made["facets"]["count"]["count"] + draw.choice((0, 0, 1, 2, 4, 8)),
        "dark_lamps": 0,
    }
    yield made
    for each in below:
        if each["type"] in ("cavity_reading", "trial_bar"):
            told = _copy(draw, each, made["id"])
            if each["type"] == "cavity_reading" and draw.random() < 0.3:
                told["facets"]["identity"]["length_ticks"] += draw.choice((-1, 1)) * TICKS_PER_MM // 4
            yield told


__all__ = ["ready_site"]
