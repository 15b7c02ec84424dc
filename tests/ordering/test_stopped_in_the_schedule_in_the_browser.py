"""The screen of the schedule names released work that is stopped: which, why, and the way to the releases."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import open_within, sign_in
from tests.open_points.complete_site import CompleteSite, make_complete_site
from tests.ordering.test_a_schedule_of_stopped_work import stop
from tests.ordering.test_orders_after_a_count_was_lowered import one_more_group, records, release
from tests.support.looks import assert_fits_and_can_be_hit_and_read, shot
from tests.support.server import Server

pytestmark = pytest.mark.keeps_page(False)


@pytest.fixture
def site(server: Server) -> CompleteSite:
    """Two groups of two fixtures in a room, of which one is stopped."""
    site = make_complete_site(server)
    people = f"/api/sites/{site.hand.site}/people"
    assert site.hand.client.call("PUT", people, {"name": "manager", "role": "manager"})[0] == 200
    for item in records(site, "catalogue_item"):
        site.hand.make("price", item["id"], {"each": 10, "fit_minutes": 5})
    other = one_more_group(site)
    release(site)
    stop(site, other)
    return site


@pytest.mark.parametrize("width", [1280, 320])
def test_stopped_groups_stand_above_the_shifts_and_beside_their_room(
    server: Server, site: CompleteSite, new_phone: Callable[..., BrowserContext], width: int
) -> None:
    context = new_phone(viewport={"width": width, "height": 900}, is_mobile=False, has_touch=False)
    page: Page = sign_in(context.new_page(), server.url, "manager")
    open_within(page, f"{server.url}/s/{site.hand.site}/desk/schedule")
    told = page.get_by_role("region", name="Released, and stopped")
    expect(told).to_contain_text("2 fixtures in 1 group")
    expect(told).to_contain_text("G01 Hall, Ground · K1: 2 fixtures. Decision")
    expect(page.get_by_text("Stopped here, and not part of this: 2 fixtures.")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    shot(page, f"schedule-stopped-{width}")
    told.get_by_role("link", name="To the releases").click()
    expect(page.get_by_role("region", name="Release 1")).to_be_visible()
