"""Pictures for the README, each person's screen and a sheet of labels: `python -m tests.pictures`.

They are taken from the demo building in a real Chromium, in few colours, so that they stay small.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pymupdf
from PIL import Image
from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.conftest import sign_in
from tests.support import machine
from tests.support.machine import ROOT
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

PICTURES = ROOT / "seed_data" / "pictures"
COLOURS = 32
BYTES_MOST = 60_000
Window = dict[str, Any]
PHONE: Window = {"viewport": {"width": 360, "height": 740}, "reduced_motion": "reduce", "service_workers": "block"}
DESK: Window = {**PHONE, "viewport": {"width": 1280, "height": 800}}


@contextmanager
def page_of(browser: Browser, server: Server, name: str, window: Window) -> Iterator[Page]:
    context = browser.new_context(**window)
    yield sign_in(context.new_page(), server.url, name)
    context.close()


def keep(name: str, picture: bytes) -> None:
    """Write a picture in few colours."""
    few = Image.open(BytesIO(picture)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    path = PICTURES / f"{name}.png"
    few.save(path, optimize=True)
    size = path.stat().st_size
    print(f"{path.relative_to(ROOT)}  {few.width} x {few.height}  {size} bytes")
    if size > BYTES_MOST:
        sys.exit(f"{path.name} has {size} bytes; at most {BYTES_MOST} are kept in the repository")


def released_fixture(client: Client, site: str) -> tuple[str, int]:
    """Label all and release what is ready; one fixture that has both, as its group and position."""
    client.call("POST", f"/api/sites/{site}/labels", {})
    release_seen(client, site, "first floor first")
    records = client.get(f"/api/sites/{site}/pull?since=0&limit=100000")["records"]
    released = {record["parent"] for record in records if record["type"] == "conversion"}
    bound = (record["facets"]["binding"]["value"] for record in records if record["type"] == "label")
    return min((each["group"], each["position"]) for each in bound if each["group"] in released)


def sheet_of_labels(client: Client, site: str) -> bytes:
    """The first sheet as it is printed, drawn small."""
    pdf = client.get(f"/api/sites/{site}/labels.pdf?paper=a4")
    with pymupdf.open(stream=pdf) as document:
        return document[0].get_pixmap(dpi=60).tobytes("png")


def screen(browser: Browser, server: Server, name: str, window: Window, path: str) -> bytes:
    """What a person of the demo sees at an address."""
    with page_of(browser, server, name, window) as page:
        page.goto(server.url + path)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        expect(page.get_by_text("All sent.")).to_be_visible()
        page.wait_for_timeout(1000)  # what the server is asked for has come, and every picture
        return page.screenshot()


def main() -> None:
    PICTURES.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory() as folder, sync_playwright() as playwright:
        server = Server(Path(folder) / "demo").start()
        browser = playwright.chromium.launch(executable_path=machine.chromium(), args=machine.CHROMIUM_ARGS)
        client = Client(server.url, "manager")
        site = client.site_id()
        group, position = released_fixture(client, site)
        keep("surveyor", screen(browser, server, "surveyor", PHONE, f"/s/{site}/group/{group}"))
        keep("crew", screen(browser, server, "crew", PHONE, f"/s/{site}/fixture/{group}/{position}"))
        keep("manager", screen(browser, server, "manager", DESK, f"/s/{site}/desk/plan"))
        keep("labels", sheet_of_labels(client, site))
        browser.close()
        server.stop()


if __name__ == "__main__":
    main()
