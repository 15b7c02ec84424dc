"""The hand's share, in real Chromium at a quarter of the speed: twelve rooms walked with 20,000 groups on the phone."""

from __future__ import annotations

import os
import statistics
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, CDPSession, Page, expect, sync_playwright

from tests.bench import thread_time
from tests.bench.figure import Figure
from tests.conftest import PHONE
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import as_pushed, store
from tests.support import machine
from tests.support.installation import PASSWORD, installed
from tests.support.kept_page import page_is_kept
from tests.support.server import Server

GROUPS = 20_000
FEW_GROUPS = 12
ROOMS = 12
SLOWED = 4
WANTED_MS = 100
OPENING_MOST = 1.5
TRACED_ROOMS = 5
"""Walked on after the others, under a trace, which itself costs a little."""
BARE_TAPS = 5
"""On the bare page, for each room of the others."""
PULLED_MS = 900_000
LOOKS_MS = 400
"""Between two taps a person looks: what the page does meanwhile holds the next tap up or does not."""
SHORTEST_MS = 16
"""Interactions shorter than this are not told by the browser; they count as this."""

WATCH = f"""() => {{
  window.took = new Map();
  new PerformanceObserver((list) => {{
    for (const entry of list.getEntries())
      if (entry.interactionId)
        window.took.set(entry.interactionId, Math.max(entry.duration, window.took.get(entry.interactionId) ?? 0));
  }}).observe({{ type: 'event', buffered: false, durationThreshold: {SHORTEST_MS} }});
}}"""


@contextmanager
def _phone_with(browser: Browser, folder: Path, groups: int) -> Iterator[tuple[Page, str]]:
    """A surveyor's phone with a whole invented site on it, and the site's address."""
    with installed(folder / "data") as installation:
        store(installation, [as_pushed(each) for each in invented_site(groups)])
    server = Server(folder / "data", command="serve").start()
    context = browser.new_context(**PHONE)
    page = context.new_page()
    try:
        who = {"name": "surveyor", "password": PASSWORD}
        page.context.request.post(f"{server.url}/api/session", data=who, headers={"Sec-Fetch-Site": "same-origin"})
        page.goto(f"{server.url}/s/{installation.site}")
        expect(page.get_by_text("All sent.")).to_be_visible(timeout=PULLED_MS)
        page_is_kept(page)
        context.set_offline(True)
        page.goto(f"{server.url}/s/{installation.site}")
        expect(page.get_by_label("To room number")).to_be_visible(timeout=60_000)
        yield page, f"{server.url}/s/{installation.site}"
    finally:
        context.close()
        server.stop()


class Slowing:
    """Slows one page at a time: the browser slows a page by keeping a processor busy, also while the page itself rests."""

    def __init__(self) -> None:
        self.sessions: dict[Page, CDPSession] = {}

    @contextmanager
    def __call__(self, page: Page) -> Iterator[None]:
        # Of one session: what another one asks for does not end what this one asked for.
        if page not in self.sessions:
            self.sessions[page] = page.context.new_cdp_session(page)
        session = self.sessions[page]
        session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
        page.wait_for_timeout(LOOKS_MS)
        yield
        session.send("Emulation.setCPUThrottlingRate", {"rate": 1})


PRESSED = """([selector, place]) => {
  const found = [...document.querySelectorAll(selector)].at(place);
  const seen = found.getBoundingClientRect();
  if (seen.top < 60 || seen.bottom > innerHeight - 160) found.scrollIntoView({ block: 'center' });
  const { x, y, width, height } = found.getBoundingClientRect();
  return [x + width / 2, y + height / 2];
}"""
SEEN = """([selector, text]) => new Promise((done) => {
  const there = () => [...document.querySelectorAll(selector)].some((each) => each.textContent.includes(text));
  const look = () => there() && (watching.disconnect(), done());
  const watching = new MutationObserver(look);
  watching.observe(document, { subtree: true, childList: true, attributes: true, characterData: true });
  look();
})"""
"""Heard of by what changes: nothing asks again and again while the page is busy, as a locator would."""


class Hand:
    """Taps and types as a person does: one thing, a look, the next; without asking the page anything meanwhile."""

    def __init__(self, page: Page, told: Callable[[str], None] = lambda _: None) -> None:
        self.page = page
        self.told = told

    def tap(self, name: str, selector: str, seen: str, text: str = "", place: int = 0) -> None:
        """Tap what a selector finds, wait until something is there, and look at it."""
        x, y = self.page.evaluate(PRESSED, [selector, place])
        self.told(name)
        self.page.touchscreen.tap(x, y)
        self.page.evaluate(SEEN, [seen, text])
        self.page.wait_for_timeout(LOOKS_MS)

    def type(self, name: str, text: str) -> None:
        self.told(name)
        self.page.keyboard.type(text)
        self.page.wait_for_timeout(LOOKS_MS)


BARE = """<meta name=viewport content='width=device-width'><button style='width:200px;height:60px'>0</button>
<script>document.querySelector('button').onclick = (event) => { event.currentTarget.textContent++ }</script>"""


@contextmanager
def _bare_page(browser: Browser) -> Iterator[Page]:
    """A page with nothing on it but a button that counts: what this machine itself needs from a tap to a paint."""
    context = browser.new_context(**PHONE)
    page = context.new_page()
    page.set_content(BARE)
    page.evaluate(WATCH)
    yield page
    context.close()


def _tap_bare(page: Page) -> None:
    for _ in range(BARE_TAPS):
        page.touchscreen.tap(100, 30)
        page.wait_for_timeout(LOOKS_MS)


