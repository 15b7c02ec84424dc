"""Catalogue, prices and fixture schedules from files, on any site; all items are invented."""

from __future__ import annotations

from typing import Any

import pytest
from tests.files.bringing import Bringer, codes, csv_text, xlsx

BAR_HEADS = [
    "Item", "Part number", "Description", "Length [mm]", "Length tolerance, plus [mm]", "Joint between bars [mm]",
    "Gap wanted at each end [mm]", "Width [mm]", "Height [mm]", "Captive cover", "Lit length [mm]", "lm/W",
    "Rated current [mA]", "Most current [mA]", "Forward voltage", "L70 life", "Bar runs above its surroundings by",
    "Suited to", "Fixing",
]  # fmt: skip


def bar(code: str, length_mm: float) -> list[Any]:
    return [
        "bar", code, f"Invented bar {code}", length_mm, 0.8, 2, 1, 24, 12, "none", length_mm - 20, 150, 350, 500, 36,
        50000, 15, "dry", "magnets, screws",
    ]  # fmt: skip


def items(number: int = 40) -> list[list[Any]]:
    return [BAR_HEADS, *(bar(f"EX-{at:02}", 500 + 25.4 * at) for at in range(number))]


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_40_items_are_brought_in_with_all_their_figures(manager: Bringer, form: str) -> None:
    told = manager.take("catalogue", csv_text(items()) if form == "csv" else xlsx(items()))
    assert told["counts"] == {"new": 40, "changed": 0, "left": 0}
    held = {each["identity"]["code"]: each for each in manager.records("catalogue_item")}
    assert len(held) == 40
    assert held["EX-10"]["identity"]["item"] == "bar"
    assert held["EX-10"]["bar"] | {"length_ticks": 754 * 320, "fixing": ["magnets", "screws"]} == held["EX-10"]["bar"]
    again = manager.bring("catalogue", csv_text(items()))
    assert again["counts"] == {"new": 0, "changed": 0, "left": 40}


def test_what_a_bar_is_long_is_rounded_up_to_a_tick_and_what_a_room_is_long_down(manager: Bringer) -> None:
    manager.take("catalogue", csv_text([BAR_HEADS, bar("EX-1", 1000.001)]))
    assert manager.records("catalogue_item")[0]["bar"]["length_ticks"] == 320001
    manager.take("rooms", csv_text([["Floor", "Room", "Length [mm]"], ["G", "1", "10000.001"]]))
    assert manager.records("room")[0]["size"]["length_ticks"] == 3200000


def test_a_temperature_in_fahrenheit_is_kept_in_celsius(manager: Bringer) -> None:
    rows = [[*BAR_HEADS, "Hottest surroundings [°F]"], [*bar("EX-1", 1000), 113]]
    manager.take("catalogue", csv_text(rows))
    assert manager.records("catalogue_item")[0]["bar"]["hottest_c"] == 45  # (113 - 32) × 5/9


def test_an_item_that_lacks_what_the_rules_need_is_told_by_field(manager: Bringer) -> None:
    told = manager.bring("catalogue", csv_text([BAR_HEADS[:4], bar("EX-1", 1000)[:4]]))
    assert [each["code"] for each in told["problems"]] == ["field-missing"]
    assert told["problems"][0]["facts"]["title"] == "Length tolerance, plus"


def test_a_figure_that_the_item_does_not_have_is_told(manager: Bringer) -> None:
    told = manager.bring(
        "catalogue", csv_text([["Item", "Code", "Purpose", "lm/W"], ["accessory", "EX-1", "other", 150]])
    )
    assert codes(told) == [(2, "D", "files.not-of-item")]


def test_prices_are_changed_by_code_and_only_where_they_differ(manager: Bringer) -> None:
    manager.take("catalogue", csv_text(items(3)))
    told = manager.take("prices", csv_text([["Code", "Price"], ["EX-00", 12.5], ["EX-01", "$ 1,234.50"]]))
    assert told["counts"]["new"] == 2
    told = manager.take("prices", csv_text([["Code", "Price"], ["ex-00", 12.5], ["EX-01", "13.75"]]))
    assert told["counts"] == {"new": 0, "changed": 1, "left": 1}
    assert sorted(each["identity"]["each"] for each in manager.records("price")) == [12.5, 13.75]


