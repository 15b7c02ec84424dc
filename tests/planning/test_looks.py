"""One room, one look."""

from __future__ import annotations

from typing import Any

from tests.planning.some_body import BAR, item

from spanwalk.rules.arrangements.looks import mixed_looks

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
