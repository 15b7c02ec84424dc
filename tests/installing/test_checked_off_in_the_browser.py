"""A crew's card over a shift: ticks that stay and ticks that lapse, two people, what was fitted, and a done that was none."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from playwright.sync_api import Locator, Page, expect
from tests.installing.conftest import (
    Fixture,
    back_in_reach,
    installations,
    is_one_of_a_pair,
    records,
    value,
)
from tests.installing.test_crew_in_the_browser import picture
from tests.open_points.complete_site import Hand
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Client, Server

Labelled = dict[str, list[Fixture]]
CHECKS = 4
MOST_TAPS = 9


def alone(labelled: Labelled) -> list[Fixture]:
    """Fixtures that are done one by one, with a driver of their own."""
    return [
        each
        for each in labelled["released"]
        if not is_one_of_a_pair(each) and each.conversion and each.conversion["frozen"]["driver"]
        and each.position not in each.conversion["frozen"]["emergency"]["positions"]
    ]  # fmt: skip


@pytest.fixture
def go(server: Server) -> Callable[[Page, Fixture], Page]:
    def open_fixture(page: Page, fixture: Fixture) -> Page:
        page.goto(server.url + fixture.path)
        expect(page.get_by_role("region", name="What to do")).to_be_visible()
        return page

    return open_fixture


def fetch_news(page: Page) -> None:
    page.evaluate("async () => { await (await import('/app/store/store.js')).store.syncNow(); }")


def checks(page: Page) -> Locator:
    return page.get_by_role("group", name="Before 'done'").get_by_role("checkbox")


def steps(page: Page) -> Locator:
    return page.get_by_role("region", name="Steps").get_by_role("checkbox")


def test_ticks_are_there_after_the_app_was_killed_and_lapse_with_the_day(
    crew_phone: Page, labelled: Labelled, go: Callable[[Page, Fixture], Page]
) -> None:
    """Out-taken lamps stay out-taken; what was proved yesterday is not proved today."""
    fixture = alone(labelled)[0]
    go(crew_phone, fixture)
    for place in range(CHECKS):
        checks(crew_phone).nth(place).check()
    steps(crew_phone).nth(1).check()  # prove dead
    steps(crew_phone).nth(2).check()  # take the lamps out
    expect(crew_phone.get_by_text("2 of")).to_be_visible()
    context = crew_phone.context
    expect(crew_phone.get_by_role("button", name="Done", exact=True)).to_be_enabled()
    crew_phone.close()
    page = go(context.new_page(), fixture)
    for place in range(CHECKS):
        expect(checks(page).nth(place)).to_be_checked()
    expect(page.get_by_role("button", name="Done", exact=True)).to_be_enabled()
    page.clock.install(time=datetime.now(UTC) + timedelta(days=1))
    go(page, fixture)
    expect(page.get_by_text("4 ticked before count no more")).to_be_visible()
    expect(checks(page).first).not_to_be_checked()
    expect(steps(page).nth(1)).not_to_be_checked()
    expect(steps(page).nth(2)).to_be_checked()
    expect(page.get_by_role("button", name="Done", exact=True)).to_be_disabled()


def test_from_card_to_done_with_a_photo_takes_nine_taps_at_most(
    crew_phone: Page, labelled: Labelled, server: Server, go: Callable[[Page, Fixture], Page], tmp_path: Path
) -> None:
    fixture = alone(labelled)[2]
    go(crew_phone, fixture)
    taps = 0
    for place in range(CHECKS):
        checks(crew_phone).nth(place).tap()
        taps += 1
    crew_phone.get_by_role("button", name="Done", exact=True).tap()
    expect(crew_phone.get_by_text("Saved: done.")).to_be_visible()
    crew_phone.get_by_label("Add a photo").set_input_files(picture(tmp_path))  # the button, and the camera's own two
    taps += 1 + 3
    expect(crew_phone.get_by_role("list", name="Photos").get_by_role("img").first).to_be_visible()
    crew_phone.get_by_role("link", name="Scan the next label").tap()
    taps += 1
    assert taps <= MOST_TAPS
    back_in_reach(crew_phone)
    (record,) = [each for each in records(server) if is_of(each, fixture)]
    assert value(record, "as_fitted") == {"as_released": True}
    assert value(record, "identity")["minutes"] >= 1


def is_of(record: Any, fixture: Fixture) -> bool:
    identity = value(record, "identity")
    return (record["type"], record["parent"], identity.get("position")) == (
        "installation", fixture.group, fixture.position
    )  # fmt: skip


def test_what_was_fitted_otherwise_is_said_item_by_item_with_its_reason(
    crew_phone: Page, labelled: Labelled, server: Server, go: Callable[[Page, Fixture], Page]
) -> None:
    fixture = alone(labelled)[3]
    assert fixture.conversion is not None
    go(crew_phone, fixture)
    for place in range(CHECKS):
        checks(crew_phone).nth(place).check()
    crew_phone.get_by_role("button", name="Otherwise, or note a serial number").click()
    driver = crew_phone.get_by_role("group", name="driver", exact=True)
    driver.get_by_label("Batch or serial number").fill("LOT 7731")
    driver.get_by_label("Batch or serial number").press("Enter")
    driver.get_by_label("Taken from the spares").check()
    setting = driver.get_by_label("Set to")
    now = fixture.conversion["frozen"]["driver"]["setting_ma"]
    other = next(each for each in setting.locator("option").all_inner_texts() if each != f"{now} mA")
    setting.select_option(label=other)
    crew_phone.get_by_role("button", name="Done", exact=True).click()
    expect(crew_phone.get_by_role("alert")).to_contain_text("say why")
    assert_fits_and_can_be_hit_and_read(crew_phone)
    crew_phone.get_by_role("group", name="Why it differs").get_by_label("the setting is not possible").check()
    crew_phone.get_by_role("button", name="Done", exact=True).click()
    expect(crew_phone.get_by_text("Saved: done.")).to_be_visible()
    expect(crew_phone.get_by_role("region", name="Done so far")).to_contain_text("Differs from the release")
    back_in_reach(crew_phone)
    (record,) = [each for each in records(server) if is_of(each, fixture)]
    told = value(record, "as_fitted")
    assert (told["as_released"], told["reason"]) == (False, "setting-not-possible")
    item = next(each for each in told["items"] if each["kind"] == "driver")
    assert (item["setting_ma"], item["serials"], item["spare"]) == (int(other.split(" ")[0]), ["LOT 7731"], True)


def test_the_managers_answer_stands_on_the_card_without_a_signal(
    crew_phone: Page, labelled: Labelled, server: Server, go: Callable[[Page, Fixture], Page]
) -> None:
    fixture = alone(labelled)[4]
    go(crew_phone, fixture)
    checks(crew_phone).first.check()
    crew_phone.get_by_role("button", name="A problem").click()
    crew_phone.get_by_label("Reason").select_option(label="the bar does not go in")
    crew_phone.get_by_role("button", name="Save", exact=True).click()
    expect(crew_phone.get_by_text("Saved: problem.")).to_be_visible()
    back_in_reach(crew_phone)
    (record,) = [each for each in records(server) if is_of(each, fixture)]
    assert value(record, "identity")["reason"] == "bar-does-not-go-in"
    client = Client(server.url, "manager")
    hand = Hand(client, client.site_id())
    answer = {
        "parent": record["id"],
        "answer": "do-it-so",
        "words": "File the lip by 1 mm",
        "noted_at": "2026-11-28T12:00:00Z",
    }
    hand.push(hand.operation(str(uuid4()), "problem_answer", "identity", answer, spec=3))
    fetch_news(crew_phone)
    done = crew_phone.get_by_role("region", name="Done so far")
    expect(done).to_contain_text("File the lip by 1 mm")
    crew_phone.context.set_offline(True)
    go(crew_phone, fixture)
    expect(done).to_contain_text("The manager: do it so")
    expect(checks(crew_phone).first).not_to_be_checked()
    expect(crew_phone.get_by_text("1 ticked before count no more")).to_be_visible()


def test_a_done_that_was_none_is_taken_back_with_a_reason_and_everything_is_kept(
    crew_phone: Page, labelled: Labelled, server: Server, go: Callable[[Page, Fixture], Page]
) -> None:
    fixture = alone(labelled)[5]
    go(crew_phone, fixture)
    for place in range(CHECKS):
        checks(crew_phone).nth(place).check()
    crew_phone.get_by_role("button", name="Done", exact=True).click()
    expect(crew_phone.get_by_text("Saved: done.")).to_be_visible()
    crew_phone.reload()
    crew_phone.get_by_role("button", name="Not done after all").click()
    form = crew_phone.get_by_role("form", name="Not done after all")
    form.get_by_role("button", name="Save", exact=True).click()
    expect(form.get_by_role("alert")).to_contain_text("Say why")
    form.get_by_label("Reason").select_option(label="it was another fixture")
    assert_fits_and_can_be_hit_and_read(crew_phone)
    form.get_by_role("button", name="Save", exact=True).click()
    expect(crew_phone.get_by_role("region", name="Done so far")).to_contain_text("it was another fixture")
    expect(checks(crew_phone).first).not_to_be_checked()
    expect(crew_phone.get_by_role("button", name="Done", exact=True)).to_be_disabled()
    back_in_reach(crew_phone)
    assert [each["outcome"] for each in installations(server, fixture)] == ["done", "not-done-after-all"]


def test_a_light_reading_is_noted_from_the_card_and_read_in_the_room(
    crew_phone: Page, labelled: Labelled, server: Server, go: Callable[[Page, Fixture], Page]
) -> None:
    fixture = alone(labelled)[6]
    go(crew_phone, fixture)
    crew_phone.get_by_text("Light readings").click()
    form = crew_phone.get_by_role("form", name="A light reading")
    form.get_by_label("Point").fill("T1")
    form.get_by_label("before").check()
    form.get_by_label("Illuminance").fill("212.5")
    form.get_by_label("Instrument").fill("Meter 3, calibrated 2026-02")
    assert_fits_and_can_be_hit_and_read(crew_phone)
    form.get_by_role("button", name="Save the reading").click()
    expect(crew_phone.get_by_text("Saved: light reading.")).to_be_visible()
    back_in_reach(crew_phone)
    (record,) = [each for each in records(server) if value(each, "identity").get("point") == "T1"]
    told = value(record, "identity")
    assert (told["lux"], told["when"], told["group"], told["position"]) == (
        212.5,
        "before",
        fixture.group,
        fixture.position,
    )
    crew_phone.goto(f"{server.url}/s/{fixture.site}/light/{record['parent']}")
    expect(crew_phone.get_by_role("list", name="Light readings")).to_contain_text("before: 212.5 lx")
