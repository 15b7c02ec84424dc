"""A demo building whose fixtures have labels and whose first release is out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import scanner_kept, sign_in
from tests.support.kept_page import page_is_kept
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

Json = Any


@dataclass(frozen=True)
class Fixture:
    """One fixture with a label, and the conversion that is released for it, if any."""

    site: str
    group: str
    position: int
    code: str
    conversion: dict[str, Json] | None
    room: str = ""

    @property
    def path(self) -> str:
        return f"/s/{self.site}/fixture/{self.group}/{self.position}"


def is_one_of_a_pair(fixture: Fixture) -> bool:
    """Whether it shares its ballast with another body: then both are done at once."""
    return fixture.conversion is not None and "partner" in fixture.conversion["frozen"]


def value(record: Json, facet: str) -> Json:
    return record["facets"].get(facet, {}).get("value", {})


def records(server: Server, name: str = "manager") -> list[dict[str, Json]]:
    """All that somebody may read of the site, as a phone pulls it."""
    client = Client(server.url, name)
    found: list[dict[str, Json]] = client.get(f"/api/sites/{client.site_id()}/pull?since=0&limit=5000")["records"]
    return found


def installations(server: Server, fixture: Fixture) -> list[dict[str, Json]]:
    """What was noted on a fixture, as the manager reads it."""
    return [
        value(record, "identity")
        for record in records(server)
        if record["type"] == "installation"
        and record["parent"] == fixture.group
        and value(record, "identity")["position"] == fixture.position
    ]


@pytest.fixture(scope="module")
def labelled(server: Server) -> dict[str, list[Fixture]]:
    """Labelled fixtures, `released` and `waiting` ones: the first of each group, then the second of each, and so on.

    Of those with the same position the ones that share a ballast with a neighbour come last: they are done in pairs.
    """
    client = Client(server.url, "manager")
    site = client.site_id()
    assert client.call("POST", f"/api/sites/{site}/labels", {})[0] == 201
    assert release_seen(client, site, "first floor first")[0] == 201
    everything = records(server)
    conversions = {r["parent"]: value(r, "identity") for r in everything if r["type"] == "conversion"}
    rooms = {r["id"]: r["parent"] for r in everything if r["type"] == "group"}
    fixtures = [
        Fixture(
            site,
            bound["group"],
            bound["position"],
            value(record, "identity")["code"],
            conversions.get(bound["group"]),
            rooms[bound["group"]],
        )
        for record in everything
        if record["type"] == "label" and (bound := value(record, "binding"))
    ]
    fixtures.sort(key=lambda each: (each.position, is_one_of_a_pair(each), each.group))
    return {
        "released": [each for each in fixtures if each.conversion],
        "waiting": [each for each in fixtures if not each.conversion],
    }


@pytest.fixture
def crew_phone(server: Server, labelled: dict[str, list[Fixture]], new_phone: Callable[..., BrowserContext]) -> Page:
    """A crew's phone with the site on it, out of reach of any signal."""
    return out_of_reach(sign_in(new_phone().new_page(), server.url, "crew"))


def out_of_reach(page: Page, scans: bool = True) -> Page:
    """Open the site, wait until it is on the phone, its scanner too if it scans, and lose the network."""
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    page_is_kept(page)
    if scans:
        scanner_kept(page)
    page.context.set_offline(True)
    return page


def back_in_reach(page: Page) -> None:
    page.context.set_offline(False)
    expect(page.get_by_text("All sent.")).to_be_visible()
