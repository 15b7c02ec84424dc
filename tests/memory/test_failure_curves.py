"""Which items were at work for how long: what failed, what replaced it, what nobody knows the hours of."""

from __future__ import annotations

from datetime import date
from typing import Any, cast

from spanwalk.rules.money.failure_curve import Unit
from spanwalk.services.memory.curves import curve_of, curves_of
from spanwalk.services.memory.told import Remembered
from spanwalk.services.memory.upkeep import calendar

TODAY = date(2028, 4, 1)
YEAR_H = 3000
FITTED = "2026-04-02"


def item(code: str, number: int, fitted_on: str = FITTED, replaced_by: str = "") -> Any:
    return {"code": code, "number": number, "fitted_on": fitted_on, "replaced_by": replaced_by}


def failure(on: str, code: str = "HERON-30", **more: Any) -> Any:
    return {"on": on, "item": code, "hours": None, "replaced": "", "replaced_item": "", **more}


def fixture(items: list[Any], failures: list[Any], hours_year: int | None = YEAR_H) -> Remembered:
    return cast("Remembered", {"items": items, "failures": failures, "hours_year": hours_year, "fitted_on": FITTED})


def units(*fixtures: Remembered, code: str = "HERON-30") -> list[Unit]:
    return sorted(curves_of(fixtures, TODAY)[code].units)


def test_what_holds_was_at_work_from_its_day_to_today_by_the_rooms_hours() -> None:
    assert units(fixture([item("HERON-30", 2)], [])) == [Unit(5996, False)] * 2  # 730 days of 365.25, 3,000 h a year


def test_what_failed_counts_until_it_failed_and_what_came_in_its_place_from_then_on() -> None:
    replaced = fixture([item("HERON-30", 1), item("HERON-30", 1, "2027-04-02")], [failure("2027-04-02")])
    assert units(replaced) == [Unit(2998, False), Unit(2998, True)]


def test_hours_that_were_noted_go_before_those_that_are_reckoned() -> None:
    assert units(fixture([item("HERON-30", 1)], [failure("2027-04-02", hours=120)])) == [Unit(120, True)]


def test_of_two_in_one_fixture_one_failed_and_the_other_holds() -> None:
    assert units(fixture([item("HERON-30", 2)], [failure("2027-04-02")])) == [Unit(2998, True), Unit(5996, False)]


def test_what_was_nothing_or_names_no_item_is_no_failure_of_one() -> None:
    looked_at = [failure("2027-04-02", replaced="nothing-wrong"), failure("2027-04-02", code="")]
    assert units(fixture([item("HERON-30", 1)], looked_at)) == [Unit(5996, False)]


def test_where_no_item_was_named_the_one_that_was_put_in_tells_which_failed() -> None:
    new = item("HERON-31", 1, "2027-04-02")
    anew = failure("2027-04-02", code="", replaced="bought", replaced_item="HERON-31")
    held = curves_of([fixture([item("HERON-30", 1, replaced_by="HERON-31"), new], [anew])], TODAY)
    assert (held["HERON-30"].units, held["HERON-31"].units) == ([Unit(2998, True)], [Unit(2998, False)])


def test_items_of_rooms_without_hours_or_without_a_day_are_told_as_left_out() -> None:
    held = curves_of([fixture([item("HERON-30", 3)], [], None), fixture([item("HERON-30", 1, "")], [])], TODAY)
    told = curve_of(held["HERON-30"], 50_000, 10)
    assert (told["units"], told["left_out"], told["expected"], told["steps"]) == (0, 4, None, [])


def test_nothing_is_expected_where_the_data_sheet_says_no_share() -> None:
    held = curves_of([fixture([item("HERON-30", 1)], [failure("2027-04-02")])], TODAY)["HERON-30"]
    assert curve_of(held, 50_000, None)["expected"] is None
    assert curve_of(held, None, 10)["expected"] is None
    expected = curve_of(held, 50_000, 10)["expected"]
    assert expected is not None
    assert (expected["failed"], expected["expected"]) == (1, 0.0063)  # 2,998 h × -ln 0.9 / 50,000 h


def test_a_rooms_name_breaks_no_line_of_the_calendar() -> None:
    due: Any = {
        "test": "function", "group": "g", "position": 1, "floor_name": "", "mark": "A", "access": "", "last": "", "state": "",
        "room_name": "Hall\r\nATTACH:https://example.invalid/x\u2028\x07; שלום", "due": "2026-05-02",
    }  # fmt: skip
    text = calendar("Cannery", "site", {"tests": [due], "failed": []}, "20260401T080000Z")
    unfolded = text.replace("\r\n ", "")
    assert not [line for line in unfolded.split("\r\n") if line.startswith("ATTACH")]
    assert "Hall\\nATTACH" in unfolded
    assert "\x07" not in text
    assert "שלום" in unfolded
