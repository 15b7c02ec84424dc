"""What a stranger's phone shows after the camera app has opened a label's address."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, expect
from tests.installing.conftest import Fixture
from tests.open_points.complete_site import Hand
from tests.support.installation import new_id
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Client, Server

pytestmark = pytest.mark.keeps_page(False)


def test_a_stranger_reads_what_the_site_shows_and_may_sign_in_all_the_same(
    server: Server, labelled: dict[str, list[Fixture]], new_phone: Callable[..., BrowserContext]
) -> None:
    fixture = labelled["released"][0]
    assert fixture.conversion is not None
    page = new_phone().new_page()
    page.goto(f"{server.url}/F/{fixture.code}")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    manager = Hand(Client(server.url, "manager"), fixture.site)
    shows = ["what-it-is-now", "what-fits", "takes-no-lamps", "whom-to-call"]
    notice = {"firm": "Old Cannery Lighting", "call": "+1 555 0100"}
    manager.save(fixture.site, "site", anyone={"shows": shows}, notice=notice)
    done = {"parent": fixture.group, "position": fixture.position, "outcome": "done", "conversion": ""}
    done |= {"checks": fixture.conversion["frozen"]["checks"]}
    pulled = manager.client.get(f"/api/sites/{fixture.site}/pull?since=0&limit=5000")["records"]
    done["conversion"] = next(r["id"] for r in pulled if r["type"] == "conversion" and r["parent"] == fixture.group)
    Hand(Client(server.url, "crew"), fixture.site).save(new_id(), "installation", identity=done)
    page.reload()
    expect(page.get_by_text("It takes no fluorescent lamps.")).to_be_visible()
    expect(page.get_by_role("link", name="+1 555 0100")).to_have_attribute("href", "tel:+15550100")
    expect(page.get_by_text("isolate, lock out and prove dead first")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    page.get_by_role("button", name="I work here: sign in").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
