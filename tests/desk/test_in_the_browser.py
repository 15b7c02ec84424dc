"""The manager's desk in a real browser: is it complete, what will it become, what goes on the printer."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.support.server import Client, Server

DESK = {"viewport": {"width": 1280, "height": 900}, "is_mobile": False, "has_touch": False}
SLOW_MS = 60_000
"""The first plan of a site is reckoned when it is asked for."""


@pytest.fixture
def desk(server: Server, new_phone: Callable[..., BrowserContext]) -> Callable[..., Page]:
    """Opens a desk screen as a person."""

    def open_at(path: str, name: str = "manager", **more: Any) -> Page:
        page = sign_in(new_phone(**{**DESK, **more}).new_page(), server.url, name)
        page.goto(f"{server.url}/s/{Client(server.url, name).site_id()}/desk{path}")
        return page

    return open_at


def test_the_manager_sees_what_is_complete_by_fixtures_and_by_rooms(desk: Callable[..., Page], server: Server) -> None:
    client = Client(server.url, "manager")
    told = client.get(f"/api/sites/{client.site_id()}/completeness")
    page = desk("")
    main = page.get_by_role("main")
    expect(main).to_contain_text(f"{told['rooms']['complete']} of {told['rooms']['known']} rooms complete", timeout=SLOW_MS)
    expect(main).to_contain_text(f"{told['fixtures']['complete']} of {told['fixtures']['known']} known fixtures")
    expect(page.get_by_role("row").filter(has_text="Undercroft")).to_have_count(1)
    expect(page.locator("li[data-rule]")).to_have_count(told["points"])


def test_an_open_point_leads_to_where_it_is_closed(desk: Callable[..., Page]) -> None:
    page = desk("")
    point = page.locator("li[data-rule='room-not-visited'] a").first
    expect(point).to_be_visible(timeout=SLOW_MS)
    path = point.get_attribute("href")
    point.click()
    page.wait_for_url(f"**{path}")
    expect(page.get_by_role("region", name="Progress")).to_be_visible()


def test_a_group_shows_why_it_is_proposed_and_what_was_rejected_by_how_much(desk: Callable[..., Page]) -> None:
    page = desk("/plan")
    group = page.locator("details.group").filter(has_text="U02 Brine cellar")
    expect(group).to_contain_text("ready", timeout=SLOW_MS)
    group.locator("summary").first.click()
    expect(group.get_by_role("table")).to_contain_text("Recommended")
    group.get_by_text("What was rejected, and by how much").click()
    expect(group.get_by_role("listitem").first).to_be_visible()


def test_a_group_that_is_left_as_it_is_is_not_released(desk: Callable[..., Page], server: Server) -> None:
    page = desk("/plan")
    expect(page.get_by_text(re.compile(r"\d+ of \d+ groups are ready"))).to_be_visible(timeout=SLOW_MS)
    group = page.locator("details.group").filter(has_text="U02 Brine cellar")
    group.locator("summary").first.click()
    group.get_by_label("Decision", exact=True).last.select_option("leave as is")
    group.get_by_label("Reason").fill("to be pulled down next spring")
    group.get_by_role("button", name="Save the decision").click()
    expect(page.get_by_text("All sent.")).to_be_visible(timeout=SLOW_MS)
    page.reload()
    page.get_by_role("button", name="Release", exact=True).click(timeout=SLOW_MS)
    expect(page.get_by_text("Release 1 is made")).to_be_visible(timeout=SLOW_MS)
    client = Client(server.url, "manager")
    left = client.get(f"/api/sites/{client.site_id()}/plan")
    brine = next(each for each in left["groups"] if each["room_name"] == "U02 Brine cellar")
    assert brine["state"] != "ready"


def test_the_crew_sees_no_money_and_no_release(desk: Callable[..., Page]) -> None:
    page = desk("/plan", name="crew")
    expect(page.get_by_role("alert")).to_be_visible(timeout=SLOW_MS)
    expect(page.get_by_role("button", name="Release")).to_have_count(0)


def test_a_place_that_is_not_on_the_sheet_is_told_and_nothing_is_printed(desk: Callable[..., Page]) -> None:
    page = desk("/labels")
    page.get_by_label("First free place on the sheet").fill("25")
    expect(page.get_by_role("alert")).to_contain_text("places 1 to 24")
    assert page.get_by_text("Print labels (PDF)").get_attribute("href") is None
    page.get_by_label("Paper").select_option("letter")
    assert "paper=letter&start=25" in (page.get_by_text("Print labels (PDF)").get_attribute("href") or "")


def test_without_a_signal_the_desk_says_so_and_keeps_the_walk(desk: Callable[..., Page]) -> None:
    page = desk("")
    expect(page.locator("li[data-rule]").first).to_be_visible(timeout=SLOW_MS)
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.context.set_offline(True)
    page.get_by_role("link", name="Conversions").click()
    expect(page.get_by_role("alert")).to_contain_text("There is no signal")
    page.get_by_role("link", name="Back").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()


@pytest.mark.parametrize("path", ["", "/plan", "/labels"])
@pytest.mark.parametrize("width", [320, 360, 412])
def test_the_desk_does_not_overflow_a_phone(desk: Callable[..., Page], path: str, width: int) -> None:
    page = desk(path, viewport={"width": width, "height": 740}, is_mobile=True, has_touch=True)
    expect(page.get_by_text("Asking the server")).to_have_count(0, timeout=SLOW_MS)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
