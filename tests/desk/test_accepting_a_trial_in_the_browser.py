"""A manager orders tight bars on what a trial bar says: with a reason, or not at all."""

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


def test_a_tight_bar_that_was_tried_is_accepted_with_a_reason_and_the_group_is_ready(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    site = make_complete_site(server)
    hand, group = site.hand, site.group
    hand.save(
        hand.site,
        "site",
        settings={"units": "inches", "light_policy": "keep-a-share-of-todays-light", "keep_light_pct": 30},
    )
    hand.save(
        site.room,
        "room",
        surroundings={"moisture": "dry", "hazardous": "no", "hottest_c": 38, "coldest_c": 10},
    )
    hand.save(group, "group", duty={"emergency": "none", "control_now": "switch", "dimming": "none"})
    records = hand.client.get(f"/api/sites/{hand.site}/pull?since=0&limit=500")["records"]
    bar = next(each for each in records if each["type"] == "catalogue_item")
    hand.save(
        bar["id"],
        "catalogue_item",
        bar=bar["facets"]["bar"]["value"] | {"length_ticks": 1195 * MM, "lit_ticks": 1175 * MM},
    )
    hand.make("catalogue_item", hand.site, {"item": "driver", "code": "DRIVER", "offered": True}, driver=DRIVER)
    for position, row in ((1, 1), (1, 2), (2, 1), (2, 2)):
        hand.make(
            "trial_bar",
            group,
            {"position": position, "row": row, "cavity": 1, "bar": bar["id"], "went_in": "went-in-by-hand"},
        )
    plan = f"/api/sites/{hand.site}/groups/{group}/plan"
    assert [each["code"] for each in hand.client.get(plan)["blockers"]] == ["plan.fit-trial.cannot-tell"]

    page = new_phone().new_page()
    sign_in(page, server.url, "owner", f"/s/{hand.site}/desk/plan")
    page.locator("details.group > summary").first.click()
    page.get_by_role("combobox", name="Decision").select_option("convert-with-this-arrangement")
    form = page.get_by_role("form", name="Decision")
    expect(form).to_contain_text("cavities tried: 4, of which without room for tolerance and warmth: 4")
    form.get_by_role("checkbox", name="Accept the trial bar").check()
    assert_fits_and_can_be_hit_and_read(page)
    form.get_by_role("button", name="Save the decision").click()
    expect(form.get_by_role("alert")).to_have_text(
        "Say why the trial bar is accepted: the reason stays with the decision."
    )
    form.get_by_label("Reason").fill("a shorter bar goes with the crew")
    form.get_by_role("button", name="Save the decision").click()
    expect(page.locator("details.group")).to_contain_text("ready")
    found = hand.client.get(plan)
    assert found["state"] == "ready"
    assert "plan.caution.tried-only" in found["cautions"]
    assert "tight-not-settled" not in {point["rule"] for point in hand.points()}
