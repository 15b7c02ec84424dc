"""The desk fits a phone and a wide window, can be hit with a thumb, and is read by machines, light and dark."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect
from tests.desk.conftest import SENT_MS, NewDesk
from tests.surveying.test_looks import SMALL

# What is in a table's own box may be wider than the window: the box scrolls.
BEYOND = """() => [...document.querySelectorAll('body *')]
  .filter(e => !e.parentElement.closest('.strip, .table-box, .visually-hidden, svg'))
  .filter(e => { const r = e.getBoundingClientRect(); return r.width && (r.right > innerWidth + 1 || r.left < -1); })
  .map(e => `${e.tagName}.${e.className} ${e.textContent.slice(0, 40)}`)"""


@pytest.mark.parametrize("screen", ["", "/plan", "/labels"])
def test_a_desk_screen_fits_and_can_be_hit_and_read(new_desk: NewDesk, screen: str) -> None:
    page = new_desk().open(screen)
    if screen == "/plan":
        page.evaluate(
            "document.querySelectorAll('main details:not(.group)').forEach(e => { e.open = true; })"
        )
        page.locator("details.group > summary").first.click()
        expect(page.get_by_role("link", name="Open the group")).to_be_visible(timeout=SENT_MS)
    for width in (320, 360, 1280):
        page.set_viewport_size({"width": width, "height": 740})
        assert page.evaluate(BEYOND) == [], f"beyond the edge at {width} px"
        assert page.evaluate(SMALL) == [], f"too small to hit at {width} px"
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