def openings_of(page: Page, rooms: int = ROOMS, told: Callable[[str], None] = lambda _: None) -> Iterator[float]:
    """A group added in each room, its count corrected, on by the strip: how long each opening of the next took [ms]."""
    page.evaluate(WATCH)
    hand = Hand(page, told)
    hand.tap("home", ".on-with", ".act a.main")
    for _ in range(rooms):
        hand.tap("add a group", ".act a.main", ".tile")
        hand.tap("kind", ".tile", ".tally input:focus")
        hand.type("count", "8")
        hand.tap("save the group", ".act button.main", ".just-saved button")
        hand.tap("correct", ".group-row .count", "form.card input:focus", place=-1)
        hand.type("correct it", "9")
        hand.tap("save the count", "form.card button.main", ".groups + .saved button")
        hand.tap("surveyed", "input[value=surveyed]", "section .saved span", "Saved: surveyed.")
        told("next room")
        yield float(page.evaluate(NEXT))
        page.wait_for_timeout(LOOKS_MS)


def interactions(page: Page) -> list[float]:
    """All that were told so far, the shortest first [ms]."""
    told: list[float] = page.evaluate("() => [...window.took.values()]")
    return sorted(told) or [float(SHORTEST_MS)]


def _of_a_hundred(took: list[float], share: float) -> float:
    return took[max(0, round(len(took) * share) - 1)]


NEXT = """async () => {
  const next = document.querySelector('.strip a[aria-current] + a');
  const name = next.querySelector('span').textContent.trim();
  const started = performance.now();
  next.click();
  while (!(document.querySelector('h1')?.textContent.includes(name) && document.querySelector('.act')))
    await new Promise((done) => requestAnimationFrame(done));
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  return performance.now() - started;
}"""
"""From the tap on the next room of the strip until it stands there [ms]."""


HOME = (
    """() => import('/app/views/navigate.js').then(({ navigate }) => navigate(location.pathname.split('/room/')[0]))"""
)


def _thread_times(browser: Browser, page: Page) -> list[thread_time.Interaction]:
    """What the page's own thread ran for each interaction of some further rooms, the shortest first [ms]."""

    def told(name: str) -> None:
        page.evaluate("name => void performance.mark(name)", thread_time.MARK + name)

    # Not loaded anew: a page that is loaded is slowed no more.
    page.evaluate(HOME)
    expect(page.get_by_label("To room number")).to_be_visible(timeout=60_000)
    browser.start_tracing(page=page, categories=thread_time.CATEGORIES)
    told("start")
    for _ in openings_of(page, TRACED_ROOMS, told):
        pass
    found = thread_time.interactions_of(browser.stop_tracing())
    return sorted(found, key=lambda each: each.thread_ms)


def twelve_rooms() -> list[Figure]:
    """95 of 100 interactions until the next paint; and opening a room against a site with hardly anything in it.

    Both phones, and a bare page, are walked in turns, room by room, so that a busy machine slows all alike; only the
    one whose turn it is is slowed, as each that is slowed takes a third of a processor from the others. What load
    does not change is what the page's own thread runs for an interaction: that is taken from a trace, of further rooms.
    """
    before = os.getloadavg()
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=machine.chromium(), args=machine.CHROMIUM_ARGS)
        folder = Path(made)
        with (
            _bare_page(browser) as bare,
            _phone_with(browser, folder / "few", FEW_GROUPS * 8) as (empty, _),
            _phone_with(browser, folder / "many", GROUPS) as (full, _),
        ):
            slowed, openings = Slowing(), []
            walked = openings_of(empty), openings_of(full)
            for _ in range(ROOMS):
                with slowed(empty):
                    few = next(walked[0])
                with slowed(full):
                    openings.append((few, next(walked[1])))
                with slowed(bare):
                    _tap_bare(bare)
            of_empty, took, of_bare = interactions(empty), interactions(full), interactions(bare)
            with slowed(full):
                found = _thread_times(browser, full)
        browser.close()
    after = os.getloadavg()
    slow, bare_slow = _of_a_hundred(took, 0.95), _of_a_hundred(of_bare, 0.95)
    notes = (
        f"{len(took)} interactions longer than {SHORTEST_MS} ms, the slowest {took[-1]:.0f} ms, the middle one {statistics.median(took):.0f} ms",
        f"with {FEW_GROUPS * 8} groups 95 in 100 within {_of_a_hundred(of_empty, 0.95):.0f} ms, the middle one {statistics.median(of_empty):.0f} ms",
        f"a bare page with one button, in turns with them: 95 in 100 within {bare_slow:.0f} ms, the middle one {statistics.median(of_bare):.0f} ms",
        f"processor slowed {SLOWED} times, {GROUPS:,} groups on the phone; load {before[0]:.1f} before, {after[0]:.1f} after",
    )
    threads = [each.thread_ms for each in found]
    of_thread = (
        "the slowest: " + ", ".join(f"{each.name} {each.thread_ms:.0f} ms" for each in found[:-6:-1]),
        f"{len(threads)} interactions, the middle one {statistics.median(threads):.0f} ms, the slowest {threads[-1]:.0f} ms; load does not change this",
    )
    return [
        Figure("interaction to next paint, 95 in 100", slow, "what was wanted", WANTED_MS, 1, 1, notes),
        Figure(
            "of it the page's own thread, 95 in 100",
            _of_a_hundred(threads, 0.95),
            "the same",
            WANTED_MS,
            1,
            1,
            of_thread,
        ),
        Figure(
            f"opening a room, {GROUPS:,} groups",
            statistics.median(many for _, many in openings),
            f"a site of {FEW_GROUPS * 8} groups",
            statistics.median(few for few, _ in openings),
            OPENING_MOST,
            ROOMS,
        ),
    ]
