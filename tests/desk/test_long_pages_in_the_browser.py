"""Long screens of the desk on a phone: what to do and totals first, the rest folded, searched and printed whole; in full at a desk."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect
from tests.conftest import go
from tests.desk.conftest import NewDesk
from tests.support.looks import BEYOND, assert_fits_and_can_be_hit_and_read, found_at_rest, shot
from tests.support.releasing import release_seen

FOLDED = "() => [...document.querySelectorAll('details.fold')].filter((each) => !each.open).length"
OPEN_ALL, FOLD_ALL = (
    f"() => {{ for (const each of document.querySelectorAll('details.fold')) each.open = {open}; }}"
    for open in ("true", "false")
)
HEIGHT = "() => document.scrollingElement.scrollHeight"
WINDOWS_MOST = 7
"""So many windows of a phone a screen is high at most."""
PHONE = {"width": 360, "height": 740}


def on_a_phone(page: Page) -> Page:
    page.set_viewport_size(PHONE)
    expect(page.locator("details.fold").first).to_be_visible()
    return page


@pytest.mark.parametrize(
    ("path", "first", "then", "folded"),
    [
        ("/plan", "Release", "Group by group", "TERN-4"),
        ("", "The whole site", "Rooms", "G05 Reading room"),
    ],
)
def test_a_long_screen_is_short_on_a_phone_and_a_search_in_the_page_reaches_what_is_folded(
    new_desk: NewDesk, path: str, first: str, then: str, folded: str
) -> None:
    page = new_desk().open(path)
    expect(page.locator("details.fold").get_by_role("table")).to_have_count(0)
    on_a_phone(page)
    page.reload()
    expect(page.get_by_role("region", name=first, exact=True)).to_be_visible()
    expect(page.get_by_role("heading", name=then, exact=True)).to_be_visible()
    expect(page.get_by_text("Asking the server…")).to_have_count(0)
    assert page.evaluate(HEIGHT) <= WINDOWS_MOST * PHONE["height"]
    row = page.locator("details.fold").get_by_text(folded).first
    expect(row).to_be_attached()
    expect(row).to_be_hidden()
    page.evaluate(OPEN_ALL)
    page.set_viewport_size({**PHONE, "width": 320})
    assert found_at_rest(page, BEYOND) == []
    assert_fits_and_can_be_hit_and_read(page, (320, 360))
    page.evaluate(FOLD_ALL)
    assert_fits_and_can_be_hit_and_read(page, (320, 360))
    shot(page, f"long{path.replace('/', '-') or '-completeness'}", (360, 1280))


def test_what_is_folded_at_a_desk_opens_below_its_line_whatever_was_looked_at_before(new_desk: NewDesk) -> None:
    """The home's floors fold too: what styles them leaves the desk's alone."""
    desk = new_desk()
    page = desk.open("/plan")
    go(page, f"/s/{desk.site}")
    expect(page.locator("button[aria-controls]").first).to_be_visible()
    go(page, f"/s/{desk.site}/desk/plan")
    floor = page.locator("details.fold[open]").first
    expect(floor).to_be_visible()
    line, within = (
        floor.locator(":scope > summary").bounding_box(),
        floor.locator(":scope > :not(summary)").bounding_box(),
    )
    assert line is not None
    assert within is not None
    assert within["y"] >= line["y"] + line["height"] - 1
    assert within["x"] <= line["x"] + 1


def test_the_plan_tells_whoever_releases_what_the_crew_is_cautioned_of(new_desk: NewDesk) -> None:
    page = new_desk().open("/plan")
    page.locator("details.group summary").filter(has_text="ready").first.click()
    told = page.get_by_role("region", name="What the crew is cautioned of").first
    expect(told).to_contain_text("Isolate at the panel, lock out and tag, prove dead.")


def test_on_paper_nothing_is_folded_and_after_it_all_is_as_it_was(new_desk: NewDesk) -> None:
    page = on_a_phone(new_desk().open("/plan"))
    before = page.evaluate(FOLDED)
    assert before > 0
    page.evaluate("() => window.dispatchEvent(new Event('beforeprint'))")
    assert page.evaluate(FOLDED) == 0
    page.evaluate("() => window.dispatchEvent(new Event('afterprint'))")
    assert page.evaluate(FOLDED) == before


def test_what_is_asked_for_stays_in_the_address_of_a_folded_screen(new_desk: NewDesk) -> None:
    page = on_a_phone(new_desk().open(""))
    page.get_by_label("Grouped by").select_option("kind")
    expect(page).to_have_url(re.compile(r"\?by=kind$"))
    page.reload()
    expect(page.get_by_label("Grouped by")).to_have_value("kind")


def test_orders_show_their_sum_and_the_way_on_first_and_their_lines_when_opened(new_desk: NewDesk) -> None:
    desk = new_desk()
    release_seen(desk.client, desk.site)
    page = on_a_phone(desk.open("/orders"))
    lines = page.locator("details.fold").filter(has_text="The order's lines").first
    expect(lines.get_by_role("table")).to_be_hidden()
    expect(page.get_by_text("Together").first).to_be_visible()
    expect(page.get_by_role("button", name="Make")).to_be_visible()
    assert page.evaluate(HEIGHT) <= WINDOWS_MOST * PHONE["height"]
    assert_fits_and_can_be_hit_and_read(page, (320, 360))
    lines.locator("summary").first.click()
    expect(lines.get_by_role("table")).to_be_visible()
    shot(page, "long-orders", (360, 1280))
