"""A room of 320 groups on a phone: a part of its list at a time, and nothing of it out of reach."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import as_pushed, store
from tests.support.installation import installed
from tests.support.server import Server

from spanwalk.services.sync.sums import recount
from spanwalk.storage.database import writing

GROUPS, NODES_MOST = 320, 2_000
NODES = "document.querySelectorAll('*').length"


@pytest.fixture
def room(tmp_path: Path, new_phone: Callable[..., BrowserContext]) -> Iterator[Page]:
    """A surveyor's phone in the room."""
    records = [as_pushed(each) for each in invented_site(GROUPS, in_a_room=GROUPS)]
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        with installation.app.app_context(), writing() as session:
            recount(session, installation.site)
    server = Server(tmp_path / "data", command="serve").start()
    page = new_phone().new_page()
    sign_in(page, server.url, "surveyor", f"/s/{installation.site}")
    expect(page.get_by_text("All sent.")).to_be_visible()
    path = f"/s/{installation.site}/room/{next(each['id'] for each in records if each['type'] == 'room')}"
    page.evaluate("async (path) => { (await import('/app/views/navigate.js')).navigate(path); }", path)
    yield page
    server.stop()


def test_a_room_of_320_groups_is_shown_in_parts_of_few_nodes_each_and_all_can_be_reached(room: Page) -> None:
    rows = room.locator("ul.groups > li")
    seen: list[str] = []
    for told, number in (("1 to 150 of 320", 150), ("151 to 300 of 320", 150), ("301 to 320 of 320", 20)):
        expect(room.get_by_text(told)).to_be_visible()
        expect(rows).to_have_count(number)
        assert room.evaluate(NODES) <= NODES_MOST
        seen += rows.evaluate_all(
            "rows => rows.map((row) => row.querySelector('a[href*=\"/group/\"]').getAttribute('href'))"
        )
        if number == 150:
            room.get_by_role("button", name=re.compile("^The next")).click()
    assert len(set(seen)) == GROUPS


def test_who_comes_back_from_a_group_far_down_a_long_room_finds_it(room: Page) -> None:
    room.get_by_role("button", name="The next 150").click()
    expect(room.get_by_text("151 to 300 of 320")).to_be_visible()
    link = room.locator("ul.groups > li a[href*='/group/']").nth(149)
    address = link.get_attribute("href")
    link.click()
    expect(room).to_have_url(re.compile(f"{address}$"))
    room.go_back()
    expect(room.get_by_text("151 to 300 of 320")).to_be_visible()
    expect(room.locator(f"ul.groups a[href='{address}']").first).to_be_in_viewport()


def test_a_group_added_to_a_long_room_is_seen_where_it_stands_last(room: Page) -> None:
    room.get_by_role("button", name="Duplicate the last group").click()
    expect(room.get_by_text("301 to 321 of 321")).to_be_visible()
    expect(room.locator("ul.groups > li")).to_have_count(21)
