"""An invented site of any number of groups, made from a seed: the demo's catalogue and kinds, varied, in rooms of its own."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from random import Random
from typing import Any
from uuid import UUID

from tests.planning.demo_records import SITE, demo_records

Record = dict[str, Any]
GROUPS_OF_A_KIND = 150
GROUPS_IN_A_ROOM = 4
ROOMS_ON_A_FLOOR = 120
TICKS_PER_MM = 320
SIXTEENTH_TICKS = 508
"""1/16 in."""
VOLTS = ("277", "277", "277", "120", "347", "not-seen")
CONTROLS = ("none", "none", "none", "occupancy", "daylight")
EMERGENCY = ("none", "none", "none", "none", "generator-or-inverter", "battery-in-fixture", "not-seen")
MOISTURE = ("dry", "dry", "dry", "damp", "wet", "not-seen")
SPACES = ("office-open", "corridor", "classroom", "storage", "warehouse", "plant-room")
FROM_THE_DEMO = ("site", "money", "catalogue_item", "price")


def invented_site(groups: int, seed: int = 1, in_a_room: int = GROUPS_IN_A_ROOM) -> list[Record]:
    """View records of a site with so many groups, so many of them in each room; the same seed gives the same site.

    About one group in three has no reading, every room has hours, sizes and neighbours of its own, and counts,
    dark lamps, supply, duty and what the tape said differ from group to group.
    """
    return list(_records(groups, Random(seed), in_a_room))


def _records(groups: int, random: Random, in_a_room: int) -> Iterator[Record]:
    demo = demo_records()
    yield from (each for each in demo if each["type"] in FROM_THE_DEMO)
    lengths = _cavities_of_demo(demo)
    kinds = list(_kinds(demo, max(groups // GROUPS_OF_A_KIND, 8), random))
    yield from (kind for kind, _ in kinds)
    floor = room = ""
    for number in range(groups):
        if number % (in_a_room * ROOMS_ON_A_FLOOR) == 0:
            level = number // (in_a_room * ROOMS_ON_A_FLOOR)
            yield (made := _record(random, "floor", SITE, identity={"name": f"Level {level}", "order": level}))
            floor = made["id"]
        if number % in_a_room == 0:
            yield (made := _room(random, floor, number // in_a_room))
            room = made["id"]
        kind, like = random.choice(kinds)
        group = _group(random, room, kind)
        yield group
        if like in lengths and random.random() < 0.7:
            yield from _readings(random, group, kind, lengths[like])


def _record(random: Random, type: str, parent: str, **facets: Any) -> Record:
    return {
        "id": str(UUID(int=random.getrandbits(128), version=4)),
        "type": type,
        "parent": parent,
        "removed": False,
        "facets": facets,
        "conflicts": [],
    }


def _cavities_of_demo(demo: list[Record]) -> dict[str, int]:
    """Kind -> length of the first of its cavities that was read in the demo [1/320 mm]."""
    kind_of = {each["id"]: each["facets"]["identity"]["kind"] for each in demo if each["type"] == "group"}
    found: dict[str, int] = {}
    for each in demo:
        if each["type"] == "cavity_reading":
            found.setdefault(kind_of[each["parent"]], each["facets"]["identity"]["length_ticks"])
    return found


def _kinds(demo: list[Record], number: int, random: Random) -> Iterator[tuple[Record, str]]:
    """Kinds like those of the demo, each with sizes of its own; and the id of the one that each is like."""
    like = [each for each in demo if each["type"] == "kind"]
    for place in range(number):
        base = like[place % len(like)] if number >= len(like) else random.choice(like)
        facets = copy.deepcopy(base["facets"])
        facets["identity"]["mark"] = f"K{place + 1}"
        for facet, sides in (
            ("ballast_space", ("length_ticks", "width_ticks")),
            ("housing", ("width_ticks", "row_spacing_ticks")),
        ):
            for side in sides:
                if side in facets.get(facet, {}):
                    facets[facet][side] += random.randrange(-20, 21) * TICKS_PER_MM
        yield _record(random, "kind", SITE, **facets), base["id"]


def _room(random: Random, floor: str, number: int) -> Record:
    length, width = random.randrange(3_000, 20_000, 250), random.randrange(3_000, 12_000, 250)
    return _record(
        random,
        "room",
        floor,
        identity={"number": f"R{number}", "name": f"Room {number}", "space_type": random.choice(SPACES)},
        walk={"order": number},
        size={
            "length_ticks": length * TICKS_PER_MM,
            "width_ticks": width * TICKS_PER_MM,
            "height_ticks": random.randrange(2_400, 4_000, 100) * TICKS_PER_MM,
        },
        ceiling={"ceiling": "lay-in-grid", "access": random.choice(("ladder", "platform")), "fire_rated": "no"},
        surroundings={"moisture": random.choice(MOISTURE), "hazardous": "no", "clean_or_food": "no"},
        hours={"hours_year": random.randrange(1_000, 8_000, 100), "how_known": "owner-says"},
        progress={"progress": "surveyed"},
    )


def _group(random: Random, room: str, kind: Record) -> Record:
    count, control, emergency = random.randrange(1, 60), random.choice(CONTROLS), random.choice(EMERGENCY)
    duty = {
        "emergency": emergency,
        "control_now": "switch",
        "control_wanted": control,
        "dimming": random.choice(("none", "none", "0-10-v")),
    }
    if emergency == "battery-in-fixture":
        duty["emergency_positions"] = [1]
    supply = {
        "volts": random.choice(VOLTS),
        "how_known": "panel-schedule",
        "panel": f"P{random.randrange(200)}",
        "circuit": str(random.randrange(42)),
        "switching": "all-together",
        "shared_neutral": "no",
    }
    return _record(
        random,
        "group",
        room,
        identity={"kind": kind["id"]},
        count={"count": count, "dark_lamps": random.randrange(count) if random.random() < 0.3 else 0, "sure": "yes"},
        supply=supply,
        duty=duty,
    )


def _readings(random: Random, group: Record, kind: Record, about_ticks: int) -> Iterator[Record]:
    """One to four cavities of different fixtures, 1 mm apart or so, as a tape with sixteenths reads them."""
    count, rows = group["facets"]["count"]["count"], kind["facets"]["lamps"]["rows"]
    for position in random.sample(range(1, count + 1), min(count, random.randrange(1, 5))):
        sixteenths = round(random.gauss(about_ticks, 1.0 * TICKS_PER_MM) / SIXTEENTH_TICKS)
        whole, part = divmod(sixteenths, 16)
        yield _record(
            random,
            "cavity_reading",
            group["id"],
            identity={
                "position": position, "row": random.randrange(1, rows + 1), "cavity": 1, "length_ticks": sixteenths * SIXTEENTH_TICKS,
                "as_entered": f"{whole} {part}/16", "from_hook": True, "instrument": "us-tape", "graduation": "1-16-in",
            },
        )  # fmt: skip
