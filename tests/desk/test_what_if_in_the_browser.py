"""What if at the desk: totals move with the figures; a scenario is kept, stands beside another, is applied, taken back, dropped."""

from __future__ import annotations

import re

from playwright.sync_api import expect
from tests.desk.conftest import NewDesk
from tests.support.looks import BEYOND, SMALL, assert_fits_and_can_be_hit_and_read, found_at_rest, shot


def test_a_scenario_is_kept_compared_applied_taken_back_and_dropped(new_desk: NewDesk) -> None:
    desk = new_desk()
    page = desk.open("/plan")
    page.get_by_role("link", name="What if").click()
    tariff = page.get_by_label("Energy price (")
    tariff.fill("99")
    expect(page.get_by_role("alert").filter(has_text="99 is no number from 0 to 10")).to_be_visible()
    tariff.fill("0.31")
    npv = page.get_by_role("table").get_by_role("row", name="Net present value")
    cells = npv.get_by_role("cell")
    expect(cells).to_have_count(2)
    expect(cells.nth(1)).not_to_have_text(cells.nth(0).inner_text(), timeout=20_000)
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("alert").filter(has_text="Name: empty")).to_be_visible()
    page.get_by_label("Name").fill("Dear energy")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("Kept as Dear energy.")).to_be_visible()
    [kept] = desk.records("scenario")
    assert {name: value for name, value in kept["identity"].items() if name != "parent"} == {
        "name": "Dear energy",
        "tariff_per_kwh": 0.31,
    }

    page.get_by_role("button", name="Back to today").click()
    page.get_by_label("Hours lit").fill("50")
    page.get_by_label("Name").fill("Half the hours")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("Kept as Half the hours.")).to_be_visible()
    page.get_by_label("Side by side: Dear energy").check()
    expect(cells).to_have_count(3)
    assert found_at_rest(page, BEYOND) == []
    assert found_at_rest(page, SMALL) == []
    assert_fits_and_can_be_hit_and_read(page, (360, 1280))

    before = {each["id"]: each.get("hours") or {} for each in desk.records("room")}
    expect(page.get_by_text("Working it out")).to_have_count(0)
    page.get_by_role("button", name="Apply it").click()
    expect(page.get_by_text("Applied.", exact=True)).to_be_visible()
    halved = {each["id"]: each.get("hours") or {} for each in desk.records("room")}
    assert any(halved[id] != hours for id, hours in before.items())
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("Taken back.", exact=True)).to_be_visible()
    assert {each["id"]: each.get("hours") or {} for each in desk.records("room")} == before
    page.get_by_role("button", name="Drop Dear energy").click()
    expect(page.get_by_text("Dropped: Dear energy.")).to_be_visible()
    assert [each["identity"]["name"] for each in desk.records("scenario")] == ["Half the hours"]


def test_on_a_phone_what_moves_stays_in_sight_of_the_figure_that_is_changed(new_desk: NewDesk) -> None:
    page = new_desk().open("/plan/what-if")
    page.set_viewport_size({"width": 360, "height": 740})
    line = page.get_by_text(re.compile(r"^Net present value \(USD\): "))
    expect(line).to_be_visible()
    today = line.inner_text()
    budget = page.get_by_label("Budget before rebates")
    budget.focus()
    page.keyboard.type("9000")
    expect(line).not_to_have_text(today, timeout=20_000)
    expect(line).to_be_in_viewport(ratio=1)
    expect(budget).to_be_in_viewport(ratio=1)
    npv = page.get_by_role("table").get_by_role("row", name="Net present value").get_by_role("cell")
    assert line.inner_text().endswith(f": {npv.nth(0).inner_text()} → {npv.nth(1).inner_text()}")
    shot(page, "what-if-on-a-phone")
    page.set_viewport_size({"width": 1280, "height": 800})
    expect(line).to_be_hidden()
    page.set_viewport_size({"width": 360, "height": 740})
    tariff = page.get_by_label("Energy price (")
    tariff.fill("99")
    expect(page.get_by_role("status").filter(has_text="99 is no number from 0 to 10")).to_be_in_viewport(ratio=1)
    expect(line).to_have_count(0)
    tariff.fill("")
    expect(line).to_be_in_viewport(ratio=1)
