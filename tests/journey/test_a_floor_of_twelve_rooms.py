"""A floor of twelve rooms, walked without a signal through the screens alone: what it costs, and that all of it arrives."""

from __future__ import annotations

import re
from collections.abc import Callable

from playwright.sync_api import BrowserContext, expect
from tests.conftest import sign_in
from tests.support.kept_page import page_is_kept
from tests.support.server import Client, Server
from tests.surveying.hand import Hand

ROOMS = 12
FIRST = 1001
MOST_STROKES = 110
"""Taps and keys for the whole floor with what holds for all of it: nine or so a room."""
MOST_SWIPES = 4
"""In all twelve rooms; making the floor at the end of a long list is not among them."""


def test_a_floor_of_twelve_rooms_is_walked_offline_and_arrives_whole(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = sign_in(new_phone().new_page(), server.url, "surveyor")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("All sent.")).to_be_visible()
    page_is_kept(page)
    page.context.set_offline(True)
    hand = Hand(page)
    make_the_floor(hand)
    before = hand.swipes
    for number in range(FIRST, FIRST + ROOMS):
        expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(f"{number}$"))
        fill_the_room(hand, number)
        if number < FIRST + ROOMS - 1:
            on_to_the_next(hand, number)
    page.goto("/".join(page.url.split("/")[:5]))
    tenth = page.get_by_role("region", name="Tenth")
    tenth.get_by_role("button", name="Tenth").click()
    expect(tenth.get_by_role("link", name=re.compile(r"^10\d\d"))).to_have_count(ROOMS)
    page.context.set_offline(False)
    expect(page.get_by_text("All sent.")).to_be_visible(timeout=60_000)
    print(f"{ROOMS} rooms: {hand.taps} taps, {hand.keys} keys, {hand.swipes - before} swipes in the rooms")
    assert_all_of_it_arrived(Client(server.url, "manager"))
    assert hand.strokes <= MOST_STROKES
    assert hand.swipes - before <= MOST_SWIPES


def make_the_floor(hand: Hand) -> None:
    """The floor, what holds for all its rooms, and its first room."""
    page = hand.page
    hand.tap(page.get_by_role("link", name="Add a floor"))
    hand.tap(page.get_by_label("Name", exact=True))
    hand.type("Tenth")
    hand.tap(page.get_by_role("button", name="Add the floor"))
    tenth = page.get_by_role("region", name="Tenth")
    hand.tap(tenth.get_by_role("link", name="Answers for the whole floor"))
    hand.tap(page.get_by_role("link", name="Surroundings on this floor"))
    hand.tap(page.get_by_role("group", name="Moisture").get_by_role("radio", name="dry", exact=True))
    hand.tap(page.get_by_role("button", name="Save"))
    expect(page.get_by_text("Surroundings on this floor: saved on this phone.")).to_be_visible()
    hand.tap(page.get_by_role("link", name="Supply on this floor"))
    page.get_by_label("Volts [V]").select_option("277")
    hand.taps += 2
    hand.tap(page.get_by_role("button", name="Save"))
    expect(page.get_by_text("Supply on this floor: saved on this phone.")).to_be_visible()
    hand.tap(page.get_by_role("link", name="Back", exact=True))
    hand.tap(tenth.get_by_role("link", name="Add a room here"))
    hand.tap(page.get_by_label("Number", exact=True))
    hand.type(str(FIRST))
    hand.tap(page.get_by_role("button", name="Add the room"))


def fill_the_room(hand: Hand, number: int) -> None:
    """By turns: a group of a known kind; the same as the room before; another kind, its count corrected; a locked door."""
    [count_some, same_as_before, count_anew, locked][(number - FIRST) % 4](hand)


def count_some(hand: Hand) -> None:
    add_a_group(hand, "K1 ", "8")


def same_as_before(hand: Hand) -> None:
    same = hand.page.get_by_role("button", name=re.compile("^Same as 10"))
    if same.count() == 0:
        add_a_group(hand, "K1 ", "8")
    else:
        hand.tap(same)
    expect(hand.page.get_by_role("region", name="Fixture groups")).to_contain_text("8 fixtures")


def count_anew(hand: Hand) -> None:
    add_a_group(hand, "K2 ", "3")
    hand.tap(hand.page.get_by_role("button", name="Correct the count of K2"))
    expect(hand.page.get_by_role("textbox", name=re.compile("^Fixtures, K2"))).to_be_focused()
    hand.type("4")
    hand.tap(hand.page.get_by_role("button", name="Save"))
    expect(hand.page.get_by_role("region", name="Fixture groups")).to_contain_text("4 fixtures")


def locked(hand: Hand) -> None:
    hand.tap(hand.page.get_by_role("radio", name="no access", exact=True))
    expect(hand.page.get_by_text("Saved: no access.")).to_be_visible()


def add_a_group(hand: Hand, kind: str, count: str) -> None:
    page = hand.page
    hand.tap(page.get_by_role("link", name="Add a group"))
    hand.tap(page.get_by_role("button", name=re.compile(f"^{kind}")))
    expect(page.get_by_label("Fixtures", exact=True)).to_be_focused()
    hand.type(count)
    hand.tap(page.get_by_role("button", name="Add the group"))
    expect(page.get_by_role("region", name="Fixture groups")).to_contain_text(f"{count} fixtures")


def on_to_the_next(hand: Hand, number: int) -> None:
    """Close it, where it is not; the next number is proposed."""
    page = hand.page
    onward = page.locator(".act").get_by_role("button", name=re.compile(f"new room {number + 1}$"))
    hand.tap(onward)
    stays = page.get_by_role("button", name="Stay here")
    proposed = page.get_by_label("Number", exact=True)
    expect(stays.or_(proposed)).to_be_visible()
    if stays.is_visible():
        hand.tap(onward)
    expect(proposed).to_have_value(str(number + 1))
    hand.tap(page.get_by_role("button", name="Add the room"))


def assert_all_of_it_arrived(client: Client) -> None:
    """Rooms, groups, counts and what was answered for the floor are on the server, which reads it as the phone does."""
    site = client.site_id()
    records = client.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]
    value = {each["id"]: {name: held["value"] for name, held in each["facets"].items()} for each in records}
    rooms = {
        value[each["id"]]["identity"]["number"]: each["id"]
        for each in records
        if each["type"] == "room" and str(value[each["id"]]["identity"].get("number")).startswith("10")
    }
    assert sorted(rooms) == [str(FIRST + at) for at in range(ROOMS)]
    groups = [each for each in records if each["type"] == "group" and each["parent"] in rooms.values()]
    assert sorted(value[each["id"]]["count"]["count"] for each in groups) == [4, 4, 4, 8, 8, 8, 8, 8, 8]
    assert [value[id]["progress"]["progress"] for _, id in sorted(rooms.items())][3::4] == ["no-access"] * 3
    points = client.get(f"/api/sites/{site}/completeness")["open_points"]
    there = {each["rule"] for each in points if each["room"] in rooms.values()}
    assert "no-access" in there
    assert "no-volts" not in there, "the volts were answered for the whole floor"
