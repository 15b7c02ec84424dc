"""Each open point at the manager's desk: planted in a complete site, one sentence with a link, put right on that screen, gone."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, Locator, Page, expect
from tests.conftest import WAIT_S, sign_in
from tests.open_points.at_the_desk import Desk
from tests.open_points.complete_site import Hand, make_complete_site
from tests.open_points.plants import PLANTS
from tests.support.looks import assert_fits_and_can_be_hit_and_read, shot
from tests.support.server import Client, Server

pytestmark = pytest.mark.keeps_page(False)

DESK = {"viewport": {"width": 1280, "height": 800}, "is_mobile": False, "has_touch": False}
PutRight = Callable[[Page, str], None]


@pytest.fixture
def desk(server: Server, new_phone: Callable[..., BrowserContext]) -> Desk:
    site = make_complete_site(server)
    people = f"/api/sites/{site.hand.site}/people"
    status, told = site.hand.client.call("PUT", people, {"name": "manager", "role": "manager"})
    assert status == 200, told
    return Desk(sign_in(new_phone(**DESK).new_page(), server.url, "manager"), site, server.url)


# -- what a person does on the screen that the link leads to; `record` is what the point is about


def choose(page: Page, title: str, choice: str) -> None:
    page.get_by_role("group", name=title, exact=True).get_by_role("radio", name=choice, exact=True).check()


def save(page: Page) -> None:
    page.get_by_role("button", name="Save", exact=True).click()


def form(
    *, typed: dict[str, str] | None = None, listed: dict[str, str] | None = None, chosen: dict[str, str] | None = None
) -> PutRight:
    """Fill fields by their titles (typed, from a list, from chips), and save."""

    def put_right(page: Page, record: str) -> None:
        for title, text in (typed or {}).items():
            page.get_by_label(title, exact=True).fill(text)
        for title, choice in (listed or {}).items():
            page.get_by_role("combobox", name=title).select_option(choice)
        for title, choice in (chosen or {}).items():
            choose(page, title, choice)
        save(page)
        page.wait_for_url(lambda at: "/record/" not in at)

    return put_right


def nothing_to_convert(page: Page, record: str) -> None:
    choose(page, "This room is", "nothing to convert")
    page.get_by_label("Why: nothing to convert?").fill("daylight only")
    save(page)
    expect(page.get_by_text("Saved: nothing to convert.")).to_be_visible()


def read(page: Page, position: int, row: int | None, text: str = "47 1/4") -> None:
    """One reading on the tape pad."""
    page.get_by_label("Fixture of").fill(str(position))
    if row is not None:
        other = page.get_by_role("button", name=re.compile(rf"^Row (?!{row} )\d of"))
        if other.count():
            other.click()
        expect(page.get_by_role("button", name=f"Row {row} of")).to_be_visible()
    length = page.get_by_label("Cavity length")
    length.fill(text)
    page.get_by_role("button", name="Save this reading").click()
    expect(length).to_have_value("")
    expect(page.get_by_text(f"Fixture {position}: {text} is saved.")).to_be_visible()


def read_two_by_two(page: Page, record: str) -> None:
    for position in (1, 2):
        for row in (1, 2):
            read(page, position, row)


def opened_reading(page: Page, record: str) -> Locator:
    """A reading in the list of its group, with what can be done with it."""
    reading = page.locator(f'[data-reading="{record}"]')
    if reading.locator("details").get_attribute("open") is None:
        reading.locator("summary").click()
    return reading


def void_and_read_again(position: int, row: int) -> PutRight:
    def put_right(page: Page, record: str) -> None:
        reading = opened_reading(page, record)
        reading.get_by_label("Void it, because").fill("the tape was bent")
        reading.get_by_role("button", name="Void", exact=True).click()
        expect(reading.get_by_text("Voided; it no longer counts.")).to_be_visible()
        page.get_by_role("link", name="Read a cavity").click()
        read(page, position, row)

    return put_right


def confirm(page: Page, record: str) -> None:
    reading = opened_reading(page, record)
    reading.get_by_role("button", name="It is what the tape shows").click()
    expect(reading.get_by_text("Confirmed.")).to_be_visible()


def keep_the_other(page: Page, record: str) -> None:
    conflict = page.locator(f'[data-conflict="{record}"]')
    expect(conflict.get_by_role("listitem")).to_have_count(2)
    conflict.get_by_role("listitem").filter(has_text="Also entered").get_by_role("button", name="Keep this").click()
    expect(page.get_by_text("is settled.")).to_be_visible()


PUT_RIGHT: dict[str, PutRight] = {
    "no-reading": read_two_by_two,
    "no-ballast-space": form(typed={"Clear width": "70 mm", "Clear height, at the narrowest": "40 mm"}),
    "feeds-not-seen": form(chosen={"Supply feeds in the body": "one"}),
    "no-volts": form(listed={"Volts": "277"}),
    "emergency-not-seen": form(chosen={"Emergency": "none"}),
    "emergency-positions-not-said": form(typed={"Emergency positions": "1"}),
    "battery-not-seen": form(chosen={"Battery in the old pack": "nickel-cadmium"}),
    "second-source-not-named": form(typed={"Second source: panel and circuit": "EP-1 circuit 4"}),
    "doubtful-count": form(chosen={"Count sure?": "yes"}),
    "duplicate-room-number": form(typed={"Number": "G02"}),
    "duplicate-kind-mark": form(typed={"Mark": "K2"}),
    "room-not-visited": nothing_to_convert,
    "no-access": nothing_to_convert,
    "groups-do-not-differ": form(typed={"Which ones": "by the door"}),
    "outlier": void_and_read_again(3, 2),
    "reading-matches-another": void_and_read_again(1, 2),
    "verdict-differs": confirm,
    "conflict": keep_the_other,
}


@pytest.mark.parametrize("rule", PUT_RIGHT)
def test_told_once_followed_put_right_gone(desk: Desk, rule: str) -> None:
    PLANTS[rule](desk.site)
    (point,) = desk.site.hand.points()
    desk.open()
    expect(desk.sentence(rule)).to_be_visible()
    assert desk.told() == [rule]
    desk.follow(point["path"])
    PUT_RIGHT[rule](desk.page, point["record"])
    desk.wait_until_sent()
    desk.open()
    expect(desk.sentence(rule)).to_have_count(0)
    assert desk.told() == []
    assert desk.site.hand.points() == []


def test_a_group_that_lacks_the_hottest_air_leads_the_manager_to_the_settings_of_the_site(desk: Desk) -> None:
    PLANTS["held-by-survey"](desk.site)
    desk.open()
    expect(desk.sentence("held-by-survey")).to_be_visible()
    of_room = desk.page.get_by_role("link", name="Temperatures of this room alone")
    expect(of_room).to_have_attribute("href", f"/s/{desk.site.hand.site}/record/{desk.site.room}/surroundings")
    shot(desk.page, "temperatures")
    assert_fits_and_can_be_hit_and_read(desk.page, (360, 1280))
    desk.page.get_by_role("link", name="Temperatures of the site").click()
    for title, degrees in (("Coldest ambient", "15"), ("Hottest ambient", "30")):
        desk.page.get_by_label(title).fill(degrees)
    desk.page.get_by_role("button", name="Save: How it is measured and judged").click()
    expect(desk.page.get_by_role("status").filter(has_text="Saved.")).to_be_visible()
    desk.wait_until_sent()
    assert desk.site.hand.points() == []


def test_who_may_not_change_the_site_is_led_to_the_room_alone(
    desk: Desk, new_phone: Callable[..., BrowserContext]
) -> None:
    PLANTS["held-by-survey"](desk.site)
    people = f"/api/sites/{desk.site.hand.site}/people"
    status, told = desk.site.hand.client.call("PUT", people, {"name": "surveyor", "role": "surveyor"})
    assert status == 200, told
    theirs = Desk(sign_in(new_phone(**DESK).new_page(), desk.url, "surveyor"), desk.site, desk.url)
    theirs.open()
    expect(theirs.page.get_by_role("link", name="Temperatures of this room alone")).to_be_visible()
    expect(theirs.page.get_by_role("link", name="Temperatures of the site")).to_have_count(0)


# -- what only a phone can put right


def phone_of_a_surveyor(desk: Desk, new_phone: Callable[..., BrowserContext]) -> Page:
    """A surveyor's phone that has the site and has sent all that it had."""
    people = f"/api/sites/{desk.site.hand.site}/people"
    status, told = desk.site.hand.client.call("PUT", people, {"name": "surveyor", "role": "surveyor"})
    assert status == 200, told
    page = sign_in(new_phone().new_page(), desk.url, "surveyor")
    page.goto(f"{desk.url}/s/{desk.site.hand.site}/room/{desk.site.room}")
    expect(page.get_by_role("heading", name="G01 Hall")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    return page


def write_a_size(page: Page, length: str) -> None:
    page.get_by_role("link", name="Size").click()
    page.get_by_label("Length", exact=True).fill(length)
    save(page)
    page.wait_for_url(lambda at: "/record/" not in at)


def surveyors_devices(desk: Desk) -> list[str]:
    """Ids under which phones of the surveyor have sent something; one that has only signed in stands under its own."""
    devices = desk.site.hand.client.get(f"/api/sites/{desk.site.hand.site}/devices")["devices"]
    return [device["id"] for device in devices if device["name"] == "surveyor" and device["id"] != device["phone"]]


def send_now(page: Page) -> None:
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_text("All sent.")).to_be_visible()


