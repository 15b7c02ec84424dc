"""At a desk kinds, groups and open points stand beside the list they are chosen from; on a phone there is one column."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.desk.conftest import WIDE, Desk, desk_of
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Server


@pytest.fixture(scope="module")
def desk(server: Server, browser: Browser) -> Iterator[Desk]:
    context = browser.new_context(**WIDE)
    yield desk_of(server, context.new_page(), "manager")
    context.close()


@pytest.fixture
def page(desk: Desk) -> Page:
    desk.page.set_viewport_size({"width": 1280, "height": 900})
    return desk.page


def at(desk: Desk, path: str) -> None:
    desk.page.goto(f"{desk.url}/s/{desk.site}{path}")
    expect(desk.page.get_by_role("heading", level=1)).to_be_visible()


def test_kinds_are_gone_through_by_keyboard_and_the_last_one_is_kept(desk: Desk, page: Page) -> None:
    at(desk, "/kinds")
    kinds = page.get_by_role("navigation", name="Kinds")
    here = kinds.locator("[aria-current=page]")
    expect(here).to_contain_text("K1")
    kinds.get_by_role("link").first.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("K3")
    expect(here).to_contain_text("K3")
    expect(here).to_be_focused()
    page.keyboard.press("End")
    expect(kinds.get_by_role("link").last).to_be_focused()
    page.get_by_role("link", name="More", exact=True).click()
    page.get_by_role("main").get_by_role("link", name="Kinds").click()
    expect(here).to_contain_text("K3")
    assert_fits_and_can_be_hit_and_read(page, widths=(1000, 1280))


def test_a_group_stands_beside_the_groups_of_its_room(desk: Desk, page: Page) -> None:
    rooms: dict[str, list[str]] = {}
    for group in desk.records("group"):
        rooms.setdefault(group["parent"], []).append(group["id"])
    one, other, *_ = next(groups for groups in rooms.values() if len(groups) > 1)
    at(desk, f"/group/{one}")
    groups = page.get_by_role("navigation", name="Fixture groups")
    groups.locator(f"a[href$='{other}']").click()
    expect(groups.locator("[aria-current=page]")).to_have_attribute("href", f"/s/{desk.site}/group/{other}")
    assert_fits_and_can_be_hit_and_read(page, widths=(1000, 1280))
    page.set_viewport_size({"width": 768, "height": 900})
    expect(groups).to_have_count(0)


def test_an_open_point_is_told_beside_the_list_and_the_place_is_kept(desk: Desk, page: Page) -> None:
    at(desk, "/open-points")
    points = page.get_by_role("navigation", name="Open points")
    points.get_by_role("button").first.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    here = points.locator("[aria-current=true]")
    expect(here).to_be_focused()
    told = here.locator(".title").inner_text()
    one = page.get_by_role("region", name="This open point")
    expect(one.get_by_role("heading")).to_have_text(told)
    assert_fits_and_can_be_hit_and_read(page, widths=(1000, 1280))
    one.get_by_role("link", name="Go there").click()
    expect(one).to_have_count(0)
    page.go_back()
    expect(one.get_by_role("heading")).to_have_text(told)
    page.set_viewport_size({"width": 360, "height": 740})
    expect(points).to_have_count(0)
    expect(page.get_by_role("main").get_by_role("listitem").first).to_be_visible()
