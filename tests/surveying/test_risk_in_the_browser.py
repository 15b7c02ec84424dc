"""Beside a group's verdict stands what may still go wrong: how many cavities could be shorter, and what a misfit costs."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Server

pytestmark = pytest.mark.keeps_page(False)

FIND_GROUP = """async ([room, mark]) => {
  const { store } = await import('/app/store/store.js');
  const site = await store.openSite(store.sites()[0].id);
  const kinds = new Map((await site.all('kind')).map((kind) => [kind.id, kind.facets.identity.mark]));
  for (const group of await site.all('group')) {
    const { number } = (await site.get(group.parent)).facets.identity;
    if (number === room && kinds.get(group.facets.identity.kind) === mark) return `/s/${site.id}/group/${group.id}`;
  }
}"""


def to_group(server: Server, page: Page, person: str, room: str, mark: str) -> Page:
    sign_in(page, server.url, person)
    page.get_by_role("link", name="Cannery").first.click()
    # All of the site is on the phone when the last floor is, and nothing is waiting.
    expect(page.get_by_role("link", name=room).first).to_be_visible()
    page.wait_for_function(FIND_GROUP, arg=[room, mark])
    page.goto(server.url + page.evaluate(FIND_GROUP, [room, mark]))
    page.wait_for_selector(".best-fit")
    return page


def test_who_may_see_money_is_told_how_many_could_be_shorter_and_what_a_misfit_costs(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = to_group(server, new_phone().new_page(), "surveyor", "P02", "K11")
    best = page.locator(".best-fit")
    # 72 cavities, 5 read: D = 31 by the hypergeometric distribution.
    expect(best).to_contain_text("up to 31 of the other 67 could still be shorter than the shortest read, 95 % sure")
    # A platform for a day 240.00, a bar 13.80, 5 minutes at 68 an hour 5.67.
    expect(best).to_contain_text("One bar that does not go in would cost USD 259.47")
    best.get_by_text("would cost USD").click()
    expect(best.get_by_text("Access platform, one more day")).to_be_visible()
    expect(best.get_by_text("USD 240.00")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)


def test_who_may_not_see_money_is_told_in_words(server: Server, new_phone: Callable[..., BrowserContext]) -> None:
    page = to_group(server, new_phone().new_page(), "crew", "P02", "K11")
    best = page.locator(".best-fit")
    expect(best).to_contain_text(
        "costs a second visit: the access platform for one more day, another bar, and the time to fit it"
    )
    expect(best).not_to_contain_text("USD")


def test_measuring_more_says_what_it_would_buy(server: Server, new_phone: Callable[..., BrowserContext]) -> None:
    page = to_group(server, new_phone().new_page(), "surveyor", "L04", "K20")
    expect(page.locator(".best-fit")).to_contain_text(
        "Measure 3 more. Only then can anybody say how much the cavities differ."
    )


def test_the_best_bar_of_a_wet_room_is_one_made_for_it(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = to_group(server, new_phone().new_page(), "surveyor", "U02", "K10")
    expect(page.locator(".best-fit")).to_contain_text("Covered bar for 4 ft T8 sockets, wet places")
    page.get_by_text(re.compile("^Other bars")).click()
    dry = page.locator(".other").filter(has_text="Bar for 4 ft T8 sockets, lit to the ends").first
    expect(dry).to_contain_text("but not for here")
    dry.locator("summary").click()
    expect(dry).to_contain_text("Not for here: it is made for dry places, and the room is wet.")
