"""A manager orders bars that fit by the lamp alone: with a reason, or not at all."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, expect
from tests.conftest import sign_in
from tests.open_points.complete_site import MM, make_complete_site
from tests.planning.some_body import DRIVER
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Server

pytestmark = pytest.mark.keeps_page(False)


def test_the_lamp_is_accepted_as_the_gauge_with_a_reason_and_the_group_is_ready(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    """Twenty fixtures, one cavity read in each of two: so few prove little by themselves, the lamps prove what the bar needs."""
    site = make_complete_site(server)
    hand, group = site.hand, site.group
    hand.save(
        hand.site,
        "site",
        settings={"units": "inches", "light_policy": "keep-a-share-of-todays-light", "keep_light_pct": 30},
    )
    hand.save(site.room, "room", surroundings={"moisture": "dry", "hazardous": "no", "hottest_c": 25, "coldest_c": 15})
    hand.save(group, "group", count={"count": 20, "sure": "yes", "dark_lamps": 0})
    hand.save(group, "group", duty={"emergency": "none", "control_now": "switch", "dimming": "none"})
    records = hand.client.get(f"/api/sites/{hand.site}/pull?since=0&limit=500")["records"]
    bar = next(each for each in records if each["type"] == "catalogue_item")
    hand.save(bar["id"], "catalogue_item", bar=bar["facets"]["bar"]["value"] | {"length_ticks": 1189 * MM})
    hand.make("catalogue_item", hand.site, {"item": "driver", "code": "DRIVER", "offered": True}, driver=DRIVER)
    for reading in (site.readings[1], site.readings[3]):
        hand.save(reading, "cavity_reading", voided={"reason": "another fixture"})
    plan = f"/api/sites/{hand.site}/groups/{group}/plan"
    before = hand.client.get(plan)
    assert before["proposal"]["fit"]["basis"] == "lamp"
    assert before["blockers"] == [{"code": "plan.blocked.by-lamp", "facts": {"fixtures": 2, "wanted": 3}}]
    assert "fits-by-lamp" in {point["rule"] for point in hand.points()}

    page = new_phone().new_page()
    sign_in(page, server.url, "owner", f"/s/{hand.site}/desk/plan")
    page.locator("details.group > summary").first.click()
    page.get_by_role("combobox", name="Decision").select_option("convert-with-this-arrangement")
    form = page.get_by_role("form", name="Decision")
    expect(form).to_contain_text("It fits by the lamp alone: cavities were read in 2 fixtures of the kind.")
    form.get_by_role("checkbox", name="Accept the lamp as the gauge").check()
    assert_fits_and_can_be_hit_and_read(page)
    form.get_by_role("button", name="Save the decision").click()
    expect(form.get_by_role("alert")).to_have_text(
        "Say why the lamp is accepted as the gauge: the reason stays with the decision."
    )
    form.get_by_label("Reason").fill("new lamps, all tight in their holders")
    form.get_by_role("button", name="Save the decision").click()
    expect(page.locator("details.group")).to_contain_text("ready")
    found = hand.client.get(plan)
    assert found["state"] == "ready"
    assert found["proposal"]["arrangement"] == before["proposal"]["arrangement"]
    assert "plan.caution.by-lamp" in found["cautions"]
    assert "fits-by-lamp" not in {point["rule"] for point in hand.points()}
