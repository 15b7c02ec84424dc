"""The measuring screen in the hand: few strokes, nothing under the foot, a caution once a day, a tape that types."""

from __future__ import annotations

import re
from dataclasses import dataclass

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page, expect
from tests.open_points.complete_site import CompleteSite
from tests.support.looks import BEYOND, found_at_rest
from tests.surveying.at_a_group import Opened, at, to_pad

UPRIGHT = [(width, height) for width in (320, 360, 412) for height in (640, 740)]
ACROSS = [(640, 360), (740, 360)]
DESK = [(1280, 800)]
FIRST_READING_MOST, FURTHER_READING_MOST = 6, 4
"""Taps and keys that a reading may take: the first one from its room, and each after it."""

NEEDED = (".place-line", ".reading-field", ".told", ".live", ".keys", ".save")
"""All that a reading needs, by its place on the screen; a question stands in the place of the keys."""
HIDDEN = """(needed) => {
  const foot = document.querySelector('.foot').getBoundingClientRect();
  const head = document.querySelector('.top').getBoundingClientRect();
  return needed.map((each) => {
    const at = document.querySelector(each)?.getBoundingClientRect();
    if (!at || !at.height) return `${each} is not there`;
    const lies = at.top >= head.bottom - 1 && at.bottom <= foot.top + 1 && at.left >= 0 && at.right <= innerWidth;
    return lies ? '' : `${each} from ${at.top} to ${at.bottom}, the foot at ${foot.top}`;
  }).filter(Boolean);
}"""
SMALL_KEYS = """() => [...document.querySelectorAll('.reader :is(button, input)')]
  .map((each) => [each.textContent, each.getBoundingClientRect()])
  .filter(([, at]) => at.width < 40 || at.height < 40).map(([text]) => text)"""
COVERED = """() => {
  const foot = document.querySelector('.foot').getBoundingClientRect();
  const controls = [...document.querySelectorAll('main :is(button, input, a, summary)')];
  return controls.filter((each) => each.checkVisibility()).filter((each) => {
    each.scrollIntoView({ block: 'end' });
    const at = each.getBoundingClientRect();
    return at.height && (at.bottom > foot.top + 1 || at.left < -1 || at.right > innerWidth + 1);
  }).map((each) => each.outerHTML.slice(0, 80));
}"""
SPEECH = """(told) => {
  window.heard = [];
  window.SpeechRecognition = class {
    static async available({ processLocally }) { return processLocally ? told : 'available'; }
    get processLocally() { return this.local ?? false; }
    set processLocally(value) { this.local = value; }
    start() {
      const said = window.heard.shift();
      if (!this.local) throw new Error('the voice would leave the device');
      setTimeout(() => said ? this.onresult({ results: [[{ transcript: said }]] }) : this.onend(), 0);
    }
    abort() {}
  };
  speechSynthesis.getVoices = () => [{ localService: true, lang: 'en-US' }];
  window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
  speechSynthesis.speak = (words) => { document.body.dataset.read = words.text; setTimeout(() => words.onend(), 0); };
}"""
"""A browser that understands speech on the device, played: Chromium without a head has no microphone."""


@dataclass
class Thumb:
    """Taps what is in view, and counts: what would have to be scrolled to fails."""

    page: Page
    count: int = 0

    def tap(self, what: Locator) -> None:
        expect(what).to_be_visible()
        box = what.bounding_box()
        foot = self.page.locator(".foot").bounding_box()
        assert box
        assert foot
        assert box["y"] >= 0, "it has to be scrolled to"
        if not what.evaluate("each => each.closest('.foot') !== null"):
            assert box["y"] + box["height"] <= foot["y"] + 1, "it lies under the foot"
        what.tap()
        self.count += 1

    def press(self, *names: str) -> None:
        for name in names:
            self.tap(self.page.get_by_role("button", name=name, exact=True))


def test_the_first_reading_takes_six_taps_from_the_room_and_each_further_one_four_without_a_swipe(
    site: CompleteSite, opened: Opened
) -> None:
    page = opened(f"/room/{site.room}")
    thumb = Thumb(page)
    thumb.tap(page.get_by_role("link", name=re.compile("^K1")).first)
    thumb.tap(page.get_by_role("link", name="Read a cavity"))
    thumb.press("4", "7", "5/16", "Save this reading")
    expect(page.get_by_text("47 5/16 is saved.")).to_be_visible()
    first, thumb.count = thumb.count, 0
    thumb.press("4", "7", "1/4", "Save this reading")
    expect(page.get_by_text("47 1/4 is saved.")).to_be_visible()
    further, thumb.count = thumb.count, 0
    thumb.press("Begin with 47", "3/8", "Save this reading")
    expect(page.get_by_text("47 3/8 is saved.")).to_be_visible()
    print(f"taps and keys: first reading from the room {first}, further {further}, beginning as the last {thumb.count}")
    assert first <= FIRST_READING_MOST
    assert further <= FURTHER_READING_MOST
    assert thumb.count < further


def assert_all_in_view(page: Page, needed: tuple[str, ...], state: str) -> None:
    for each in needed:
        expect(page.locator(each).first).to_be_visible()
    for width, height in UPRIGHT + ACROSS + DESK:
        page.set_viewport_size({"width": width, "height": height})
        assert found_at_rest(page, HIDDEN, list(needed)) == [], f"{state} at {width} x {height}"
        assert page.evaluate(SMALL_KEYS) == [], f"{state} at {width} x {height}"
        assert page.evaluate(BEYOND) == [], f"{state} at {width} x {height}"


