"""A crew's shift by script: forty fixtures without a signal on a phone with 20,000 groups, by scan, with a photo each."""

from __future__ import annotations

import base64
import io
import statistics
import tempfile
from pathlib import Path
from typing import Any
from uuid import uuid4

import qrcode
from playwright.sync_api import CDPSession, Page, expect, sync_playwright

from tests.bench.figure import Figure
from tests.conftest import PHONE, scanner_kept, sign_in
from tests.installing.conftest import Fixture, is_one_of_a_pair, records, value
from tests.open_points.complete_site import Hand
from tests.support import machine
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

GROUPS, GROUPS_IN_A_ROOM, AT_ONCE = 20_000, 20, 1000
FIXTURES = 40
THROTTLE = 4
MOST_MS = 300
MOST_TAPS = 9
CAMERA_TAPS = 2
"""In the camera's own app: the shutter, and 'use it'."""
FAKE_CAMERA = """
  navigator.mediaDevices.getUserMedia = async () => {
    const [canvas, label] = [document.createElement('canvas'), new Image()];
    [canvas.width, canvas.height] = [1280, 720];
    label.src = localStorage.getItem('bench.label');
    await label.decode();
    const pen = canvas.getContext('2d');
    setInterval(() => { pen.fillStyle = '#60584c'; pen.fillRect(0, 0, 1280, 720); pen.drawImage(label, 430, 150, 420, 420); }, 100);
    return canvas.captureStream(15);
  };
"""
TO_THE_NEXT = """async (path) => {
  const { navigate } = await import('/app/views/navigate.js');
  const before = document.querySelector('section.work');
  if (before) before.dataset.before = 'yes'; // it leaves the page before the next card comes
  const started = performance.now();
  navigate(path);
  const there = () => document.querySelector('section.work:not([data-before])') && document.getElementById('checks');
  while (!(location.pathname === path && there())) await new Promise(requestAnimationFrame);
  return performance.now() - started;
}"""


def forty_fixtures() -> Figure:
    """Card to next card, and taps from scan to scan."""
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        server = Server(Path(made) / "demo").start()
        fixtures = _released(server)
        _many_groups(server)
        browser = playwright.chromium.launch(executable_path=machine.chromium(), args=machine.CHROMIUM_ARGS)
        context = browser.new_context(**PHONE)
        context.add_init_script(FAKE_CAMERA)
        page = _in_the_building(sign_in(context.new_page(), server.url, "crew"))
        throttled = context.new_cdp_session(page)
        held = page.evaluate(
            "async (id) => (await (await (await import('/app/store/store.js')).store.openSite(id)).all('group')).length",
            fixtures[0].site,
        )
        to_next = _card_to_card(page, throttled, fixtures)
        photo = _photo(Path(made))
        taps = [_convert(page, server.url, each, photo) for each in fixtures]
        browser.close()
        server.stop()
    ordered = sorted(to_next)
    return Figure(
        f"card to next card, {held:,} groups on the phone, {THROTTLE} × slower, offline",
        statistics.median(to_next),
        "wanted",
        MOST_MS,
        1,
        len(to_next),
        (
            f"of {len(to_next)}: 9 in 10 within {ordered[len(ordered) * 9 // 10]:.0f} ms, slowest {ordered[-1]:.0f} ms",
            f"{len(taps)} fixtures from scan to scan with a photo: {min(taps)} to {max(taps)} taps, wanted ≤ {MOST_TAPS}",
            "the processor is slowed by Chromium's own brake; of the photo the two taps in the camera's app are counted",
        ),
        max(taps) <= MOST_TAPS,
    )


