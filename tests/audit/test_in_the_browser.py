"""Who did what, as managers and owners see it: found by sort and person, opened, on a phone and at a desk."""

from __future__ import annotations

import os
from pathlib import Path

from playwright.sync_api import Page, expect
from tests.desk.conftest import NewDesk
from tests.support.looks import assert_fits_and_can_be_hit_and_read


def looked_at(page: Page, name: str) -> None:
    """A picture of each size and scheme, where somebody wants to look at them."""
    folder = os.environ.get("SPANWALK_PICTURES")
    if not folder:
        return
    for width in (360, 1280):
        for scheme in ("light", "dark"):
            page.set_viewport_size({"width": width, "height": 900})
            page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
            page.screenshot(path=Path(folder) / f"{name}-{width}-{scheme}.png")


def test_a_manager_sees_who_did_what_finds_by_sort_and_opens_an_entry(new_desk: NewDesk) -> None:
    desk = new_desk("manager")
    desk.client.get(f"/api/sites/{desk.site}/walk.csv")
    page = desk.open("/audit")
    entries = page.locator("li[data-entry]")
    expect(entries.first).to_contain_text("Taken away as a file")
    expect(entries.first).to_contain_text("File: walk.csv")
    page.get_by_role("combobox", name="What", exact=True).select_option(label="Taken away as a file")
    expect(entries).to_have_count(1)
    page.get_by_role("combobox", name="What", exact=True).select_option(label="Everything")
    vouched = entries.filter(has=page.locator("details")).first
    vouched.locator("summary").click()
    expect(vouched.locator("details li").first).to_be_visible()
    looked_at(page, "site")
    assert_fits_and_can_be_hit_and_read(page, widths=(360,))


def test_an_owner_sees_sign_ins_of_the_firm(new_desk: NewDesk) -> None:
    desk = new_desk("owner")
    page = desk.page
    page.goto(f"{desk.url}/people")
    page.get_by_role("link", name="Who did what").click()
    expect(page.locator("li[data-entry]").first).to_contain_text("Signed in")
    looked_at(page, "firm")
    assert_fits_and_can_be_hit_and_read(page, widths=(360,))
