"""The developer's switch: no worker keeps the page in that browser, until the switch is taken back."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import BrowserContext, Page
from tests.phone.conftest import until
from tests.support.server import Server

KEPT = "async () => (await navigator.serviceWorker.getRegistrations()).length === 1"
NOT_KEPT = """async () =>
  (await navigator.serviceWorker.getRegistrations()).length + (await caches.keys()).length === 0"""


def opened(page: Page, address: str) -> Page:
    page.goto(address)
    page.locator("body[data-ready]").wait_for()
    return page


def test_a_developers_browser_has_no_worker_until_the_switch_is_taken_back(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = opened(new_phone().new_page(), server.url + "/sign-in")
    until(page, KEPT)
    opened(page, server.url + "/sign-in?developing=yes")
    until(page, NOT_KEPT)
    opened(page, server.url + "/sign-in")
    until(page, NOT_KEPT)
    opened(page, server.url + "/sign-in?developing=no")
    until(page, KEPT)
