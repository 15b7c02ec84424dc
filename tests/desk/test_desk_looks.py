"""The desk fits a phone and a wide window, can be hit with a thumb, and is read by machines, light and dark."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect
from tests.desk.conftest import NewDesk
from tests.support.looks import assert_fits_and_can_be_hit_and_read

CUT_OFF = """() => [...document.querySelectorAll('.table-box')]
  .filter((box) => box.checkVisibility() && box.scrollWidth > box.clientWidth + 1).map((box) => box.ariaLabel)"""

FOLDS = {"": "By floor", "/plan": "Would be ordered"}
"""What is folded on a phone alone, by screen."""


@pytest.mark.parametrize("screen", ["", "/plan", "/releases", "/labels", "/figures"])
def test_a_desk_screen_fits_and_can_be_hit_and_read(new_desk: NewDesk, screen: str) -> None:
    page = new_desk().open(screen)
    if screen == "/plan":
        page.evaluate("document.querySelectorAll('main details:not(.group)').forEach(e => { e.open = true; })")
        page.locator("details.group > summary").first.click()
        expect(page.get_by_role("link", name="Open the group")).to_be_visible()
    page.set_viewport_size({"width": 360, "height": 740})
    if screen in FOLDS:
        expect(page.get_by_text(FOLDS[screen], exact=True).and_(page.locator("summary"))).to_be_visible()
        page.evaluate("document.querySelectorAll('details.fold').forEach(e => { e.open = true; })")
    assert page.evaluate(CUT_OFF) == [], "columns that a phone shows only to who thinks of pushing the table"
    assert_fits_and_can_be_hit_and_read(page, widths=(320, 360, 1280))
