"""A group in which work was done is removed on a phone: told before, and its labels say afterwards what they are on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect
from tests.conftest import PHONE, sign_in
from tests.installing.conftest import Fixture, value
from tests.open_points.complete_site import Hand
from tests.support.installation import new_id
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Client, Server

Json = Any


@pytest.fixture
def done(server: Server, labelled: dict[str, list[Fixture]]) -> Fixture:
    """A labelled fixture that a crew noted as converted."""
    fixture = next(each for each in labelled["released"] if each.conversion and "partner" not in each.conversion)
    client = Client(server.url, "crew")
    manager = Client(server.url, "manager")
    pulled = manager.get(f"/api/sites/{fixture.site}/pull?since=0&limit=5000")["records"]
    conversion = next(each["id"] for each in pulled if each["type"] == "conversion" and each["parent"] == fixture.group)
    identity = {
        "parent": fixture.group,
        "position": fixture.position,
        "outcome": "done",
        "conversion": conversion,
        "checks": value(next(each for each in pulled if each["id"] == conversion), "identity")["frozen"]["checks"],
        "noted_at": "2026-04-02T09:00:00Z",
    }
    Hand(client, fixture.site).save(new_id(), "installation", identity=identity, as_fitted={"as_released": True})
    return fixture


def test_who_removes_a_group_reads_what_was_done_there_and_a_label_says_later_what_it_was_on(
    server: Server, browser: Browser, done: Fixture, tmp_path: Path
) -> None:
    context = browser.new_context(**PHONE)
    page = sign_in(context.new_page(), server.url, "manager")
    page.goto(f"{server.url}/s/{done.site}/group/{done.group}")
    remove = page.get_by_role("button", name="Remove this group")
    remove.scroll_into_view_if_needed()
    expect(page.get_by_text("1 fixture here: converted")).to_be_visible()
    expect(page.get_by_text("on the fixtures here. Whoever scans one")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    page.screenshot(path=tmp_path / "before.png")
    remove.click()
    expect(page.get_by_text("The group is removed")).to_be_visible()
    expect(page.get_by_text("all sent", exact=False)).to_be_visible()
    page.goto(f"{server.url}/s/{done.site}/label/{done.code}")
    expect(page.get_by_role("alert")).to_contain_text("Its group was removed from the survey")
    expect(page.get_by_text("it takes no fluorescent lamps")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    page.screenshot(path=tmp_path / "label.png")
    page.get_by_role("link", name="What was fitted in it").click()
    expect(page.get_by_text("it is told as it was last")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    page.screenshot(path=tmp_path / "fitted.png")
    context.close()
    pulled = Client(server.url, "manager").get(f"/api/sites/{done.site}/pull?since=0&limit=5000")["records"]
    found = {each["id"]: each for each in pulled}
    assert found[done.group]["removed"]
    assert found[done.group]["conflicts"] == []
    assert [each for each in pulled if each["type"] == "installation" and each["parent"] == done.group]
