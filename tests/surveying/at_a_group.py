"""What tests of a group's screens share: ways to it, what it shows, and what the server says of the same."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, expect
from tests.conftest import go
from tests.open_points.complete_site import CompleteSite

Opened = Callable[..., Page]


def at(page: Page, site: CompleteSite, path: str) -> Page:
    """At an address of the site. The phone has no signal: nothing is newer than what it has."""
    address = f"/s/{site.hand.site}{path}"
    if page.url.endswith(address):
        page.reload()
        page.wait_for_selector("body[data-ready]", state="attached")
        return page
    return go(page, address)


def to_group(page: Page, site: CompleteSite) -> Page:
    return at(page, site, f"/group/{site.group}")


def to_pad(page: Page, site: CompleteSite) -> Page:
    return at(page, site, f"/group/{site.group}/read")


def send(page: Page) -> None:
    line = page.locator(".sync-line")
    expect(line).not_to_have_attribute("data-unsent", "0")
    page.context.set_offline(False)
    expect(line).to_have_attribute("data-unsent", "0")
    expect(page.get_by_text("All sent.")).to_be_visible()


def verdict(page: Page, told: str) -> None:
    expect(page.locator(".best-fit")).to_have_attribute("data-verdict", told)


def on_server(site: CompleteSite) -> dict[str, Any]:
    """What the server says of the group."""
    found = site.hand.client.get(f"/api/sites/{site.hand.site}/fits")
    return dict(found["groups"][site.group])


def live(site: CompleteSite, type_name: str) -> list[dict[str, Any]]:
    pulled = site.hand.client.get(f"/api/sites/{site.hand.site}/pull?since=0&limit=5000")["records"]
    return [each for each in pulled if each["type"] == type_name and not each["removed"]]


def bar_of(site: CompleteSite) -> dict[str, Any]:
    return next(each for each in live(site, "catalogue_item") if "bar" in each["facets"])
