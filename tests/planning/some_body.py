"""A body to plan for: two T8 in a troffer with everything seen, and a small catalogue; tests change what they are about."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import Body, Catalogue, Neighbour, Others, Record
from spanwalk.rules.arrangements.plan import plan_group

Json = Any
MM = 320
CAVITY = 1200 * MM

BAR = {
    "length_ticks": 1189 * MM, "tolerance_ticks": 160, "joint_ticks": 320, "end_gap_ticks": 640, "width_ticks": 22 * MM,
    "height_ticks": 12 * MM, "cover": "none", "lit_ticks": 1169 * MM, "lumens_per_w": 168, "rated_ma": 350, "most_ma": 550,
    "forward_v": 36, "volts_apart": 0.5, "l70_h": 60000, "rise_k": 15, "moisture": "dry", "fixing": ["magnets", "screws"],
    "coldest_c": -20, "hottest_c": 50,
}  # fmt: skip
DRIVER = {
    "outputs": 2, "watts": 30, "least_watts": 9, "volts_min": 120, "volts_max": 277, "out_v_min": 27, "out_v_max": 42,
    "settings_ma": [350, 700, 800], "current": "shared-by-the-bars", "output_class": "class-2-selv", "efficiency_pct": 88,
    "length_ticks": 190 * MM, "width_ticks": 42 * MM, "height_ticks": 29 * MM, "side_gap_ticks": 2 * MM,
    "lead_gap_ticks": 20 * MM, "lead_ends": "both-ends", "hottest_c": 60, "coldest_c": -20, "rise_k": 8, "moisture": "dry",
    "dimming": "0-10-v", "emergency": "battery-pack-can-be-added",
}  # fmt: skip
KIND = {
    "identity": {"mark": "K1", "alike": "yes"},
    "housing": {
        "body": "recessed-troffer", "material": "steel", "magnet_holds": "yes", "optic": "prismatic-lens", "optic_state": "good",
        "width_ticks": 540 * MM, "height_ticks": 62 * MM, "row_spacing_ticks": 230 * MM,
    },
    "lamps": {
        "fitted": "fluorescent", "diameter": "T8", "cap": "G13", "nominal_ft": "4-ft", "lamp_w": 32, "rows": 2, "lamps_end_to_end": 1,
    },
    "ballast": {"ballast": "electronic", "ballast_count": 1, "pcb_mark": "marked", "made": "2006", "leaking": "no", "volts_mark": "120-277"},
    "ballast_space": {"length_ticks": 430 * MM, "width_ticks": 70 * MM, "height_ticks": 40 * MM},
    "wiring": {"feeds": "one", "neighbour_leads": "none", "control_pair": "no", "earth": "seen"},
}  # fmt: skip
FEEDING = {"wiring": {"neighbour_leads": "ballast-here-feeds-the-neighbour"}}
FED = {
    "wiring": {"neighbour_leads": "fed-from-the-neighbours-ballast"},
    "ballast": {"ballast": "none", "ballast_count": 0},
}
GROUP = {
    "identity": {"kind": "kind"},
    "count": {"count": 10, "dark_lamps": 0, "sure": "yes"},
    "supply": {
        "volts": "277",
        "how_known": "panel-schedule",
        "panel": "P1",
        "circuit": "7",
        "switching": "all-together",
        "shared_neutral": "no",
    },
    "duty": {"emergency": "none", "control_now": "switch", "control_wanted": "none", "dimming": "none"},
}
ROOM = {
    "identity": {"number": "101", "name": "Office", "space_type": "office-open"},
    "size": {
        "length_ticks": 10_000 * MM,
        "width_ticks": 8_000 * MM,
        "height_ticks": 2_760 * MM,
        "work_plane_ticks": 760 * MM,
    },
    "ceiling": {"ceiling": "lay-in-grid", "access": "ladder", "fire_rated": "no"},
    "surfaces": {"ceiling_pct": 80, "walls_pct": 50, "floor_pct": 20},
    "hours": {"hours_year": 3000, "how_known": "owner-says"},
    "surroundings": {"moisture": "dry", "hazardous": "no", "clean_or_food": "no"},
}
SETTINGS = {
    "coldest_c": 10, "hottest_c": 38, "light_policy": "keep-a-share-of-todays-light", "keep_light_pct": 90,
    "light_kept": "as-found", "light_ceiling_pct": 190, "light_years": 12, "power_density_code": "2021-space-by-space", "spare_pct": 3,
}  # fmt: skip
MONEY = {
    "currency": "USD", "tariff_per_kwh": 0.16, "demand_per_kw_month": 11.5, "escalation_pct": 2, "discount_pct": 5, "study_years": 12,
    "labour_per_h": 68, "lift_per_day": 240, "rebate_per_fixture": 12, "rebate_per_kw": 0, "rebate_cap_pct": 40,
    "lamp_waste_each": 0.9, "ballast_waste_each": 2.5, "emission_kg_per_kwh": 0.37,
}  # fmt: skip


def record(id: str, type: str, **facets: Json) -> dict[str, Json]:
    return {"id": id, "type": type, "parent": None, "removed": False, "facets": facets, "conflicts": []}


def item(code: str, what: str, values: Mapping[str, Json]) -> dict[str, Json]:
    """A catalogue item; its id is its code in lower case."""
    return record(
        code.lower(),
        "catalogue_item",
        **{"identity": {"item": what, "code": code, "offered": True}, what: dict(values)},
    )


def priced(items: Sequence[Record], **each: float) -> list[dict[str, Json]]:
    """A price for each item by its id: `bar=12.9` and the like; five minutes to fit."""
    return [
        record(f"price of {id}", "price", identity={"each": price, "fit_minutes": 5}) | {"parent": id}
        for id, price in each.items()
        if any(one["id"] == id for one in items)
    ]


BARS_AND_DRIVER = [item("BAR", "bar", BAR), item("DRIVER", "driver", DRIVER)]


def fit(*bars: str, verdict: str = "fits", clearance_ticks: int = 960) -> dict[str, Json]:
    return {
        "bars": list(bars),
        "verdict": verdict,
        "clearance_ticks": clearance_ticks,
        "terms": {},
        "lit_ticks": 1169 * MM,
        "dark_ticks": 31 * MM,
    }


def body(
    items: Sequence[Record] | None = None,
    fits: Sequence[Mapping[str, Json]] | None = None,
    prices: Mapping[str, float] | None = None,
    kind: Mapping[str, Json] | None = None,
    group: Mapping[str, Json] | None = None,
    room: Mapping[str, Json] | None = None,
    settings: Mapping[str, Json] | None = None,
    money: Mapping[str, Json] | None = None,
    others: Others | None = None,
    partner: Neighbour | None = None,
) -> Body:
    """The body with facets laid over: `kind={"lamps": {"rows": 3}}` changes that field only; a facet None is emptied."""
    goods = list(BARS_AND_DRIVER if items is None else items)
    named = {"bar": 12.9, "driver": 16.4} if prices is None else prices
    judged = {
        "trusted": {"status": "known", "trusted_ticks": CAVITY},
        "fits": [fit("bar")] if fits is None else list(fits),
    }
    return Body(
        record("group", "group", **over(GROUP, group)),
        record("kind", "kind", **over(KIND, kind)),
        record("room", "room", **over(ROOM, room)),
        record("site", "site", settings=SETTINGS | dict(settings or {})),
        judged,
        Catalogue.of([*goods, *priced(goods, **named)]),
        MONEY if money is None else money,
        tables(),
        others or Others(),
        partner,
    )


def over(facets: Mapping[str, Json], changes: Mapping[str, Json] | None) -> dict[str, Json]:
    changed = copy.deepcopy(dict(facets))
    for name, value in (changes or {}).items():
        changed[name] = {} if value is None else {**changed.get(name, {}), **value}
    return changed


def plan(**changes: Json) -> dict[str, Json]:
    """The plan of the body with changes."""
    return plan_group(body(**changes))


def codes(plan: Mapping[str, Json], part: str) -> list[str]:
    return [each["code"] for each in plan[part]]
