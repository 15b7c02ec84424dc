"""A site of 20,000 groups in 200 rooms in real Chromium: its first sync beside the bare store of the same bytes, and nodes on its screens."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, expect, sync_playwright

from spanwalk.services.sync.sums import recount
from spanwalk.storage.database import writing
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.bench.floor import PULLED_MS
from tests.bench.open_points import IN_A_ROOM
from tests.bench.phone import PULL_BARE, PULL_OURS
from tests.conftest import PHONE
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import as_pushed, store
from tests.support import machine
from tests.support.installation import PASSWORD, installed
from tests.support.server import Server

GROUPS = int(os.environ.get("GROUPS", "20000"))
NODES_MOST, SYNC_MOST, RUNS = 2_000, 1.5, 3
DESK = {"width": 1280, "height": 800}
SETTLED_MS = 600_000
ON_THE_DESK = (
    "desk", "desk/walk", "desk/plan", "desk/plan/order", "desk/plan/what-if", "desk/releases", "desk/offer", "desk/orders",
    "desk/schedule", "desk/problems", "desk/fitted", "desk/figures", "desk/catalogue", "desk/labels", "desk/files", "desk/days",
    "desk/emergency", "desk/handover", "desk/proof", "desk/recall", "desk/upkeep", "desk/learning", "desk/money", "desk/settings",
)  # fmt: skip
ON_THE_WALK = ("", "kinds", "open", "conflicts", "search", "more", "unsent", "changes", "rooms", "plans")
NODES = "document.querySelectorAll('*').length"
SETTLED = """() => document.querySelector('main') !== null && ![...document.querySelectorAll('[role=status]')].some((each) => /Asking|Reading|Looking/.test(each.textContent)) && document.querySelector("[aria-busy=true]") === null"""


@contextmanager
def _served(groups: int) -> Iterator[tuple[Server, str, dict[str, str]]]:
    """A server with the site on it, the site's id, and addresses of a room, a group and a kind."""
    records = [as_pushed(each) for each in invented_site(groups, in_a_room=IN_A_ROOM)]
    some = {kind: next(each["id"] for each in records if each["type"] == kind) for kind in ("room", "group", "kind")}
    with tempfile.TemporaryDirectory() as folder:
        with installed(Path(folder) / "data") as installation:
            store(installation, records)
            # Without its sums a phone would take its copy for a wrong one, and pull all of it twice.
            with installation.app.app_context(), writing() as session:
                recount(session, installation.site)
        server = Server(Path(folder) / "data", command="serve").start()
        try:
            yield server, installation.site, some
        finally:
            server.stop()


def _signed_in(browser: Browser, server: Server, name: str, **look: Any) -> Page:
    page = browser.new_context(**look).new_page()
    who = {"name": name, "password": PASSWORD}
    page.context.request.post(f"{server.url}/api/session", data=who, headers={"Sec-Fetch-Site": "same-origin"})
    page.goto(server.url)
    page.wait_for_selector("body[data-ready]", state="attached")
    page.evaluate("async () => { await (await import('/app/store/store.js')).store.refresh(); }")
    return page


def large_site() -> list[Figure]:
    """First sync against the bare store, when the first room can be worked in, and the most nodes of any screen."""
    with _served(GROUPS) as (server, site, some), sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=machine.chromium(), args=machine.CHROMIUM_ARGS)

        def fresh(script: str) -> float:
            page = _signed_in(browser, server, "surveyor", **PHONE)
            took = float(page.evaluate(script, [site]))
            page.context.close()
            return took

        ours, bare = in_turns(lambda: fresh(PULL_OURS), lambda: fresh(PULL_BARE), RUNS)
        usable, whole = _first_room(browser, server, site)
        nodes = _nodes(browser, server, site, some)
        browser.close()
    most = max(nodes, key=lambda each: nodes[each])
    told = tuple(f"{count:5} {path or 'the walk'}" for path, count in sorted(nodes.items(), key=lambda each: -each[1]))
    return [
        Figure(f"first sync of {GROUPS:,} groups", ours, "loopback fetch + bare IndexedDB put", bare, SYNC_MOST, RUNS),
        Figure("a room with its groups, first sync", usable, "the whole sync on the page", whole, 0.5, 1),
        Figure(f"nodes of {most}", nodes[most], "nodes wanted at most", NODES_MOST, 1.0, 1, told, unit=""),
    ]


def _first_room(browser: Browser, server: Server, site: str) -> tuple[float, float]:
    """From the site's address on an empty phone: until a room is opened with groups in it, and until all has come [ms]."""
    page = _signed_in(browser, server, "surveyor", **PHONE)

    def first_room() -> None:
        page.goto(f"{server.url}/s/{site}", wait_until="commit")
        page.locator(f"a[href*='/s/{site}/room/']").first.click(timeout=PULLED_MS)
        page.locator(f"a[href*='/s/{site}/group/']").first.wait_for(timeout=PULLED_MS)

    def all_of_it() -> None:
        page.evaluate(f"import('/app/views/navigate.js').then(({{ navigate }}) => navigate('/s/{site}'))")
        expect(page.get_by_text("All sent.")).to_be_visible(timeout=PULLED_MS)

    usable = milliseconds(first_room)
    whole = usable + milliseconds(all_of_it)
    page.context.close()
    return usable, whole


def _nodes(browser: Browser, server: Server, site: str, some: dict[str, str]) -> dict[str, int]:
    """Screen -> nodes once it has settled: the desk's as a manager's on a desk, the walk's as a surveyor's on a phone."""
    found: dict[str, int] = {}
    of_walk = (*ON_THE_WALK, *(f"{kind}/{id}" for kind, id in some.items()))
    for name, look, paths in (("manager", {"viewport": DESK}, ON_THE_DESK), ("surveyor", PHONE, of_walk)):
        page = _signed_in(browser, server, name, **look)
        page.evaluate(PULL_OURS, [site])
        for path in paths:
            page.goto(f"{server.url}/s/{site}/{path}".rstrip("/"))
            page.wait_for_function(SETTLED, timeout=SETTLED_MS)
            page.wait_for_timeout(1500)
            page.wait_for_function(SETTLED, timeout=SETTLED_MS)
            found[path] = int(page.evaluate(NODES))
        page.context.close()
    return found
