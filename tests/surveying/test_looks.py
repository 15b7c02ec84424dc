"""Every screen of the survey fits a phone, can be hit with a thumb, and is read by machines, light and dark, small and large."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.conftest import PHONE, WITHOUT_WORKER, open_within, sign_in
from tests.support.looks import (
    BROKEN,
    TALL_FOOT,
    assert_fits_and_can_be_hit_and_read,
    assert_fits_with_letters_twice_as_large,
    assert_no_word_is_broken,
    assert_nothing_is_covered,
    found_at_rest,
)
from tests.support.server import Server

PATHS = {
    "the walk": "/s/{site}",
    "a room": "/s/{site}/room/{room}",
    "a new group": "/s/{site}/room/{room}/add",
    "a new floor": "/s/{site}/floor/new",
    "answers for a floor": "/s/{site}/floor/{floor}",
    "another kind": "/s/{site}/record/{group}/change-kind",
    "the kinds": "/s/{site}/kinds",
    "a kind": "/s/{site}/kind/{kind}",
    "a form": "/s/{site}/record/{kind}/housing",
    "the sites": "/",
    "find": "/s/{site}/find?q=store",
    "more": "/s/{site}/more",
    "what is new": "/s/{site}/new",
    "no such page": "/nowhere",
}


@pytest.fixture(scope="module")
def ids() -> dict[str, str]:
    return {}


@pytest.fixture(scope="module")
def looked_at(server: Server, browser: Browser, ids: dict[str, str]) -> Iterator[Page]:
    """One phone for all screens: nothing is entered."""
    context = browser.new_context(**PHONE, **WITHOUT_WORKER)
    opened = sign_in(context.new_page(), server.url, "surveyor")
    opened.get_by_role("link", name="Cannery").click()
    expect(opened.get_by_role("heading", name="Undercroft")).to_be_visible()
    if not ids:
        ids |= opened.evaluate(
            """async () => {
              const { store } = await import('/app/store/store.js');
              const site = await store.openSite(store.sites()[0].id);
              const [group] = await site.all('group');
              const { parent: floor } = await site.get(group.parent);
              return { site: site.id, group: group.id, room: group.parent, floor, kind: group.facets.identity.kind };
            }"""
        )
    yield opened
    context.close()


@pytest.fixture
def tab(looked_at: Page) -> Iterator[Page]:
    """A tab beside it, for what leaves something in the page."""
    opened = looked_at.context.new_page()
    yield opened
    opened.close()


@pytest.mark.parametrize("screen", PATHS)
def test_a_screen_fits_and_can_be_hit_and_read(
    server: Server, looked_at: Page, ids: dict[str, str], screen: str
) -> None:
    page = looked_at
    open_within(page, server.url + PATHS[screen].format(**ids))
    page.wait_for_selector("main", state="attached")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    assert_no_word_is_broken(page)
    assert_fits_with_letters_twice_as_large(page)
    assert_nothing_is_covered(page)


def test_the_foot_with_two_buttons_breaks_no_word_and_leaves_half_of_the_window(
    server: Server, tab: Page, ids: dict[str, str]
) -> None:
    """Without a signal, with work that waits and a newer app: upright, narrow, on its side, with letters twice as large."""
    page = tab
    page.goto(server.url + PATHS["a room"].format(**ids))
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    page.evaluate("async () => (await import('/app/store/store.js')).store.offerUpdate(() => {})")
    page.context.set_offline(True)
    page.get_by_role("button", name="Duplicate the last group").click()
    expect(page.get_by_role("button", name="Update")).to_be_visible()
    expect(page.get_by_role("button", name="Send now")).to_be_visible()
    found = {}
    for width, height, letters in ((320, 740, ""), (360, 740, ""), (740, 360, ""), (360, 740, "225%")):
        page.set_viewport_size({"width": width, "height": height})
        page.evaluate("letters => { document.documentElement.style.fontSize = letters; }", letters)
        look = f"{width} x {height} {letters}"
        found[look] = [found_at_rest(page, BROKEN), found_at_rest(page, TALL_FOOT)]
    page.context.set_offline(False)
    assert {look: faults for look, faults in found.items() if faults != [[], []]} == {}
    assert len(found) == 4


def test_a_kind_that_was_chosen_breaks_no_word(server: Server, tab: Page, ids: dict[str, str]) -> None:
    page = tab
    page.goto(server.url + PATHS["a new group"].format(**ids))
    page.locator(".tile").first.click()
    expect(page.get_by_label("Fixtures", exact=True)).to_be_focused()
    assert_no_word_is_broken(page)
