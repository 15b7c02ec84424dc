"""The crew's screens fit a phone, can be hit with a thumb in a glove, and are read by machines, light and dark."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.conftest import PHONE, open_within, sign_in
from tests.installing.conftest import Fixture, out_of_reach
from tests.support.looks import (
    assert_fits_and_can_be_hit_and_read,
    assert_fits_with_letters_twice_as_large,
    assert_nothing_is_covered,
)
from tests.support.server import Server

SCREENS = ("scan", "work", "choose", "released", "waiting", "a code unknown here", "today", "today/picking", "a room")


def path_of(screen: str, labelled: dict[str, list[Fixture]]) -> str:
    fixture = labelled["waiting" if screen == "waiting" else "released"][0]
    if screen == "a code unknown here":
        return "/F/0000016JD"
    if screen == "a room":
        return f"/s/{fixture.site}/today/room/{fixture.room}"
    return fixture.path if screen in labelled else f"/s/{fixture.site}/{screen}"


@pytest.fixture(scope="module")
def looked_at(server: Server, browser: Browser, labelled: dict[str, list[Fixture]]) -> Iterator[Page]:
    """One phone for all screens: nothing is entered."""
    context = browser.new_context(**PHONE)
    yield out_of_reach(sign_in(context.new_page(), server.url, "crew"))
    context.close()


@pytest.mark.parametrize("screen", SCREENS)
def test_a_crew_screen_fits_and_can_be_hit_and_read(
    server: Server, looked_at: Page, labelled: dict[str, list[Fixture]], screen: str
) -> None:
    page = looked_at
    open_within(page, server.url + path_of(screen, labelled))
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    expect(
        page.get_by_role("main").get_by_role("button").or_(page.get_by_role("main").get_by_role("link")).first
    ).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    assert_fits_with_letters_twice_as_large(page)
    assert_nothing_is_covered(page)
