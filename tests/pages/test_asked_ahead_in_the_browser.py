"""What a phone asks for before it knows who is here is only ever taken by whoever it was asked for."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import APIResponse, BrowserContext, Route, expect
from tests.pages.test_first_opening_in_the_browser import until
from tests.support.server import PASSWORD, Client, Server

pytestmark = pytest.mark.keeps_page(False)

SIGN_IN = "async ([name, password]) => { await (await import('/app/store/store.js')).store.signIn(name, password); }"
PRICES = """async (site) => {
  const { store } = await import('/app/store/store.js');
  return (await store.opened.get(site).everything()).filter(({ type }) => type === 'price').length;
}"""


class Answered:
    """Requests that the server has answered, and whose answers are on their way until they are let go."""

    def __init__(self) -> None:
        self.under_way: list[tuple[Route, APIResponse]] = []
        self.free = False

    def __call__(self, route: Route) -> None:
        if self.free:
            route.continue_()
        else:
            self.under_way.append((route, route.fetch()))

    def let_go(self) -> None:
        self.free = True
        for route, answer in self.under_way:
            route.fulfill(response=answer)


@pytest.mark.parametrize(("asked_for", "signs_in"), [("crew", "manager"), ("manager", "crew")])
def test_a_site_asked_for_one_person_is_not_taken_by_another_who_signs_in_meanwhile(
    asked_for: str, signs_in: str, server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    client = Client(server.url, asked_for)
    site = client.site_id()
    page = new_phone().new_page()
    cookies = (each.partition("=") for each in client.cookie.split("; "))
    page.context.add_cookies([{"name": key, "value": value, "url": server.url} for key, _, value in cookies])
    answered = Answered()
    for pattern in ("**/pull?*", "**/api/session/if-any"):
        page.route(pattern, answered)
    page.goto(f"{server.url}/s/{site}")
    until(page, lambda: len(answered.under_way) == 2)
    page.evaluate(SIGN_IN, [signs_in, PASSWORD])
    answered.let_go()
    expect(page.get_by_role("main")).to_contain_text("Undercroft")
    expect(page.get_by_text("All sent.")).to_be_visible()
    assert (page.evaluate(PRICES, site) > 0) == (signs_in == "manager")
