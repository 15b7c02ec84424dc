"""Without a signal the page opens, has everything, and keeps everything; a killed browser loses nothing that was ticked."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page
from tests.phone.conftest import OPEN, all_sent, resume, save_note, status, until_sent, with_the_site
from tests.support.server import PASSWORD, Client, Server


def test_a_reload_without_a_signal_shows_the_site_and_who_is_signed_in(surveyor_phone: Page) -> None:
    page = surveyor_phone
    rooms = page.evaluate("site.summaries().then(rows => rows.length)")
    page.context.set_offline(True)
    page.reload()
    resume(page)
    assert rooms > 0
    assert page.evaluate("store.person.name") == "surveyor"
    assert page.evaluate("site.summaries().then(rows => rows.length)") == rooms


def test_what_was_saved_without_a_signal_arrives_when_it_is_back(surveyor_phone: Page, server: Server) -> None:
    page = surveyor_phone
    page.context.set_offline(True)
    floor = save_note(page, "Loft")
    page.reload()
    resume(page)
    assert page.evaluate("id => site.get(id).then(r => r.facets.identity.name)", floor) == "Loft"
    assert page.evaluate("site.storage.counts().then(c => c.operations)") == 1
    page.context.set_offline(False)
    page.evaluate("store.syncNow()")
    until_sent(page)
    client = Client(server.url, "manager")
    found = client.get(f"/api/sites/{page.evaluate('site.id')}/pull?since=0&limit=2000")["records"]
    assert floor in [record["id"] for record in found]


def processes_of(profile: Path) -> list[int]:
    """The browser's processes, by the profile that only this test uses."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                words = (entry / "cmdline").read_bytes()
            except OSError:
                continue
            if str(profile).encode() in words:
                found.append(int(entry.name))
    return found


def test_a_browser_killed_right_after_a_tick_still_has_the_save(
    fresh_server: Server, persistent_phone: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    page = with_the_site(persistent_phone(), fresh_server.url)
    page.context.set_offline(True)
    floor = save_note(page, "Loft")
    killed = processes_of(tmp_path / "phone")
    assert killed
    for pid in killed:
        os.kill(pid, signal.SIGKILL)
    fresh_server.stop()
    page = persistent_phone().pages[0]
    page.goto(fresh_server.url + "/")
    resume(page)
    assert page.evaluate("id => site.get(id).then(r => r.facets.identity.name)", floor) == "Loft"
    assert page.evaluate("site.storage.counts().then(c => c.operations)") == 1


def test_signing_out_with_unsent_work_keeps_it_for_who_made_it(surveyor_phone: Page) -> None:
    page = surveyor_phone
    page.context.set_offline(True)
    save_note(page, "Loft")
    assert page.evaluate("store.unsentEverywhere()") == {"operations": 1, "photos": 0, "refused": 0}
    page.evaluate("store.signOut()")
    assert page.evaluate("store.person") is None
    page.context.set_offline(False)
    about: dict[str, Any] = {"name": "crew", "password": PASSWORD}
    page.evaluate(OPEN, about)
    assert page.evaluate("site.storage.counts().then(c => c.operations)") == 0
    page.evaluate("store.signOut()")
    page.context.set_offline(True)
    page.context.set_offline(False)
    page.evaluate(OPEN, {"name": "surveyor", "password": PASSWORD})
    page.evaluate("store.syncNow()")
    assert status(page)["unsent"] == 0
    assert "Loft" in page.evaluate("site.all('floor').then(rows => rows.map(r => r.facets.identity.name))")


def test_a_session_that_ended_stops_the_network_and_not_the_work(surveyor_phone: Page) -> None:
    page = surveyor_phone
    page.context.clear_cookies()
    floor = save_note(page, "Loft")
    page.evaluate("store.syncNow()")
    assert status(page)["state"] == "signed-out"
    save_note(page, "Roof")
    assert page.evaluate("id => site.get(id).then(r => r.facets.identity.name)", floor) == "Loft"
    page.evaluate(OPEN.replace("if (store.person?.name !== name) ", ""), {"name": "surveyor", "password": PASSWORD})
    page.evaluate("store.syncNow()")
    until_sent(page)


def test_a_page_that_starts_with_unsent_work_never_says_that_all_is_sent(surveyor_phone: Page) -> None:
    page = surveyor_phone
    page.context.set_offline(True)
    save_note(page, "Loft")
    said = page.evaluate(
        """async () => {
          const started = new store.constructor();
          const said = [];
          started.subscribe(() => said.push(started.status.unsent));
          await started.start();
          return [...said, started.status.unsent];
        }"""
    )
    assert said[-1] == 1
    assert all(said[said.index(1) :])
    page.reload()
    resume(page)
    assert not all_sent(page)
    assert status(page)["unsent"] == 1
