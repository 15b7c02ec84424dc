"""A manager at a desk: a wide window, signed in, the demo building on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from tests.conftest import WITHOUT_WORKER, open_within, sign_in
from tests.support.server import Client, Server

Json = Any
WIDE = {"viewport": {"width": 1280, "height": 900}, "reduced_motion": "reduce", **WITHOUT_WORKER}


@dataclass
class Desk:
    """The desk in a browser, and the same site as a program reads it."""

    page: Page
    url: str
    client: Client
    site: str

    def open(self, screen: str = "") -> Page:
        """Open one of the desk's screens with what the server has now, and wait for what it tells."""
        open_within(self.page, f"{self.url}/s/{self.site}/desk{screen}")
        expect(self.page.get_by_role("heading", level=1)).to_be_visible()
        expect(self.page.get_by_text("Asking the server…")).to_have_count(0)
        expect(self.page.get_by_text("All sent.")).to_be_visible()
        return self.page

    def told(self, what: str) -> Json:
        return self.client.get(f"/api/sites/{self.site}/{what}")

    def records(self, type_: str) -> list[Json]:
        """Live records of a type: `{"id", "parent", facet: value, …}`."""
        pulled = self.told("pull?since=0&limit=5000")["records"]
        return [
            {
                "id": record["id"],
                "parent": record["parent"],
                **{name: facet["value"] for name, facet in record["facets"].items()},
            }
            for record in pulled
            if record["type"] == type_ and not record["removed"]
        ]


def desk_of(server: Server, page: Page, name: str) -> Desk:
    """Sign a person in and wait until the site is on the device."""
    client = Client(server.url, name)
    sign_in(page, server.url, name)
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    return Desk(page, server.url, client, client.site_id())


@pytest.fixture
def new_desk(server: Server, browser: Browser) -> Any:
    """Makes desks of people on the module's server: `new_desk("manager")`."""
    made: list[BrowserContext] = []

    def make(name: str = "manager", at: Server = server, **more: Any) -> Desk:
        made.append(browser.new_context(**{**WIDE, **more}))
        return desk_of(at, made[-1].new_page(), name)

    yield make
    for context in made:
        context.close()


NewDesk = Callable[..., Desk]
