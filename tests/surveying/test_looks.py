"""Every screen of the survey fits a phone, can be hit with a thumb, and is read by machines, light and dark, small and large."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.support.server import Server

BEYOND = """() => [...document.querySelectorAll('body *')]
  .filter(e => !e.closest('.strip, .scroll-sideways, .visually-hidden, svg'))
  .filter(e => { const r = e.getBoundingClientRect(); return r.width && (r.right > innerWidth + 1 || r.left < -1); })
  .map(e => `${e.tagName}.${e.className} ${e.textContent.slice(0, 40)}`)"""
SMALL = """() => [...document.querySelectorAll('a, button, select, textarea, label.chip, input:not([type=radio], [type=checkbox], [type=file])')]
  .filter(e => !e.closest('p'))
  .filter(e => { const r = e.getBoundingClientRect(); return r.width && (r.height < 44 || r.width < 44); })
  .map(e => `${e.tagName}.${e.className} ${e.textContent.slice(0, 40)}`)"""

PATHS = {
    "the walk": "/s/{site}",
    "a room": "/s/{site}/room/{room}",
    "a new group": "/s/{site}/room/{room}/add",
    "a new floor": "/s/{site}/floor/new",
    "the kinds": "/s/{site}/kinds",
    "a kind": "/s/{site}/kind/{kind}",
    "a form": "/s/{site}/record/{kind}/housing",
    "the sites": "/",
    "no such page": "/nowhere",
}


@pytest.fixture(scope="module")
def ids() -> dict[str, str]:
    return {}


@pytest.fixture
def page(server: Server, new_phone: Callable[..., BrowserContext], ids: dict[str, str]) -> Page:
    opened = sign_in(new_phone().new_page(), server.url, "surveyor")
    opened.get_by_role("link", name="Cannery").click()
    expect(opened.get_by_role("heading", name="Undercroft")).to_be_visible(timeout=20_000)
    if not ids:
        ids |= opened.evaluate(
            """async () => {
              const { store } = await import('/app/store/store.js');
              const site = await store.openSite(store.sites()[0].id);
              const [group] = await site.all('group');
              return { site: site.id, room: group.parent, kind: group.facets.identity.kind };
            }"""
        )
    return opened


@pytest.mark.parametrize("screen", PATHS)
def test_a_screen_fits_and_can_be_hit_and_read(
    server: Server, page: Page, ids: dict[str, str], screen: str
) -> None:
    page.goto(server.url + PATHS[screen].format(**ids))
    page.wait_for_selector("main", state="attached")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    for width in (320, 360, 412):
        page.set_viewport_size({"width": width, "height": 740})
        assert page.evaluate(BEYOND) == [], f"beyond the edge at {width} px"
        assert page.evaluate(SMALL) == [], f"too small to hit at {width} px"
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
    page.set_viewport_size({"width": 360, "height": 740})
    page.evaluate("() => { document.documentElement.style.fontSize = '225%'; }")
    assert page.evaluate(BEYOND) == [], "beyond the edge with letters twice as large"