def _released(server: Server) -> list[Fixture]:
    """Fixtures of the demo that are released and done one by one, without emergency duty, of as many groups as there are."""
    client = Client(server.url, "manager")
    site = client.site_id()
    client.call("POST", f"/api/sites/{site}/labels", {})
    release_seen(client, site, "bench")
    everything = records(server)
    conversions = {each["parent"]: value(each, "identity") for each in everything if each["type"] == "conversion"}
    found = [
        Fixture(site, bound["group"], bound["position"], value(each, "identity")["code"], conversions[bound["group"]])
        for each in everything
        if each["type"] == "label" and (bound := value(each, "binding")) and bound["group"] in conversions
    ]
    plain = [each for each in found if not is_one_of_a_pair(each) and not _is_emergency(each)]
    return sorted(plain, key=lambda each: (each.position, each.group))[:FIXTURES]


def _is_emergency(fixture: Fixture) -> bool:
    return bool(fixture.conversion and fixture.position in fixture.conversion["frozen"]["emergency"]["positions"])


def _many_groups(server: Server) -> None:
    """Other rooms of the building, with as many groups as make 20,000."""
    client = Client(server.url, "manager")
    hand = Hand(client, client.site_id())
    everything = records(server)
    person = hand.person
    floor = next(each["id"] for each in everything if each["type"] == "floor")
    kind = next(each["id"] for each in everything if each["type"] == "kind")
    operations: list[dict[str, Any]] = []

    def make(type_name: str, identity: dict[str, Any]) -> str:
        record = str(uuid4())
        hand.saved += 1
        operations.append({
            "id": f"{hand.device}.0000000a.{hand.saved}", "by": person, "record": record, "type": type_name,
            "facet": "identity", "kind": "set", "seen": None, "from": None, "to": identity, "settles": [],
            "device_time": "2026-03-10T09:00:00Z", "spec": 3,
        })  # fmt: skip
        return record

    for number in range(GROUPS // GROUPS_IN_A_ROOM):
        room = make("room", {"parent": floor, "number": f"B{number}", "name": "Invented"})
        for _ in range(GROUPS_IN_A_ROOM):
            make("group", {"parent": room, "kind": kind})
    for start in range(0, len(operations), AT_ONCE):
        hand.push(*operations[start : start + AT_ONCE])


def _in_the_building(page: Page) -> Page:
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("All sent.")).to_be_visible(timeout=300_000)
    scanner_kept(page)
    page.context.set_offline(True)
    return page


def _card_to_card(page: Page, session: CDPSession, fixtures: list[Fixture]) -> list[float]:
    """Milliseconds from one card to the next, each of another group."""
    page.evaluate(TO_THE_NEXT, fixtures[-1].path)
    session.send("Emulation.setCPUThrottlingRate", {"rate": THROTTLE})
    found = [
        float(page.evaluate(TO_THE_NEXT, each.path))
        for before, each in zip([fixtures[-1], *fixtures], fixtures, strict=False)
        if before.group != each.group
    ]
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    return found


def _convert(page: Page, url: str, fixture: Fixture, photo: Path) -> int:
    """From scan to done with a photo; how many taps that took."""
    page.evaluate("label => localStorage.setItem('bench.label', label)", _label(url, fixture.code))
    page.get_by_role("link", name="Scan the next label").tap()
    taps = 1
    page.wait_for_url(lambda at: fixture.path in at)
    checks = page.get_by_role("group", name="Before 'done'").get_by_role("checkbox")
    expect(checks.first).to_be_visible()
    for check in checks.all():
        check.tap()
        taps += 1
    page.get_by_role("button", name="Done", exact=True).tap()
    expect(page.get_by_text("Saved: done.")).to_be_visible()
    page.get_by_label("Add a photo").set_input_files(photo)
    taps += 1 + 1 + CAMERA_TAPS
    expect(page.get_by_role("list", name="Photos").get_by_role("img").first).to_be_visible()
    return taps


def _label(url: str, code: str) -> str:
    out = io.BytesIO()
    qrcode.make(f"{url}/F/{code}", border=4).save(out)
    return "data:image/png;base64," + base64.b64encode(out.getvalue()).decode()


def _photo(folder: Path) -> Path:
    from PIL import Image

    path = folder / "after.jpg"
    Image.effect_noise((1200, 900), 60).convert("RGB").save(path, quality=85)
    return path
