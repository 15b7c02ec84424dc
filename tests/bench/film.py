"""A floor of twelve rooms walked without a signal, filmed; and sheets of its screens, each looked at by geometry and axe.

`python -m tests.bench.film FOLDER` writes `floor.webp`, a moving picture that browsers show, a picture of each screen in each look, and one sheet for each look;
it ends with 1 where something hangs over an edge, cannot be hit, or is a fault that axe knows.
"""

from __future__ import annotations

import argparse
import base64
import io
import re
import sys
import tempfile
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Literal, TypedDict

from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Page, ViewportSize, expect, sync_playwright

from tests.conftest import PHONE, sign_in
from tests.journey import test_a_floor_of_twelve_rooms as journey
from tests.support import machine
from tests.support.looks import BEYOND, BROKEN, SMALL, TALL_FOOT, found_at_rest
from tests.support.server import Server
from tests.surveying.hand import Hand

SMOOTH_MS = 60
"""A pause after each tap, so that the film can be followed."""
ACROSS, THUMB_PX = 6, 300
LEAST_MS, MOST_MS = 80, 2000
"""How long a frame of the film stands."""


class ScreencastTime(TypedDict):
    """When a frame was shown [s since 1970]."""

    timestamp: float


class ScreencastFrame(TypedDict):
    """One picture of a page, as Chromium's DevTools protocol tells of it (`Page.screencastFrame`)."""

    data: str
    metadata: ScreencastTime
    sessionId: int


@dataclass(frozen=True)
class Look:
    """How a screen is looked at."""

    name: str
    size: ViewportSize
    scheme: Literal["light", "dark"] = "light"
    letters: str = ""


FAULTS = (
    ("beyond the edge", BEYOND),
    ("too small to hit", SMALL),
    ("a word on two lines", BROKEN),
    ("a foot above half of the window", TALL_FOOT),
)
UPRIGHT: ViewportSize = {"width": 360, "height": 740}
LOOKS = (
    Look("light", UPRIGHT),
    Look("dark", UPRIGHT, scheme="dark"),
    Look("320", {"width": 320, "height": 640}),
    Look("landscape", {"width": 740, "height": 360}),
    Look("200", UPRIGHT, letters="225%"),
)


@dataclass
class Sheets:
    """Pictures of screens in every look, and what is wrong with them."""

    folder: Path
    wrong: list[str] = field(default_factory=list)
    taken: dict[str, list[Path]] = field(default_factory=dict)

    def look(self, page: Page, screen: str) -> None:
        """The screen that is shown, in every look, as a person sees it first."""
        for each in LOOKS:
            page.set_viewport_size(each.size)
            page.emulate_media(color_scheme=each.scheme, reduced_motion="reduce")
            page.evaluate("letters => { document.documentElement.style.fontSize = letters; }", each.letters)
            self._check(page, f"{screen}, {each.name}")
            path = self.folder / f"{each.name}-{len(self.taken.get(each.name, [])):02}-{screen}.png"
            page.screenshot(path=path)
            self.taken.setdefault(each.name, []).append(path)
        page.evaluate("() => { document.documentElement.style.fontSize = ''; }")
        page.set_viewport_size(UPRIGHT)
        page.emulate_media(color_scheme="light", reduced_motion="reduce")

    def _check(self, page: Page, where: str) -> None:
        for fault, script in FAULTS:
            if found := found_at_rest(page, script):
                self.wrong.append(f"{where}: {fault}: {found}")
        for each in Axe().run(page).response["violations"]:
            self.wrong.append(f"{where}: axe: {each['id']} ({len(each['nodes'])})")

    def bind(self) -> None:
        """One sheet for each look."""
        for name, paths in self.taken.items():
            pictures = [Image.open(path).convert("RGB") for path in paths]
            heights = [round(each.height * THUMB_PX / each.width) for each in pictures]
            down = -(-len(pictures) // ACROSS)
            sheet = Image.new("RGB", (ACROSS * (THUMB_PX + 8), down * (max(heights) + 8)), "grey")
            for place, (picture, height) in enumerate(zip(pictures, heights, strict=True)):
                at = (place % ACROSS * (THUMB_PX + 8), place // ACROSS * (max(heights) + 8))
                sheet.paste(picture.resize((THUMB_PX, height)), at)
            sheet.save(self.folder / f"sheet-{name}.png")


def _walk(page: Page, sheets: Sheets, taken: Film) -> None:
    """The journey of the test, with a look at each screen that is new in it."""
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("All sent.")).to_be_visible(timeout=60_000)
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.context.set_offline(True)
    home = page.url
    hand = Hand(page)
    expect(page.locator(".room-verdict[data-degree]").first).to_be_visible(timeout=60_000)
    sheets.look(page, "home")
    journey.make_the_floor(hand)
    for number in range(journey.FIRST, journey.FIRST + journey.ROOMS):
        expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(f"{number}$"))
        journey.fill_the_room(hand, number)
        if number < journey.FIRST + 4:
            sheets.look(page, f"room-{number}")
        if number < journey.FIRST + journey.ROOMS - 1:
            journey.on_to_the_next(hand, number)
    taken.end()
    room = page.url
    _forms_of(page, room, sheets)
    page.goto(home)
    page.get_by_role("region", name="Tenth").get_by_role("button", name="Tenth").click()
    page.get_by_role("link", name=re.compile(r"^1001")).scroll_into_view_if_needed()
    sheets.look(page, "rooms")


