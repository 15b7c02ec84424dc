"""From a tap on 'Scan a label' to the fixture: a printed label before the camera, the page four times slower, no signal.

The browser slows the page only; the worker that reads runs at the machine's own speed.
"""

from __future__ import annotations

import os
import statistics
import tempfile
from pathlib import Path

from playwright.sync_api import BrowserContext, Page, Playwright, sync_playwright

from tests.bench.crew_day import _released
from tests.bench.figure import Figure
from tests.conftest import PHONE, sign_in
from tests.installing.conftest import out_of_reach
from tests.installing.test_scanning_in_the_browser import film, printed_label
from tests.support import machine
from tests.support.server import Server

THROTTLE = 4
RUNS = 7
WANTED_MS = 1000
LOOKS_MS = 2000
"""A person who opens the page looks for the button; what is needed for the scan is made ready meanwhile."""
CAMERA_ALONE = """async () => {
  const started = performance.now();
  const video = document.createElement('video');
  video.muted = true;
  video.srcObject = await navigator.mediaDevices.getUserMedia({ video: { width: { min: 1920, ideal: 1920 } } })
    .catch(() => navigator.mediaDevices.getUserMedia({ video: true }));
  await video.play();
  while (!video.videoWidth) await new Promise(requestAnimationFrame);
  const took = performance.now() - started;
  video.srcObject.getTracks().forEach((each) => each.stop());
  return took;
}"""
"""From the wish to the camera's first frame, with nothing of ours."""
TAP_TO_FIXTURE = """async (path) => {
  const link = [...document.querySelectorAll('a')].find((each) => /\\/scan$/.test(each.pathname));
  const started = performance.now();
  link.click();
  while (location.pathname !== path) {
    if (performance.now() - started > 60000) throw new Error('nothing was read');
    await new Promise(requestAnimationFrame);
  }
  return performance.now() - started;
}"""


def slow(context: BrowserContext, page: Page) -> None:
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": THROTTLE})


def _camera_alone(playwright: Playwright, args: list[str], url: str) -> list[float]:
    browser = playwright.chromium.launch(executable_path=machine.chromium(), args=args)
    context = browser.new_context(**PHONE, permissions=["camera"])
    page = context.new_page()
    page.goto(f"{url}/app.webmanifest")
    slow(context, page)
    taken: list[float] = [page.evaluate(CAMERA_ALONE) for _ in range(RUNS)]
    browser.close()
    return taken


def first_read() -> Figure:
    """Milliseconds from the tap on; the first run opens the camera and the reader for the first time."""
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        server = Server(Path(made) / "demo").start()
        fixture = _released(server)[0]
        movie = film(printed_label(server, fixture.site, fixture.code), Path(made) / "camera.mjpeg")
        camera = [
            "--use-fake-device-for-media-stream",
            "--use-fake-ui-for-media-stream",
            f"--use-file-for-fake-video-capture={movie}",
        ]
        args = [*machine.CHROMIUM_ARGS, *camera]
        alone = _camera_alone(playwright, args, server.url)
        browser = playwright.chromium.launch(executable_path=machine.chromium(), args=args)
        context = browser.new_context(**PHONE, permissions=["camera"])
        page = out_of_reach(sign_in(context.new_page(), server.url, "crew"))
        slow(context, page)
        taken = []
        for _ in range(RUNS):
            page.wait_for_timeout(LOOKS_MS)
            taken.append(page.evaluate(TAP_TO_FIXTURE, fixture.path))
            page.evaluate(f"import('/app/views/navigate.js').then(({{ navigate }}) => navigate('/s/{fixture.site}'))")
            page.get_by_role("link", name="Scan a label").wait_for()
        browser.close()
        server.stop()
    told = (
        f"first run {taken[0]:.0f} ms, slowest {max(taken):.0f} ms; the reading worker is not slowed",
        f"the camera alone, in a browser of its own: first {alone[0]:.0f} ms, then {statistics.median(alone[1:]):.0f} ms",
        "load {:.1f}, {:.1f}, {:.1f} (1, 5, 15 min)".format(*os.getloadavg()),
    )
    name = f"tap to first label read, {THROTTLE} × slower, offline"
    return Figure(name, statistics.median(taken), "wanted", WANTED_MS, 1, RUNS, told)