def test_a_photo_still_on_a_phone_is_told_once_and_goes_when_the_phone_has_sent_it(
    desk: Desk, new_phone: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    phone = phone_of_a_surveyor(desk, new_phone)
    phone.context.route("**/photos/*", lambda route: route.abort())
    Image.new("RGB", (800, 600), "#0B5563").save(tmp_path / "hall.jpg")
    phone.get_by_label("Photo of the room").set_input_files(tmp_path / "hall.jpg")
    expect(phone.get_by_role("contentinfo")).to_have_attribute("data-unsent", "1")
    wait_for(lambda: [point["rule"] for point in desk.site.hand.points()] == ["photo-not-arrived"])
    (point,) = desk.site.hand.points()
    desk.open()
    assert desk.told() == ["photo-not-arrived"]
    phone.goto(desk.url + point["path"])
    expect(phone.get_by_role("region", name="Photos that wait")).to_be_visible()
    phone.context.unroute("**/photos/*")
    send_now(phone)
    desk.open()
    expect(desk.sentence("photo-not-arrived")).to_have_count(0)
    assert desk.told() == []


def test_a_phone_that_said_it_holds_work_is_told_once_and_goes_when_it_has_sent_it(
    desk: Desk, new_phone: Callable[..., BrowserContext]
) -> None:
    """The phone's contact breaks off after it has said how much it still holds; what it holds is there to be sent."""
    phone = phone_of_a_surveyor(desk, new_phone)
    write_a_size(phone, "20' 6")
    wait_for(lambda: surveyors_devices(desk) != [])
    (device,) = surveyors_devices(desk)
    phone.context.set_offline(True)
    write_a_size(phone, "20' 8")
    hand = desk.site.hand
    itself = Client(desk.url)
    itself.cookie = "; ".join(f"{each['name']}={each['value']}" for each in phone.context.cookies())
    Hand(itself, hand.site, device).push(unsent=(1, 0))
    (point,) = hand.points()
    desk.open()
    assert desk.told() == ["unsent-work"]
    expect(desk.sentence("unsent-work")).to_contain_text(
        "A phone of surveyor holds work that it has not sent (entries: 1"
    )
    phone.context.set_offline(False)
    phone.goto(desk.url + point["path"])
    expect(phone.get_by_text("All sent.")).to_be_visible()
    desk.open()
    expect(desk.sentence("unsent-work")).to_have_count(0)
    assert desk.told() == []
    assert hand.state(desk.site.room)["facets"]["size"]["value"] == {"length_ticks": 248 * 8128}


def wait_for(true: Callable[[], bool], seconds: float = WAIT_S) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "it did not come about"
        time.sleep(0.2)
