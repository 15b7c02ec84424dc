"""Released work that stands still, where somebody is about to order: at completeness, at the orders, and at the releases."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import open_within, sign_in
from tests.open_points.complete_site import KIND, CompleteSite, make_complete_site, reading
from tests.support.looks import assert_fits_and_can_be_hit_and_read, shot
from tests.support.releasing import release_seen
from tests.support.server import Server

pytestmark = pytest.mark.keeps_page(False)

DESK = {"viewport": {"width": 1280, "height": 900}, "is_mobile": False, "has_touch": False}


@pytest.fixture
def site(server: Server) -> CompleteSite:
    site = make_complete_site(server)
    people = f"/api/sites/{site.hand.site}/people"
    assert site.hand.client.call("PUT", people, {"name": "manager", "role": "manager"})[0] == 200
    assert release_seen(site.hand.client, site.hand.site)[0] == 201
    return site


@pytest.fixture
def page(server: Server, site: CompleteSite, new_phone: Callable[..., BrowserContext]) -> Page:
    return sign_in(new_phone(**DESK).new_page(), server.url, "manager")


def opened(page: Page, server: Server, site: CompleteSite, screen: str = "") -> Page:
    open_within(page, f"{server.url}/s/{site.hand.site}/desk{screen}")
    expect(page.get_by_text("Asking the server…")).to_have_count(0)
    expect(page.get_by_text("All sent.")).to_be_visible()
    return page


def make_an_old_ballast_known(site: CompleteSite) -> None:
    """What may hold PCB is no point of the survey, and stops what was released without a word of it."""
    old = {"ballast": "magnetic", "pcb_mark": "not-seen", "made": "1975"}
    site.hand.save(site.kind, "kind", ballast=KIND["ballast"] | old)


def count_one_more(site: CompleteSite) -> None:
    site.hand.save(site.group, "group", count={"count": 3, "dark_lamps": 0, "sure": "yes"})
    for row in (1, 2):
        site.hand.make("cavity_reading", site.group, reading(3, row))


def test_completeness_says_that_orders_can_go_out_only_while_no_released_work_stands_still(
    page: Page, server: Server, site: CompleteSite
) -> None:
    whole = opened(page, server, site).get_by_role("region", name="The whole site")
    expect(whole).to_contain_text("Orders can go out on it.")
    make_an_old_ballast_known(site)
    assert site.hand.completeness()["complete"]
    opened(page, server, site)
    told = page.get_by_role("region", name="Released, and stopped")
    expect(told).to_contain_text("Do not order for 1 group yet")
    expect(told).to_contain_text("G01 Hall · K1")
    expect(whole).to_contain_text("Complete: nothing is open.")
    expect(whole).not_to_contain_text("Orders can go out")
    told.get_by_role("link", name="To the releases").click()
    expect(page.get_by_role("region", name="Release 1").get_by_text("stop").first).to_be_visible()


@pytest.mark.parametrize("width", [1280, 320])
def test_who_orders_reads_it_before_the_order_is_made(
    page: Page, server: Server, site: CompleteSite, width: int
) -> None:
    make_an_old_ballast_known(site)
    page.set_viewport_size({"width": width, "height": 800})
    opened(page, server, site, "/orders")
    told = page.get_by_role("region", name="Released, and stopped")
    expect(told).to_contain_text("Do not order for 1 group yet")
    expect(page.get_by_role("button", name="Make 1 order")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    shot(page, f"stopped_orders_{width}")


def test_fixtures_counted_since_are_told_until_a_release_has_them(
    page: Page, server: Server, site: CompleteSite
) -> None:
    count_one_more(site)
    (point,) = site.hand.points()
    assert (point["rule"], point["facts"]["positions"]) == ("not-in-release", "3")
    whole = opened(page, server, site).get_by_role("region", name="The whole site")
    expect(whole).to_contain_text("Not complete: 1 open point.")
    expect(page.get_by_role("region", name="Released, and stopped")).to_contain_text("Not in the release: no. 3")
    shot(page, "not_in_release_completeness")
    assert release_seen(site.hand.client, site.hand.site)[0] == 201
    opened(page, server, site)
    expect(whole).to_contain_text("Orders can go out on it.")
    expect(page.get_by_role("region", name="Released, and stopped")).to_have_count(0)


def test_a_manager_takes_them_in_by_an_answer(page: Page, server: Server, site: CompleteSite) -> None:
    count_one_more(site)
    opened(page, server, site, "/releases")
    release = page.get_by_role("region", name="Release 1")
    expect(release).to_contain_text("Fixtures that were counted since, and are in no release: 3")
    release.get_by_text("Answer what changed").click()
    shot(page, "not_in_release_releases")
    release.get_by_label("Why it may go on").fill("The same body, seen.")
    release.get_by_role("button", name="Let it go on").click()
    expect(release).to_contain_text("Answered: The same body, seen.")
    open_within(page, f"{server.url}/s/{site.hand.site}/fixture/{site.group}/3")
    expect(page.get_by_text("Answered: The same body, seen.")).to_be_visible()
    expect(page.get_by_text("Stop. Do not convert it.")).to_have_count(0)


def test_a_crew_is_stopped_at_one_and_not_at_the_others(page: Page, server: Server, site: CompleteSite) -> None:
    count_one_more(site)
    page.set_viewport_size({"width": 360, "height": 760})
    at = f"{server.url}/s/{site.hand.site}/fixture/{site.group}"
    open_within(page, f"{at}/3")
    expect(page.get_by_text("Stop. Do not convert it.")).to_be_visible()
    expect(page.get_by_text("Fixtures that were counted since, and are in no release: 3")).to_be_visible()
    shot(page, "not_in_release_fixture")
    open_within(page, f"{at}/2")
    expect(page.get_by_text("It may be converted as released, if what you see agrees.")).to_be_visible()
    open_within(page, f"{server.url}/s/{site.hand.site}/today/room/{site.room}")
    expect(page.get_by_role("link", name="Fixture 3: not released")).to_be_visible()
    expect(page.get_by_text("Counted since, and in no release: 1 fixture.")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    shot(page, "not_in_release_room")
    open_within(page, f"{server.url}/s/{site.hand.site}/today/picking?room={site.room}")
    expect(page.get_by_text("Counted since, and in no release: 1 fixture.")).to_be_visible()
    shot(page, "not_in_release_picking")
