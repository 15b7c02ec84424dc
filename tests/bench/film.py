"""A floor of twelve rooms walked without a signal, filmed; and sheets of its screens, each looked at by geometry and axe.

`python -m tests.bench.film FOLDER` writes `floor.webm`, a picture of each screen in each look, and one sheet for each look;
it ends with 1 where something hangs over an edge, cannot be hit, or is a fault that axe knows.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Error, Page, ViewportSize, expect, sync_playwright

from tests.conftest import PHONE, sign_in
from tests.journey import test_a_floor_of_twelve_rooms as journey
from tests.support import machine
from tests.support.looks import BEYOND, BROKEN, SMALL, TALL_FOOT, found_at_rest
from tests.support.server import Server
from tests.surveying.hand import Hand

SMOOTH_MS = 60
"""A pause after each tap, so that the film can be followed."""
ACROSS, THUMB_PX = 6, 300


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


def _walk(page: Page, sheets: Sheets) -> None:
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


def _filmed(browser: Browser, folder: Path) -> Page:
    """A phone's page that is filmed; where Playwright's own film maker is not installed, one that is not."""
    try:
        return browser.new_context(**PHONE, record_video_dir=folder, record_video_size=UPRIGHT).new_page()
    except Error as error:
        if "ffmpeg" not in str(error):
            raise
        print("no film: 'playwright install ffmpeg' brings what makes it; the pictures are made all the same")
        return browser.new_context(**PHONE).new_page()


def film(browser: Browser, folder: Path) -> list[str]:
    """Walk the floor; what is wrong with its screens, nothing if all is well."""
    sheets = Sheets(folder)
    with tempfile.TemporaryDirectory() as made:
        server = Server(Path(made) / "demo").start()
        try:
            page = sign_in(_filmed(browser, folder), server.url, "surveyor")
            _walk(page, sheets)
            page.context.close()
            if page.video:
                page.video.save_as(folder / "floor.webm")
                page.video.delete()
        finally:
            server.stop()
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
