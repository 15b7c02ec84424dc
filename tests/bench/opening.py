"""The first screen over a phone's link: the packed page of a wheel beside the loose one of a checkout, in turns."""

from __future__ import annotations

import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from tests.bench.figure import Figure, in_turns, milliseconds
from tests.conftest import PHONE
from tests.support import machine
from tests.support.counting_proxy import CountingProxy
from tests.support.packed import as_installed
from tests.support.server import Server

RUNS = 5
LINK = {"offline": False, "latency": 120, "downloadThroughput": 8e6 / 8, "uploadThroughput": 2e6 / 8}
"""120 ms for each request, 8 Mbit/s down, 2 up; Chromium's own brake, which does not count the opening of a connection."""
REQUESTS_MOST, BYTES_MOST = 12, 120_000
RATIO_MOST = 0.35


def opening(browser: Browser, url: str) -> float:
    """From the address to a sign-in that can be typed in, on a phone that was never here [ms]."""
    phone = browser.new_context(**PHONE, service_workers="block")
    page = phone.new_page()
    phone.new_cdp_session(page).send("Network.emulateNetworkConditions", LINK)

    def open_it() -> None:
        page.goto(url + "/sign-in", wait_until="commit")
        page.get_by_label("Name", exact=True).wait_for()

    took = milliseconds(open_it)
    phone.close()
    return took


def first_screen() -> Figure:
    """Sign-in usable: packed beside loose; and what the packed page has fetched by then."""
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        folder = Path(made)
        packed = Server(folder / "packed", env=as_installed(folder / "installed")).start()
        loose = Server(folder / "loose").start()
        browser = playwright.chromium.launch(executable_path=machine.chromium(), args=machine.CHROMIUM_ARGS)
        with CountingProxy(packed.port) as wire:
            opening(browser, wire.url)
            carried = wire.carried
        ours, reference = in_turns(lambda: opening(browser, packed.url), lambda: opening(browser, loose.url), RUNS)
        browser.close()
        packed.stop()
        loose.stop()
    return Figure(
        name="first screen over a phone's link",
        ours=ours,
        reference="the loose page of a checkout",
        of_reference=reference,
        most=RATIO_MOST,
        runs=RUNS,
        notes=(
            f"{carried.requests} requests of at most {REQUESTS_MOST}, {carried.down:,} bytes of at most {BYTES_MOST:,}",
        ),
        within=carried.requests <= REQUESTS_MOST and carried.down <= BYTES_MOST,
    )
