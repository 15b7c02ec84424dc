"""A manager adds a lamp that the tables have not, changes it, sees what a plan knows from memory, and takes the lamp away."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect
from tests.desk.conftest import NewDesk
from tests.support.looks import assert_fits_and_can_be_hit_and_read


def shot(page: Page, name: str, folder: Path) -> None:
    for width in (360, 1280):
        page.set_viewport_size({"width": width, "height": 740})
        page.screenshot(path=folder / f"{name}-{width}.png", full_page=True)


def test_a_manager_adds_a_row_of_the_sites_own_and_takes_it_away(new_desk: NewDesk, tmp_path: Path) -> None:
    desk = new_desk("manager")
    page = desk.open("/figures")
    rows = page.get_by_role("region", name="Rows of this site's own")
    rows.get_by_role("link", name="A lamp that the tables have not").click()
    page.get_by_label("Diameter").select_option("T8")
    page.get_by_label("Nominal length").select_option("4 ft")
    page.get_by_label("Cap").select_option("G13")
    page.get_by_label("Lamp watts").fill("30")
    page.get_by_label("Met at").select_option("60-hz")
    page.get_by_label("Lumens of a new lamp").fill("2850")
    page.get_by_label("Mean over initial lumens").fill("0.95")
    page.get_by_label("How it is known").select_option("read")
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
    memory = page.get_by_role("region", name="Figures from memory")
    expect(memory).to_contain_text("from memory; nobody read them in a source")
    assert memory.get_by_role("listitem").count() == len(desk.told("plan")["totals"]["from_memory"]) > 0
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    shot(page, "plan", tmp_path)
