"""A manager adds a lamp that the tables have not, changes it, sees what a plan knows from memory, and takes the lamp away."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect
from tests.desk.conftest import NewDesk
from tests.support.looks import assert_fits_and_can_be_hit_and_read


def pick(page: Page, field: str, choice: str) -> None:
    page.get_by_role("group", name=field).get_by_label(choice, exact=True).check()


def shot(page: Page, name: str, folder: Path) -> None:
    for width in (360, 1280):
        page.set_viewport_size({"width": width, "height": 740})
        page.screenshot(path=folder / f"{name}-{width}.png", full_page=True)


def test_a_manager_adds_a_row_of_the_sites_own_and_takes_it_away(new_desk: NewDesk, tmp_path: Path) -> None:
    desk = new_desk("manager")
    page = desk.open("/figures")
    rows = page.get_by_role("region", name="Rows of this site's own")
    rows.get_by_role("link", name="A lamp that the tables have not").click()
    pick(page, "Diameter", "T8")
    pick(page, "Nominal length", "4 ft")
    pick(page, "Cap", "G13")
    page.get_by_label("Lamp watts").fill("30")
    pick(page, "Met at", "60 Hz, 120 to 480 V")
    page.get_by_label("Lumens of a new lamp").fill("2850")
    page.get_by_label("Mean over initial lumens").fill("0.95")
    pick(page, "How it is known", "read")
    page.get_by_role("button", name="Add the row to this site").click()
    expect(page.locator(".problem").first).to_be_visible()
    page.get_by_label("Where it is from").fill("maker's sheet of 2011")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    shot(page, "own-row", tmp_path)
    page.get_by_role("button", name="Add the row to this site").click()
    added = rows.get_by_role("link", name="T8 · 4 ft · 30 · G13")
    expect(added).to_contain_text("maker's sheet of 2011")
    expect(page.get_by_text("All sent.")).to_be_visible()
    assert [row["lamp"]["initial_lm"] for row in desk.records("own_row")] == [2850]
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    shot(page, "figures", tmp_path)
    added.click()
    expect(page.get_by_label("Lumens of a new lamp")).to_have_value("2850")
    page.get_by_role("button", name="Take the row away").click()
    expect(rows.get_by_role("link", name="T8 · 4 ft · 30 · G13")).to_have_count(0)

    desk.open("/plan")
    memory = page.get_by_role("note", name="Figures from memory")
    expect(memory).to_contain_text("from memory, read by nobody in a source")
    told = desk.told("plan")["totals"]["from_memory"]
    assert told
    for each in told:
        expect(memory).to_contain_text(each["facts"]["what"])
        expect(memory).to_contain_text(each["facts"]["source"])
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    shot(page, "plan", tmp_path)
