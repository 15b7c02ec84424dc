"""A phone with a site on it, driven through the page's own store. What hangs on the loose page is in `test_loose_page.py`."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page
from tests.conftest import WAIT_S, module
from tests.support.kept_page import page_is_kept
from tests.support.server import PASSWORD, Server

STORE = module("store/store.js")
OPEN = """async ({ name, password }) => {
  const { store } = await STORE;
  window.store = store;
  if (store.person?.name !== name) await store.signIn(name, password);
  window.site = await store.openSite(store.sites()[0].id);
  await store.syncNow();
  return window.site.id;
}""".replace("STORE", STORE)
RESUME = """async () => {
  const { store } = await STORE;
  window.store = store;
  window.site = await store.openSite(store.sites()[0].id);
}""".replace("STORE", STORE)


def ready(page: Page) -> None:
    page.wait_for_selector("body[data-ready]", state="attached")


def controlled(page: Page) -> None:
    """Wait until the service worker has the whole page and answers for it."""
    page_is_kept(page)
    page.evaluate(
        "() => navigator.serviceWorker.controller || new Promise(done =>"
        " navigator.serviceWorker.addEventListener('controllerchange', () => done(), { once: true })).then(() => null)"
    )


def resume(page: Page) -> None:
    """Take the page's store up again after a reload."""
    ready(page)
    page.evaluate(RESUME)


def status(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate("store.status")
    return found


def all_sent(page: Page) -> bool:
    """Whether nothing is only on this phone, and nothing is in the way. (The demo has a conflict to settle.)"""
    now = status(page)
    return now["state"] in ("sent", "conflict") and now["unsent"] + now["photos"] == 0


def until(page: Page, expression: str, seconds: float = WAIT_S) -> None:
    """Wait for an expression to hold. (Playwright's own wait needs `eval`, which the page's policy forbids.)"""
    end = time.monotonic() + seconds
    while not page.evaluate(expression):
        assert time.monotonic() < end, f"never true: {expression}"
        page.wait_for_timeout(50)


def until_sent(page: Page, seconds: float = WAIT_S) -> None:
    """Wait until all is sent. The network that comes back starts a sync of its own, and one asked for may join it late."""
    end = time.monotonic() + seconds
    while not all_sent(page):
        assert time.monotonic() < end, f"never all sent: {status(page)}"
        page.wait_for_timeout(50)


def save_note(page: Page, name: str) -> str:
    """Save a new floor; its id, once it is on the disk."""
    found: str = page.evaluate(
        """async (name) => {
          const record = site.newId();
          await site.save([{ record, type: 'floor', facet: 'identity', value: { parent: site.id, name }, seen: null }]);
          return record;
        }""",
        name,
    )
    return found


def with_the_site(context: BrowserContext, url: str, name: str = "surveyor") -> Page:
    """A page of somebody who has signed in, opened the site, and may go offline."""
    page = context.new_page()
    page.goto(url + "/")
    ready(page)
    page.evaluate(OPEN, {"name": name, "password": PASSWORD})
    controlled(page)
    return page


@pytest.fixture
def surveyor_phone(server: Server, new_phone: Callable[..., BrowserContext]) -> Page:
    """A surveyor's phone with the demo site on it and the page kept for offline use."""
    return with_the_site(new_phone(), server.url)
