"""The light of a room on the desk's plan: one picture with what was read, and every term with its source."""

from __future__ import annotations

import re

from playwright.sync_api import expect
from tests.desk.conftest import NewDesk
from tests.support.looks import BEYOND, SMALL, assert_fits_and_can_be_hit_and_read, found_at_rest


def test_the_light_of_the_library_is_seen_with_its_readings_and_opened_to_its_terms(new_desk: NewDesk) -> None:
    """Three points of 398 lx in the mean were read there, below the range that is reckoned."""
    page = new_desk().open("/plan")
    page.locator("summary").filter(has_text=re.compile("^Quay level")).click()
    group = page.locator("details.group").filter(has_text="G02 Lending library · K2").first
    group.locator("summary").first.click()
    light = group.get_by_role("region", name="Light of the room, all its groups together")
    picture = light.get_by_role("img")
    expect(picture).to_have_accessible_name(re.compile(r"Found: \d+ lx, between .* Read: 398 lx\..*New, on day one: "))
    expect(light).to_contain_text("They disagree: read again")
    expect(light).to_contain_text("emergency light at the floor, which stays with who designs it")
    group.locator("summary").filter(has_text="Of what today's light is made").click()
    terms = group.get_by_role("table", name="Of what today's light is made")
    expect(terms.get_by_role("row", name=re.compile("^Out of the body over in it"))).to_contain_text("common practice")
    assert found_at_rest(page, BEYOND) == []
    assert found_at_rest(page, SMALL) == []
    assert_fits_and_can_be_hit_and_read(page, (360, 1280))
