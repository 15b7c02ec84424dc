"""The promises where the browser is the point, in Chromium: killed while it syncs, two tabs, a full disk, a storage that goes away."""

from __future__ import annotations

import os
import secrets
import signal
import subprocess
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page
from tests.phone.conftest import OPEN, resume, save_note, status, until, until_sent, with_the_site
from tests.phone.test_offline import processes_of
from tests.promises.conftest import Log, Theatre
from tests.support.server import PASSWORD, Server

DISK_MB = 96
KB = 1024
AGAIN = OPEN.replace("if (store.person?.name !== name) ", "")
SAVE = """async (name) => {
  const record = site.newId();
  const draft = { record, type: 'floor', facet: 'identity', value: { parent: site.id, name }, seen: null };
  try { await site.save([draft]); return { ticked: true, record }; }
  catch (error) { return { ticked: false, record, code: error.code ?? String(error), says: store.say(error.code, error.facts) }; }
}"""


@pytest.fixture
def surveyor_phone(server: Server, new_phone: Callable[..., BrowserContext]) -> Page:
    return with_the_site(new_phone(), server.url)


def tick(ledger: list[dict[str, Any]], page: Page, name: str) -> None:
    """Save a floor, and write down that the page said it was saved."""
    record = save_note(page, name)
    site = page.evaluate("site.id")
    ledger.append({"record": record, "facet": "identity", "value": {"parent": site, "name": name}})


def log_of(server: Server, page: Page, folder: Path) -> Log:
    return Theatre(server, folder, site=page.evaluate("site.id")).log()


def kill(profile: Path) -> None:
    killed = processes_of(profile)
    assert killed
    for pid in killed:
        os.kill(pid, signal.SIGKILL)


@pytest.mark.parametrize("at", ["/push", "/pull?"])
def test_promise_01_a_browser_killed_while_it_syncs_has_each_ticked_save_exactly_once(
    at: str, server: Server, persistent_phone: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    page = with_the_site(persistent_phone(), server.url)
    ledger: list[dict[str, Any]] = []
    page.context.set_offline(True)
    for number in range(12):
        tick(ledger, page, f"Floor {number} {at}")
    page.context.set_offline(False)
    with page.context.expect_event("request", lambda request: at in request.url):
        page.evaluate("void store.syncNow()")
    kill(tmp_path / "phone")
    page = persistent_phone().pages[0]
    page.goto(server.url + "/")
    page.wait_for_selector("body[data-ready]", state="attached")
    page.evaluate(AGAIN, {"name": "surveyor", "password": PASSWORD})
    page.evaluate("store.syncNow()")
    until_sent(page)
    assert log_of(server, page, tmp_path).not_once(ledger) == []
    there = set(page.evaluate("site.all('floor').then(rows => rows.map(row => row.id))"))
    assert {each["record"] for each in ledger} <= there


def test_promise_11_two_tabs_that_sync_at_once_without_a_lock_apply_each_operation_once(
    surveyor_phone: Page, server: Server, tmp_path: Path
) -> None:
    page = surveyor_phone
    other = page.context.new_page()
    other.goto(page.url)
    resume(other)
    ledger: list[dict[str, Any]] = []
    page.context.set_offline(True)
    for each in (page, other):
        each.evaluate("void (LockManager.prototype.request = (name, how, run) => Promise.resolve(run({ name })))")
        for number in range(8):
            tick(ledger, each, f"Tab floor {number} {id(each)}")
    page.context.set_offline(False)
    for each in (page, other):
        each.evaluate("void (window.done = store.syncNow())")
    for each in (page, other):
        each.evaluate("done.then(() => null)")
    for each in (page, other):
        each.evaluate("store.syncNow()")
        until_sent(each)
    assert log_of(server, page, tmp_path).not_once(ledger) == []


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of its own that can be filled without harm."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={DISK_MB}m", "tmpfs", str(disk)], check=False)
    if mounted.returncode != 0:
        pytest.skip("Only who may mount a disk can fill one: run this test as root.")
    yield disk
    subprocess.run(["umount", "--lazy", str(disk)], check=True)


def fill(disk: Path) -> Path:
    """A file that takes all that is left."""
    filling = disk / "filling"
    with suppress(OSError), filling.open("wb", buffering=0) as file:
        while True:
            file.write(bytes(4096))
    return filling


@pytest.mark.parametrize("left", [0, 32 * KB])
def test_promise_12_a_full_disk_gives_no_tick_and_a_clear_message_and_the_next_try_works(
    left: int, server: Server, persistent_phone: Callable[..., BrowserContext], small_disk: Path, tmp_path: Path
) -> None:
    page = with_the_site(persistent_phone(str(small_disk / "phone")), server.url)
    ledger: list[dict[str, Any]] = []
    page.context.set_offline(True)
    tick(ledger, page, "Before")
    filling = fill(small_disk)
    os.truncate(filling, filling.stat().st_size - left)
    lost = page.evaluate(SAVE, "0123456789abcdef" * 2 + secrets.token_hex(200_000))
    assert not lost["ticked"]
    assert lost["says"].startswith("Not saved: this phone"), "what Chromium tells of it differs by where it stood"
    assert "ree some space" in lost["says"]
    until(page, "store.status.state === 'storage-failing'")
    filling.unlink()
    tick(ledger, page, "After")
    assert page.evaluate("id => site.get(id).then(found => found ?? null)", lost["record"]) is None
    assert page.evaluate("site.storage.counts().then(c => c.operations)") == len(ledger)
    page.context.set_offline(False)
    page.evaluate("store.syncNow()")
    until_sent(page)
    log = log_of(server, page, tmp_path)
    assert log.not_once(ledger) == []
    assert [row for row in log.rows if row["record"] == lost["record"]] == []


def test_promise_12_a_storage_that_is_taken_away_gives_no_tick_and_a_clear_message(
    surveyor_phone: Page, server: Server, tmp_path: Path
) -> None:
    page = surveyor_phone
    ledger: list[dict[str, Any]] = []
    tick(ledger, page, "Arrived before")
    page.evaluate("store.syncNow()")
    page.context.set_offline(True)
    session = page.context.new_cdp_session(page)
    about = {"origin": page.evaluate("location.origin"), "storageTypes": "indexeddb"}
    session.send("Storage.clearDataForOrigin", about)
    told = page.evaluate(SAVE, "Typed after")
    assert (told["ticked"], told["code"]) == (False, "storage-cleared")
    assert told["says"].startswith("Not saved: this phone's storage was cleared")
    until(page, "store.status.state === 'storage-failing'")
    page.context.set_offline(False)
    page.reload()
    page.wait_for_selector("body[data-ready]", state="attached")
    page.evaluate(AGAIN, {"name": "surveyor", "password": PASSWORD})
    tick(ledger, page, "Typed again")
    page.evaluate("store.syncNow()")
    assert status(page)["unsent"] == 0
    assert log_of(server, page, tmp_path).not_once(ledger) == []
