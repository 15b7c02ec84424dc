"""A room that may be worked in at night only says so where a crew begins: in its day, in the room, at the fixture."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import SYNC, go, sign_in
from tests.installing.conftest import Fixture
from tests.open_points.complete_site import Hand
from tests.support.server import Client, Server

Labelled = dict[str, list[Fixture]]
NIGHTS = {"days": ["monday", "tuesday", "wednesday", "thursday"], "begins": "22:00", "ends": "05:00"}
ALLOWED = "Work is allowed Monday to Thursday from 22:00 to 05:00."
pytestmark = pytest.mark.keeps_page(False)


def open_at(server: Server, record: str, type_name: str, hours: dict[str, object]) -> None:
    client = Client(server.url, "manager")
    hand = Hand(client, client.site_id())
    hand.push(hand.operation(record, type_name, "work_hours", hours, spec=3))


@pytest.mark.parametrize("said_of", ["room", "floor"])
def test_a_crew_reads_when_work_is_allowed_before_it_begins(
    said_of: str, server: Server, labelled: Labelled, new_phone: Callable[..., BrowserContext]
) -> None:
    fixture = labelled["released"][0]
    client = Client(server.url, "manager")
    everything = client.get(f"/api/sites/{fixture.site}/pull?since=0&limit=5000")["records"]
    floor = next(each["parent"] for each in everything if each["id"] == fixture.room)
    open_at(server, fixture.room, "room", NIGHTS if said_of == "room" else {})
    open_at(server, floor, "floor", NIGHTS if said_of == "floor" else {})
    page = sign_in(new_phone().new_page(), server.url, "crew")
    go(page, f"/s/{fixture.site}/today/room/{fixture.room}")
    expect(page.get_by_text(ALLOWED)).to_be_visible()
    take(page)
    go(page, f"/s/{fixture.site}/today")
    mine = page.get_by_role("region", name="My rooms today")
    expect(mine.get_by_text(ALLOWED)).to_be_visible()
    go(page, fixture.path)
    expect(page.get_by_text(ALLOWED)).to_be_visible()


def take(page: Page) -> None:
    take_it = page.get_by_role("button", name="Take it", exact=True)
    give_back = page.get_by_role("button", name="Give it back", exact=True)
    expect(take_it.or_(give_back)).to_be_visible()
    if take_it.is_visible():
        take_it.click()
        expect(give_back).to_be_visible()
    page.evaluate(SYNC)
