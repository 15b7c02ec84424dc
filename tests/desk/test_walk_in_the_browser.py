"""The walk at the desk: hours are stated and tell when it will be done; lots to read again, with pictures that can be read."""

from __future__ import annotations

from playwright.sync_api import expect
from tests.desk.conftest import NewDesk
from tests.support.looks import BEYOND, SMALL, assert_fits_and_can_be_hit_and_read, found_at_rest


def test_hours_tell_when_the_walk_is_done_and_each_lot_what_to_read_again(new_desk: NewDesk) -> None:
    desk = new_desk("surveyor")
    page = desk.open("/walk")
    page.get_by_label("Hours since").fill("none")
    page.get_by_role("button", name="State the hours").click()
    expect(page.get_by_role("alert").filter(has_text="none is no number from 0.1 to 1,000")).to_be_visible()
    page.get_by_label("Hours since").fill("12.5")
    page.get_by_role("button", name="State the hours").click()
    told = page.get_by_role("table", name="12.5 h stated")
    expect(told).to_be_visible()
    walk = desk.told("walk")
    expect(told.get_by_role("row").nth(1)).to_contain_text(str(walk["pace"]["rooms_left"]))
    expect(page.get_by_text("Hours were stated once only")).to_be_visible()

    lot = walk["lots"][0]
    expect(page.get_by_text(f"{lot['sample']} of {lot['readings']} readings are read again").first).to_be_visible()
    page.get_by_text("Cavities to read again").first.click()
    expect(page.get_by_text("fixture", exact=False).first).to_be_visible()
    page.get_by_text("Chance that the lot is accepted").first.click()
    expect(page.get_by_role("img", name="Chance that the lot is accepted")).to_be_visible()
    kind = walk["kinds"][0]
    page.get_by_text(f"{kind['mark']}: {kind['readings']} reading").click()
    expect(page.get_by_role("img", name=f"Cavities read of {kind['mark']}")).to_be_visible()
    assert found_at_rest(page, BEYOND) == []
    assert found_at_rest(page, SMALL) == []
    assert_fits_and_can_be_hit_and_read(page, (360, 1280))
