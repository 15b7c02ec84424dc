"""One room, one look."""

from __future__ import annotations

from typing import Any

from tests.planning.demo_records import demo_records
from tests.planning.some_body import BAR, item

from spanwalk.rules.arrangements.choosing.looks import mixed_looks
from spanwalk.services.planning.plans import make_plans
from spanwalk.services.planning.totals import rooms_of_mixed_looks, totals

ITEMS: Any = {
    each["id"]: each
    for each in (
        item("WARM", "bar", BAR | {"cct_k": 3000, "cri": 80}),
        item("COOL", "bar", BAR | {"cct_k": 4000, "cri": 80}),
        item("FINE", "bar", BAR | {"cct_k": 4000, "cri": 90}),
        item("SILENT", "bar", BAR),
    )
}


def looks(*placed: tuple[str, str]) -> list[Any]:
    plans: Any = [{"room": room, "proposal": {"fill_items": [bar]}} for room, bar in placed]
    return [tuple(each["facts"].values()) for each in mixed_looks(plans, ITEMS, {"a": "Hall", "b": "Store"})]


def test_two_colours_in_a_room_are_an_open_point_that_names_both() -> None:
    assert looks(("a", "warm"), ("a", "cool")) == [("Hall", ["3000 K CRI 80", "4000 K CRI 80"])]


def test_the_same_colour_of_another_rendering_is_another_look() -> None:
    assert looks(("a", "cool"), ("a", "fine")) == [("Hall", ["4000 K CRI 80", "4000 K CRI 90"])]


def test_one_look_in_each_room_is_none_and_what_no_sheet_says_mixes_with_nothing() -> None:
    assert looks(("a", "warm"), ("b", "cool"), ("b", "cool")) == []
    assert looks(("a", "warm"), ("a", "silent")) == []
    assert mixed_looks([{"room": "a", "proposal": None}], ITEMS, {}) == []  # type: ignore[typeddict-item]


def test_a_room_of_the_demo_with_a_second_colour_is_an_open_point_and_a_notice() -> None:
    records = demo_records()
    rooms: dict[str, set[str]] = {}
    for plan in make_plans(records).plans.values():
        if plan["state"] == "ready" and plan["proposal"] is not None:
            rooms.setdefault(plan["room"], set()).update(plan["proposal"]["fill_items"])
    room, bars = next((room, sorted(bars)) for room, bars in rooms.items() if len(bars) > 1)
    for each in records:
        if each["id"] in bars:
            each["facets"]["bar"] = {**each["facets"]["bar"], "cct_k": 3000 if each["id"] == bars[0] else 4000}
    found = make_plans(records)
    told = {each["room"]: each["facts"] for each in rooms_of_mixed_looks(found)}
    assert len(told[room]["looks"]) > 1  # type: ignore[arg-type]
    assert len(told) == len(totals(found)["mixed_looks"])