def _forms_of(page: Page, room: str, sheets: Sheets) -> None:
    page.goto(f"{room}/add")
    expect(page.locator(".tile").first).to_be_visible()
    sheets.look(page, "kinds")
    page.locator(".tile").first.click()
    expect(page.get_by_label("Fixtures", exact=True)).to_be_focused()
    sheets.look(page, "count")
    site = room.split("/room/")[0]
    page.goto(room.replace("/room/", "/record/") + "/size")
    page.get_by_label("Length").first.fill("47 5/")
    sheets.look(page, "half-typed")
    page.goto(site)
    page.locator("a.row[href*='/room/']").first.click()
    page.locator(".group-row a.row").first.click()
    expect(page.locator(".verdict")).to_be_visible()
    sheets.look(page, "group")


class Film:
    """What a page shows while it is walked, as the browser hands it out: a moving picture without any other program."""

    def __init__(self, page: Page) -> None:
        self.frames: list[tuple[float, bytes]] = []
        self.session = page.context.new_cdp_session(page)
        self.session.on("Page.screencastFrame", self._keep)
        self.session.send("Page.startScreencast", {"format": "jpeg", "quality": 60, "maxWidth": 360, "maxHeight": 740})

    def _keep(self, frame: ScreencastFrame) -> None:
        seen_s = frame["metadata"]["timestamp"]
        if not self.frames or seen_s - self.frames[-1][0] >= LEAST_MS / 1000:
            self.frames.append((seen_s, base64.b64decode(frame["data"])))
        self.session.send("Page.screencastFrameAck", {"sessionId": frame["sessionId"]})

    def end(self) -> None:
        self.session.send("Page.stopScreencast")

    def save(self, path: Path) -> None:
        """Each frame for as long as it stood there, two seconds at most."""
        times = [seen_s for seen_s, _ in self.frames]
        stood = [min(MOST_MS, round(1000 * (then - now))) for now, then in pairwise([*times, times[-1] + 1])]
        pictures = [_upright(Image.open(io.BytesIO(jpeg))) for _, jpeg in self.frames]
        pictures[0].save(path, save_all=True, append_images=pictures[1:], duration=stood, loop=0, quality=50, method=0)


def _upright(picture: Image.Image) -> Image.Image:
    """The picture in the size of the film: while a screen is looked at in other sizes, they are shown smaller."""
    sheet = Image.new("RGB", (UPRIGHT["width"], UPRIGHT["height"]), "grey")
    picture.thumbnail(sheet.size)
    sheet.paste(picture)
    return sheet


def film(browser: Browser, folder: Path) -> list[str]:
    """Walk the floor; what is wrong with its screens, nothing if all is well."""
    sheets = Sheets(folder)
    with tempfile.TemporaryDirectory() as made:
        server = Server(Path(made) / "demo").start()
        try:
            page = sign_in(browser.new_context(**PHONE).new_page(), server.url, "surveyor")
            taken = Film(page)
            _walk(page, sheets, taken)
            page.context.close()
        finally:
            server.stop()
    taken.save(folder / "floor.webp")
    sheets.bind()
    return sheets.wrong


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.film", description=__doc__)
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=machine.chromium(), args=machine.CHROMIUM_ARGS, slow_mo=SMOOTH_MS
        )
        wrong = film(browser, folder)
        browser.close()
    print("\n".join(wrong) or "nothing hangs over an edge, all can be hit, axe finds nothing")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
