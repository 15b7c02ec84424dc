"""What lies over the foot of the window hides nothing: a row that is half below it is scrolled up, by hand or by a key."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect
from tests.conftest import PHONE, WITHOUT_WORKER, open_within, sign_in
from tests.support.looks import COVERED, found_at_rest
from tests.support.server import Server

TARGETS = {"runOnly": {"type": "rule", "values": ["target-size"]}, "resultTypes": ["violations"]}
"""WCAG 2.2, 2.5.8: axe counts what lies half under another control as small, unless that stays while the page is scrolled."""
SIZES = {
    "a phone": (412, 823, ""),
    "a small phone": (320, 568, ""),
    "a phone on its side": (740, 360, ""),
    "letters twice as large": (360, 740, "225%"),
    "a desk": (1280, 800, ""),
}
# How far the end of what is read lies below the foot's upper edge once the page is scrolled to its end: below zero it is clear.
UNDER_AT_THE_END = """() => {
  scrollTo(0, document.documentElement.scrollHeight);
  const last = [...document.querySelectorAll('main > *')].map((each) => each.getBoundingClientRect().bottom);
  return Math.max(...last) - document.querySelector('.foot').getBoundingClientRect().top;
}"""
# Until nothing has moved for a while: what a window of another size moved is told some frames later.
AT_REST = """() => new Promise((done) => {
  let timer = setTimeout(done, 300);
  new PerformanceObserver(() => { clearTimeout(timer); timer = setTimeout(done, 300); }).observe({ type: 'layout-shift' });
})"""
# What has the focus, and whether the foot lies over any of it.
FOCUSED = """() => {
  const each = document.activeElement.closest('label') ?? document.activeElement;
  if (each === document.body || each.closest('.foot, .skip-link')) return { name: '', hidden: false };
  const foot = document.querySelector('.foot').getBoundingClientRect();
  const at = each.getBoundingClientRect();
  const across = at.right > foot.left && at.left < foot.right;
  return { name: each.textContent.trim().slice(0, 40) || each.tagName, hidden: across && at.bottom > foot.top + 1 };
}"""


@pytest.fixture(scope="module")
def looked_at(server: Server, browser: Browser) -> Iterator[Page]:
    """One phone for all: nothing is entered."""
    context = browser.new_context(**PHONE, **WITHOUT_WORKER)
    page = sign_in(context.new_page(), server.url, "manager")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    yield page
    context.close()


@pytest.fixture
def room(server: Server, looked_at: Page) -> Iterator[Page]:
    page = looked_at
    open_within(page, page.url.split("/room/")[0])
    page.locator("main a[href*='/room/']").first.click()
    expect(page.get_by_text("Surroundings").first).to_be_visible()
    yield page
    page.evaluate("() => { document.documentElement.style.fontSize = ''; }")


def sized(page: Page, size: str) -> Page:
    width, height, letters = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    page.evaluate("letters => { document.documentElement.style.fontSize = letters; }", letters)
    assert found_at_rest(page, f"() => ({COVERED})().covered") == []
    page.evaluate("() => scrollTo(0, 0)")
    return page


@pytest.mark.parametrize("size", SIZES)
def test_a_row_that_lies_half_below_the_foot_is_no_small_target(room: Page, size: str) -> None:
    page = sized(room, size)
    rows = page.locator("main .row")
    for row in range(rows.count()):
        rows.nth(row).evaluate(
            """row => scrollBy(0, row.getBoundingClientRect().top + 18 - document.querySelector('.foot').getBoundingClientRect().top)"""
        )
        found = Axe().run(page, options=TARGETS)
        assert found.violations_count == 0, f"row {row}: {found.generate_report()}"
    assert rows.count() > 1


@pytest.mark.parametrize("size", SIZES)
def test_the_end_of_a_page_is_read_above_the_foot(room: Page, size: str) -> None:
    page = sized(room, size)
    assert page.evaluate(UNDER_AT_THE_END) <= 0
    page.get_by_role("button", name="Duplicate the last group").hover(trial=True)


@pytest.mark.parametrize("size", SIZES)
def test_what_a_key_goes_to_never_hides_under_the_foot(room: Page, size: str) -> None:
    page = sized(room, size)
    page.locator("h1").focus()
    been: list[str] = []
    for _ in range(60):
        page.keyboard.press("Tab")
        now = page.evaluate(FOCUSED)
        assert not now["hidden"], f"{now['name']} after {been}"
        been.append(now["name"])
    assert len(set(been)) > 5


def test_a_foot_above_half_of_the_window_stands_at_the_end_of_the_page(room: Page) -> None:
    """As in a page that is enlarged four times (WCAG 2.2, 1.4.10: 320 by 256)."""
    page = sized(room, "a phone")
    over = page.locator(".foot").bounding_box()
    page.set_viewport_size({"width": 320, "height": 256})
    page.wait_for_function("() => document.querySelector('.foot').getBoundingClientRect().top > innerHeight")
    page.set_viewport_size({"width": 412, "height": 823})
    page.wait_for_function("() => document.querySelector('.foot').getBoundingClientRect().bottom <= innerHeight")
    assert page.locator(".foot").bounding_box() == over


@pytest.mark.parametrize("size", SIZES)
def test_what_the_foot_asks_is_in_sight_however_much_it_asks(room: Page, size: str) -> None:
    """As it does of a room that is closed with points still open: 440 px of what they are."""
    page = sized(room, size)
    page.locator(".foot").scroll_into_view_if_needed()  # where a thumb has to tap it first
    page.evaluate("""() => {
      const asked = document.createElement('p');
      asked.style.height = '440px';
      asked.textContent = 'Asked';
      document.querySelector('.foot').prepend(asked);
    }""")
    expect(page.get_by_text("Asked", exact=True)).to_be_in_viewport()
    page.evaluate("() => document.querySelector('.foot > p').remove()")


def test_no_room_is_left_for_the_foot_on_paper(room: Page) -> None:
    page = sized(room, "a desk")
    page.emulate_media(media="print")
    ends = page.evaluate(
        "() => ['main', '.page'].map(each => document.querySelector(each).getBoundingClientRect().bottom)"
    )
    page.emulate_media(media="screen")
    assert ends[0] == ends[1]


def test_nothing_is_measured_to_move_when_a_short_page_grows_over_its_foot(room: Page) -> None:
    page = sized(room, "a phone")
    watch = """() => {
      window.moved = [];
      new PerformanceObserver((list) => moved.push(...list.getEntries().map(({ value }) => value))).observe({ type: 'layout-shift' });
    }"""
    page.evaluate(AT_REST)
    page.evaluate(watch)
    # Not taken out: what the page draws anew meanwhile would put it back, and that moves.
    page.evaluate("""() => {
      const short = new CSSStyleSheet();
      short.replaceSync('main > :not(.tall) { display: none !important; }');
      document.adoptedStyleSheets.push(short);
    }""")
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    page.evaluate("() => { moved.length = 0; }")
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
    page.evaluate("""() => {
      const tall = document.createElement('div');
      tall.className = 'tall';
      tall.style.height = '3000px';
      document.querySelector('main').append(tall);
    }""")
    page.evaluate(
        "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 50))))"
    )
    assert page.evaluate("moved") == []
    page.evaluate("() => { document.querySelector('.tall').remove(); document.adoptedStyleSheets.pop(); }")
