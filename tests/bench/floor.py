"""The hand's share, in real Chromium at a quarter of the speed: twelve rooms walked with 20,000 groups on the phone."""

from __future__ import annotations

import statistics
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.bench.figure import Figure
from tests.conftest import PHONE
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import store
from tests.support import machine
from tests.support.installation import PASSWORD, installed
from tests.support.kept_page import page_is_kept
from tests.support.server import Server

GROUPS = 20_000
FEW_GROUPS = 12
ROOMS = 12
SLOWED = 4
WANTED_MS = 100
OPENING_MOST = 1.5
PULLED_MS = 900_000
SHORTEST_MS = 16
"""Interactions shorter than this are not told by the browser; they count as this."""

WATCH = f"""() => {{
  window.took = new Map();
  new PerformanceObserver((list) => {{
    for (const entry of list.getEntries())
      if (entry.interactionId)
        window.took.set(entry.interactionId, Math.max(entry.duration, window.took.get(entry.interactionId) ?? 0));
  }}).observe({{ type: 'event', buffered: false, durationThreshold: {SHORTEST_MS} }});
}}"""


def _as_pushed(record: dict[str, Any]) -> dict[str, Any]:
    """The record as a phone would have pushed it, its parent in its identity; rooms as they are before somebody walks them."""
    facets = dict(record["facets"])
    if record["parent"] is not None:
        facets["identity"] = {**facets.get("identity", {}), "parent": record["parent"]}
    if record["type"] == "room":
        facets["progress"] = {"progress": "open"}
    return {**record, "facets": facets}


@contextmanager
def _phone_with(browser: Browser, folder: Path, groups: int) -> Iterator[tuple[Page, str]]:
    """A surveyor's phone with a whole invented site on it, at a quarter of the machine's speed, and the site's address."""
    with installed(folder / "data") as installation:
        store(installation, [_as_pushed(each) for each in invented_site(groups)])
    server = Server(folder / "data", command="serve").start()
    context = browser.new_context(**PHONE)
    page = context.new_page()
    try:
        who = {"name": "surveyor", "password": PASSWORD}
        page.context.request.post(f"{server.url}/api/session", data=who, headers={"Sec-Fetch-Site": "same-origin"})
        page.goto(f"{server.url}/s/{installation.site}")
        expect(page.get_by_text("All sent.")).to_be_visible(timeout=PULLED_MS)
        page_is_kept(page)
        context.set_offline(True)
        page.goto(f"{server.url}/s/{installation.site}")
        expect(page.get_by_label("To room number")).to_be_visible(timeout=60_000)
        context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
        yield page, f"{server.url}/s/{installation.site}"
    finally:
        context.close()
        server.stop()


def _walk(page: Page) -> tuple[list[float], list[float]]:
    """Twelve rooms: each opened by the strip, a group added, its count corrected; interactions and openings [ms]."""
    page.evaluate(WATCH)
    openings: list[float] = []
    page.locator(".on-with").tap()
    expect(page.get_by_role("link", name="Add a group")).to_be_visible(timeout=60_000)
    for _ in range(ROOMS):
        page.get_by_role("link", name="Add a group").tap()
        page.locator(".tile").first.tap(timeout=60_000)
        field = page.get_by_label("Fixtures", exact=True)
        expect(field).to_be_focused()
        page.keyboard.type("8")
        page.get_by_role("button", name="Add the group").tap()
        page.get_by_role("button", name="Correct the count").last.tap()
        page.keyboard.type("9")
        page.get_by_role("button", name="Save", exact=True).tap()
        expect(page.get_by_role("button", name="Undo")).to_have_count(1)
        page.get_by_role("radio", name="surveyed", exact=True).tap()
        expect(page.get_by_text("Saved: surveyed.")).to_be_visible()
        openings.append(_next_room(page))
    took = page.evaluate("() => [...window.took.values()]")
    return sorted(took), openings


NEXT = """async () => {
  const strip = [...document.querySelectorAll('.strip a')];
  const next = strip[strip.findIndex((each) => each.hasAttribute('aria-current')) + 1];
  const name = next.querySelector('span').textContent.trim();
  const started = performance.now();
  next.click();
  while (!(document.querySelector('h1')?.textContent.includes(name) && document.querySelector('.act')))
    await new Promise((done) => requestAnimationFrame(done));
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  return performance.now() - started;
}"""


def _next_room(page: Page) -> float:
    """From the tap on the next room of the strip until it stands there [ms]."""
    return float(page.evaluate(NEXT))


def twelve_rooms() -> list[Figure]:
    """95 of 100 interactions until the next paint; and opening a room against a site with hardly anything in it."""
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=machine.chromium(), args=machine.CHROMIUM_ARGS)
        with _phone_with(browser, Path(made) / "few", FEW_GROUPS * 8) as (page, _):
            _, few = _walk(page)
        with _phone_with(browser, Path(made) / "many", GROUPS) as (page, _):
            took, many = _walk(page)
        browser.close()
    slow = took[max(0, round(len(took) * 0.95) - 1)] if took else float(SHORTEST_MS)
    notes = (
        f"{len(took)} interactions longer than {SHORTEST_MS} ms, the slowest {took[-1] if took else 0:.0f} ms, the middle one {statistics.median(took) if took else 0:.0f} ms",
        f"processor slowed {SLOWED} times, {GROUPS:,} groups on the phone",
    )
    return [
        Figure("interaction to next paint, 95 in 100", slow, "what was wanted", WANTED_MS, 1, 1, notes),
        Figure(
            f"opening a room, {GROUPS:,} groups",
            statistics.median(many),
            f"a site of {FEW_GROUPS * 8} groups",
            statistics.median(few),
            OPENING_MOST,
            ROOMS,
        ),
    ]