def test_nothing_that_a_reading_needs_lies_under_the_foot_in_any_state(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    expect(page.get_by_text("Working offline.")).to_be_visible()
    asked = tuple(each if each != ".keys" else ".asked" for each in NEEDED)
    with_caution = (".place-line", ".reading-field", ".reader-caution", ".keys", ".save")
    thumb = Thumb(page)
    assert_all_in_view(page, with_caution, "the caution open")
    thumb.press("4")
    assert_all_in_view(page, NEEDED, "digits")
    thumb.press("7", "5/16")
    assert_all_in_view(page, NEEDED, "a reading with its verdict")
    thumb.press("Save this reading")
    expect(page.get_by_text("47 5/16 is saved.")).to_be_visible()
    thumb.press("Begin with 47")
    assert_all_in_view(page, NEEDED, "the second reading")
    page.get_by_label("Cavity length").fill("47 1/3")
    thumb.press("Save this reading")
    expect(page.get_by_role("alert")).to_contain_text("is on no tape")
    assert_all_in_view(page, NEEDED, "no length")
    page.get_by_label("Cavity length").fill("48 1/4")
    thumb.press("Save this reading")
    expect(page.get_by_role("alert")).to_contain_text("Did the tape start at 1?")
    assert_all_in_view(page, asked, "a question")
    thumb.press("Type it again")
    page.get_by_label("Cavity length").fill("1200 mm")
    thumb.press("Save this reading")
    expect(page.get_by_role("alert")).to_contain_text("That is in millimetres")
    assert_all_in_view(page, asked, "which tape")
    thumb.press("tape class II, 1 mm")
    expect(page.get_by_text("1200 mm is saved.")).to_be_visible()
    thumb.press("Undo")
    expect(page.get_by_text("Taken back.")).to_be_visible()
    assert_all_in_view(page, NEEDED, "taken back")


def test_with_letters_twice_as_large_and_in_the_dark_nothing_is_covered_or_unreadable(
    site: CompleteSite, opened: Opened
) -> None:
    page = opened(f"/group/{site.group}/read")
    page.emulate_media(color_scheme="dark", reduced_motion="reduce")
    page.get_by_label("Cavity length").fill("48 1/4")
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_role("alert")).to_be_visible()
    asked = Axe().run(page)
    assert asked.violations_count == 0, asked.generate_report()
    page.get_by_role("button", name="Type it again").click()
    fractions = Axe().run(page)
    assert fractions.violations_count == 0, fractions.generate_report()
    page.evaluate("() => { document.documentElement.style.fontSize = '225%'; }")
    for width, height in [(320, 640), (360, 740), (740, 360)]:
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate(BEYOND) == [], (width, height)
        assert found_at_rest(page, COVERED) == [], (width, height)


def test_the_caution_stands_open_until_the_first_key_of_the_day_and_can_be_opened_again(
    site: CompleteSite, opened: Opened
) -> None:
    page = opened(f"/group/{site.group}/read")
    caution = page.locator(".reader-caution")
    expect(caution).to_contain_text("prove it dead")
    page.get_by_role("button", name="4", exact=True).tap()
    expect(caution).to_have_count(0)
    at(page, site, f"/group/{site.group}")
    to_pad(page, site)
    expect(page.get_by_role("button", name="Save this reading")).to_be_visible()
    expect(caution).to_have_count(0)
    page.get_by_role("button", name="Caution").tap()
    expect(caution).to_contain_text("prove it dead")


def test_a_tape_that_types_like_a_keyboard_needs_no_field_and_its_enter_saves(
    site: CompleteSite, opened: Opened
) -> None:
    page = opened(f"/group/{site.group}/read")
    expect(page.get_by_role("button", name="Save this reading")).to_be_visible()
    page.keyboard.type("47 5/16")
    expect(page.get_by_label("Cavity length")).to_have_value("47 5/16")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Fixture 1: 47 5/16 is saved.")).to_be_visible()
    page.get_by_role("button", name="One after").tap()
    page.keyboard.type("47.25")
    page.keyboard.press("Enter")
    expect(page.get_by_text("47.25 is saved.")).to_be_visible()
    page.keyboard.type("48 1/4")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("Did the tape start at 1?")
    page.keyboard.type("47")
    expect(page.get_by_label("Cavity length")).to_have_value("47")
    expect(page.get_by_role("alert")).to_have_count(0)


def test_a_reading_that_is_said_is_read_back_and_saved_by_a_yes_only(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}")
    page.evaluate(SPEECH, "available")
    page.get_by_role("link", name="Read a cavity").click()
    page.evaluate("window.heard = ['47 and five sixteenths', 'no']")
    page.get_by_role("button", name="Say it").click()
    expect(page.locator("body")).to_have_attribute("data-read", "47 and 5 sixteenths inches")
    expect(page.get_by_role("button", name="Say it")).to_be_visible()
    expect(page.get_by_label("Cavity length")).to_have_value("")
    page.evaluate("window.heard = ['47 and five sixteenths', 'well']")
    page.get_by_role("button", name="Say it").click()
    expect(page.get_by_role("alert")).to_contain_text("Heard: 47 5/16.")
    expect(page.locator(".saved")).to_have_count(0)
    page.get_by_role("button", name="Yes, save 47 5/16").click()
    expect(page.get_by_text("Fixture 1: 47 5/16 is saved.")).to_be_visible()
    page.evaluate("window.heard = ['47 and a quarter', 'yes']")
    page.get_by_role("button", name="Say it").click()
    expect(page.get_by_text("47 1/4 is saved.")).to_be_visible()


def test_saying_a_reading_is_off_where_the_voice_would_leave_the_device(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}")
    page.evaluate(SPEECH, "downloadable")
    page.get_by_role("link", name="Read a cavity").click()
    expect(page.get_by_text("what understands your language is not on this device")).to_be_attached()
    expect(page.get_by_role("button", name="Say it")).to_have_count(0)
