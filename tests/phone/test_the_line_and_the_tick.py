"""The line at the foot at the very moment of each tick: what was just saved without a signal is never 'All sent.'"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import go, sign_in_on_the_screen
from tests.phone.conftest import save_note, until, with_the_site
from tests.support.server import Server

# What the foot says whenever a tick comes to stand on the screen, and after each save whenever anything on the screen moves:
# it is looked at as soon as the code that moved it has ended, before it is painted.
WATCH = """() => {
  window.ticks = [];
  window.lines = [];
  const foot = () => document.querySelector('.sync-line [role=status]')?.textContent ?? 'no line';
  let saved = false;
  const save = site.storage.save;
  site.storage.save = async (...what) => {
    const ids = await save.apply(site.storage, what);
    saved = true;
    return ids;
  };
  let standing = new Set();
  new MutationObserver(() => {
    if (saved) window.lines.push(foot());
    const now = new Set([...document.querySelectorAll('.saved > span')].map((each) => each.textContent));
    for (const tick of now) if (!standing.has(tick)) window.ticks.push([tick, foot()]);
    standing = now;
  }).observe(document.body, { subtree: true, childList: true, characterData: true });
}"""

# A line that hears of a save a moment later, as one does that counts on the disk first.
LAG = """() => {
  const watchLine = store.watchLine;
  store.watchLine = (listener) => watchLine.call(store, () => setTimeout(listener, 40));
}"""

FALSE = re.compile(r"All sent\.|\b0 not sent|Fetching")
"""What no line may say while something waits."""


HONEST = re.compile(r"\b[1-9]\d* not sent yet\.")

Losing = Callable[[Page], None]


def as_the_phone_knows(page: Page) -> None:
    """The phone has noticed that it has no network."""
    page.context.set_offline(True)
    expect(page.get_by_role("contentinfo")).to_contain_text("Working offline.")


def unnoticed(page: Page) -> None:
    """Nothing is answered, and nothing was asked yet: at rest the phone still says that all is sent."""
    page.context.route("**/api/**", lambda route: route.abort())


def on_the_walk(
    server: Server, new_phone: Callable[..., BrowserContext], lose: Losing, planted: str | None = None
) -> Page:
    """A surveyor's phone at the walk without a signal, on which nothing waits."""
    page = with_the_site(new_phone(), server.url)
    until(page, "store.status.unsent + store.status.photos === 0")
    until(page, "store.status.state !== 'sending'")
    lose(page)
    if planted:
        page.evaluate(planted)
    page.evaluate(WATCH)
    go(page, f"/s/{page.evaluate('site.id')}")
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    return page


def survey(page: Page, tmp_path: Path) -> None:
    """A surveyed room, told twice how far it is and once taken back, and a new room with a photo."""
    page.get_by_role("link", name=re.compile("^U01 ")).click()
    for progress in ("open", "surveyed"):
        page.get_by_role("region", name="Progress").get_by_role("radio", name=progress, exact=True).click()
        expect(page.get_by_text(f"Saved: {progress}.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back.")).to_be_visible()
    page.get_by_role("link", name="Back").click()
    page.get_by_role("link", name="Add a room here").first.click()
    page.get_by_label("Number", exact=True).fill("U91")
    page.get_by_label("Name", exact=True).fill("Twine store")
    page.get_by_role("button", name="Add the room").click()
    expect(page.get_by_role("heading", name="U91 Twine store")).to_be_visible()
    Image.new("RGB", (800, 600), "#0B5563").save(tmp_path / "room.jpg")
    page.get_by_label("Photo of the room").set_input_files(tmp_path / "room.jpg")
    expect(page.get_by_role("img", name="room")).to_be_visible()


def ticks_and_lines(page: Page) -> tuple[list[tuple[str, str]], list[str]]:
    return [tuple(each) for each in page.evaluate("window.ticks")], page.evaluate("window.lines")


@pytest.mark.parametrize("lose", [as_the_phone_knows, unnoticed])
def test_at_each_tick_without_a_signal_the_line_says_how_much_waits(
    lose: Losing, server: Server, new_phone: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    page = on_the_walk(server, new_phone, lose)
    survey(page, tmp_path)
    ticks, lines = ticks_and_lines(page)
    assert [tick for tick, _ in ticks] == [
        "Saved: open.",
        "Saved: surveyed.",
        "Taken back.",
        "U91 Twine store is added.",
        "Saved on this phone.",
    ]
    for tick, line in ticks:
        assert HONEST.search(line), f"at {tick!r} the line said {line!r}"
    assert len(lines) >= 10, "the screen moved after each save, and the line was read then"
    assert [line for line in lines if FALSE.search(line)] == []
    told = page.locator(".sync-line").get_attribute("data-unsent")
    unsent = "site.unsent().then(({ operations, photos }) => operations.length + photos.length)"
    assert int(told or 0) == page.evaluate(unsent), "what was added by each save comes to what is counted"


@pytest.mark.parametrize(("lose", "said"), [(as_the_phone_knows, "Working offline."), (unnoticed, "All sent.")])
def test_a_line_that_hears_of_a_save_late_is_caught_at_the_tick(
    lose: Losing, said: str, server: Server, new_phone: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    page = on_the_walk(server, new_phone, lose, LAG)
    survey(page, tmp_path)
    (tick, line), *_ = ticks_and_lines(page)[0]
    assert (tick, HONEST.search(line)) == ("Saved: open.", None)
    assert said in line


def test_nobody_is_told_that_all_is_sent_where_work_of_somebody_who_signed_out_waits(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = with_the_site(new_phone(), server.url)
    page.route("**/push", lambda route: route.abort())
    save_note(page, "Loft")
    page.evaluate("store.signOut()")
    page.goto(server.url + "/sign-in")
    line = page.get_by_role("contentinfo")
    expect(line).to_contain_text("Nobody is signed in on this phone.")
    sign_in_on_the_screen(page, server.url, "surveyor")
    expect(line).to_have_attribute("data-unsent", "1")
    expect(line).not_to_contain_text("All sent.")


def test_a_site_that_does_not_open_is_not_taken_for_one_that_is_all_sent(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    context = new_phone()
    with_the_site(context, server.url)
    context.add_init_script(
        """const open = indexedDB.open.bind(indexedDB);
        indexedDB.open = (name, version) => {
          if (name.startsWith('spanwalk:')) throw new DOMException('not to be had', 'UnknownError');
          return open(name, version);
        };"""
    )
    page = context.new_page()
    page.goto(server.url + "/")
    expect(page.get_by_role("contentinfo")).to_contain_text("Needs attention (1).")
    expect(page.get_by_role("contentinfo")).to_contain_text("does not open")
