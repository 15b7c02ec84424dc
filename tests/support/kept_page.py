"""Whether a phone has kept the page, so that it opens without a signal."""

from __future__ import annotations

from playwright.sync_api import Page

READY = "() => navigator.serviceWorker.ready.then(() => true)"


def page_is_kept(page: Page) -> Page:
    """Wait until the service worker runs; fails where there is none, as `page.evaluate` would wait for ever."""
    page.wait_for_function(READY)
    return page
