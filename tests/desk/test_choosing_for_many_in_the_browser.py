"""Choosing for many groups at the desk: shown before it is taken, taken with one tap and taken back with one."""

from __future__ import annotations

from playwright.sync_api import expect
from tests.desk.conftest import NewDesk
from tests.support.looks import BEYOND, SMALL, assert_fits_and_can_be_hit_and_read, found_at_rest

DECISION = "decision"


def test_the_best_order_is_shown_taken_and_taken_back_and_a_group_is_left_with_its_reason(new_desk: NewDesk) -> None:
    desk = new_desk()
    page = desk.open("/plan")
    page.get_by_role("link", name="Choose for many groups").click()
    page.get_by_label("What each different item costs").fill("40")
    page.get_by_role("button", name="Look for the best order").click()
    stop = page.get_by_role("button", name="Stop, and keep the best so far")
    expect(stop).to_be_in_viewport(ratio=1)
    take = page.get_by_role("button", name="Take it: decide for")
    expect(take).to_be_visible(timeout=60_000)
    expect(page.get_by_role("table", name="Group by group")).to_be_visible()
    expect(page.get_by_text("No order costs less.")).to_be_in_viewport(ratio=1)
    before = {each["id"]: each.get(DECISION) for each in desk.records("group")}
    take.click()
    expect(page.get_by_text("Taken:")).to_be_in_viewport(ratio=1)
    taken = [each for each in desk.records("group") if (each.get(DECISION) or {}).get("how_chosen") == "best-order"]
    assert taken
    assert {each[DECISION]["reason"] for each in taken} == {"Best order for the whole site"}
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("Taken back.")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    after = {each["id"]: each.get(DECISION) for each in desk.records("group")}
    assert [id for id in before if (before[id] or {}) != (after[id] or {})] == []

    page.get_by_label("What to do").select_option("leave")
    page.get_by_label("Use of the room").select_option("classroom")
    page.get_by_role("button", name="Show what changes").click()
    expect(page.get_by_role("heading", name="What would change")).to_be_in_viewport(ratio=1)
    expect(take).to_be_visible()
    take.click()
    expect(page.get_by_role("alert").filter(has_text="needs a reason")).to_be_visible()
    page.get_by_label("Reason").fill("Refitted next summer")
    assert found_at_rest(page, BEYOND) == []
    assert found_at_rest(page, SMALL) == []
    assert_fits_and_can_be_hit_and_read(page, (360, 1280))
    take.click()
    expect(page.get_by_text("Taken:")).to_be_visible()
    left = [group for group in desk.told("plan")["groups"] if group["state"] == "left as it is"]
    assert left
    reasons = {each["facts"]["reason"] for group in left for each in group["blockers"] if "reason" in each["facts"]}
    assert reasons == {"Refitted next summer"}
    page = desk.open("/plan")
    page.locator("details.points").evaluate_all("all => all.forEach(each => { each.open = true })")
    expect(page.get_by_text("Reason: Refitted next summer").first).to_be_visible()