def test_a_price_of_another_currency_is_never_taken_for_the_sites(manager: Bringer) -> None:
    manager.take("catalogue", csv_text(items(1)))
    rows = csv_text([["Code", "Price", "Currency"], ["EX-00", 12.5, "EUR"]])
    assert codes(manager.bring("prices", rows)) == [(2, "C", "files.no-currency")]
    here = manager.here
    money = here.operation("manager", _id(), "money", "identity", {"currency": "USD", "parent": here.site})
    here.push("manager", money)
    assert codes(manager.bring("prices", rows)) == [(2, "C", "files.other-currency")]


def test_a_price_without_its_item_is_told(manager: Bringer) -> None:
    told = manager.bring("prices", csv_text([["Code", "Price"], ["EX-99", 1]]))
    assert codes(told) == [(2, "A", "files.no-such-item")]


SCHEDULE = ["Floor", "Room", "Type", "Qty", "Lamp", "Lamp length", "Lamp watts", "Rows", "Base", "Voltage"]


def test_a_schedule_makes_kinds_and_groups_in_rooms_that_are_there(manager: Bringer) -> None:
    manager.take("rooms", csv_text([["Floor", "Room"], ["Ground", "101"], ["Ground", "102"]]))
    rows = [
        SCHEDULE,
        ["Ground", "101", "K1", 6, "T8", "48 in", 32, 2, "G13", "277 V"],
        ["Ground", "102", "K1", 4, "T8", "4 ft", 32, 2, "G13", "277"],
        ["Ground", "102", "K2", 2, "T5", "4'", 28, 1, "G5", 120],
    ]
    told = manager.take("fixtures", csv_text(rows))
    assert told["counts"]["new"] == 3
    kinds = {each["identity"]["mark"]: each for each in manager.records("kind")}
    assert kinds["K1"]["lamps"] == {"diameter": "T8", "nominal_ft": "4-ft", "lamp_w": 32, "rows": 2, "cap": "G13"}
    groups = manager.records("group")
    assert sorted(each["count"]["count"] for each in groups) == [2, 4, 6]
    assert {each["identity"]["kind"] for each in groups} == {each["id"] for each in kinds.values()}
    assert manager.bring("fixtures", csv_text(rows))["counts"] == {"new": 0, "changed": 0, "left": 3}


def test_rows_that_say_otherwise_of_one_kind_are_told(manager: Bringer) -> None:
    manager.take("rooms", csv_text([["Floor", "Room"], ["Ground", "101"], ["Ground", "102"]]))
    rows = [
        ["Floor", "Room", "Type", "Qty", "Lamp"],
        ["Ground", "101", "K1", 6, "T8"],
        ["Ground", "102", "K1", 4, "T12"],
    ]
    assert codes(manager.bring("fixtures", csv_text(rows))) == [(3, "E", "files.said-otherwise")]


def test_a_lamp_that_cannot_be_is_told(manager: Bringer) -> None:
    manager.take("rooms", csv_text([["Floor", "Room"], ["Ground", "101"]]))
    rows = [["Floor", "Room", "Type", "Qty", "Lamp", "Base"], ["Ground", "101", "K1", 6, "T5", "G13"]]
    told = manager.bring("fixtures", csv_text(rows))
    assert told["state"] == "asking"
    assert [each["row"] for each in told["problems"]] == [2]


def test_a_schedule_for_a_room_that_is_not_there_is_told(manager: Bringer) -> None:
    rows = [["Floor", "Room", "Type", "Qty"], ["Ground", "999", "K1", 6]]
    assert codes(manager.bring("fixtures", csv_text(rows))) == [(2, "B", "files.no-such-room")]


@pytest.mark.parametrize("form", ["xlsx", "csv"])
@pytest.mark.parametrize("kind", ["rooms", "catalogue", "prices", "fixtures"])
def test_a_template_is_understood_as_it_stands(manager: Bringer, kind: str, form: str) -> None:
    answer = manager.here.call("manager", "GET", f"/api/sites/{{site}}/imports/template.{form}?kind={kind}")
    assert answer.status_code == 200
    told = manager.bring(kind, answer.data)
    assert [each["head"] for each in told["columns"] if not each["column"]] == []
    assert told["questions"] == []
    lacking = {"rooms": set(), "catalogue": set(), "prices": {"files.no-currency"}, "fixtures": {"files.no-such-room"}}
    assert {each["code"] for each in told["problems"]} <= lacking[kind]


def _id() -> str:
    from tests.support.installation import new_id

    return new_id()
