"""Many rooms at once on a phone without a signal: ranges, pasted columns, copied floors, order, other floors; one undo each."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import go, sign_in
from tests.support.looks import assert_fits_and_can_be_hit_and_read, assert_fits_with_letters_twice_as_large
from tests.support.server import Client, Server

ROOM_OF_A_LIST = """async () => {
  const { store } = await import('/app/store/store.js');
  const site = [...store.opened.values()][0];
  const floor = (await site.all('floor')).find((each) => each.facets.identity.name === 'Undercroft');
  const value = { parent: floor.id, number: 'U78' };
  await site.save([{ record: site.newId(), type: 'room', facet: 'identity', value, seen: null }]);
}"""
GROUPS_OF_THREE = """async () => {
  const { store } = await import('/app/store/store.js');
  const groups = await [...store.opened.values()][0].all('group');
  return groups.filter(({ facets, mine }) => mine.count && facets.count.count === 3).length;
}"""


def to_floor(page: Page, floor: str = "Undercroft") -> Page:
    page.get_by_role("region", name=floor, exact=True).get_by_role("link", name="Several, copy, order").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(floor)
    return page


def type_rooms(page: Page, text: str) -> None:
    page.get_by_role("link", name="Several rooms at once").click()
    page.get_by_label("Rooms", exact=True).fill(text)


def rooms_on(page: Page, floor: str) -> list[str]:
    """Numbers of the rooms of a floor as the phone has them, in walk order."""
    found: list[str] = page.evaluate(
        """async (name) => {
          const { store } = await import('/app/store/store.js');
          const [site] = store.opened.values();
          const { floors, rooms } = await (await import('/app/views/surveying/walk.js')).readWalk(site);
          const floor = floors.find((each) => each.facets.identity.name === name);
          return rooms.filter((each) => each.parent === floor?.id).map((each) => each.facets.identity.number ?? '');
        }""",
        floor,
    )
    return found


def send(page: Page) -> None:
    page.context.set_offline(False)
    expect(page.locator(".sync-line")).to_have_attribute("data-unsent", "0", timeout=60_000)


def room_records(server: Server) -> list[dict[str, Any]]:
    client = Client(server.url, "manager")
    found: list[dict[str, Any]] = client.get(f"/api/sites/{client.site_id()}/pull?since=0&limit=5000")["records"]
    return [each for each in found if each["type"] == "room" and not each["removed"]]


def test_two_taps_on_the_button_make_a_room_and_a_group_once(phone: Page) -> None:
    before = rooms_on(phone, "Undercroft")
    phone.get_by_role("region", name="Undercroft", exact=True).get_by_role("link", name="Add a room here").click()
    phone.get_by_label("Number", exact=True).fill("U77")
    phone.get_by_role("button", name="Add the room").dblclick()
    expect(phone.get_by_role("heading", level=1)).to_contain_text("U77")
    assert rooms_on(phone, "Undercroft") == [*before, "U77"]
    phone.get_by_role("link", name="Add a group").click()
    phone.get_by_role("button", name=re.compile("^K1 ")).click()
    phone.get_by_label("Fixtures", exact=True).fill("3")
    phone.get_by_role("button", name="Add the group").dblclick()
    expect(phone.get_by_role("link", name="Add a group")).to_be_visible()
    assert phone.evaluate(GROUPS_OF_THREE) == 1
    phone.get_by_role("button", name="Duplicate the last group").dblclick()
    expect(phone.get_by_text("Another group")).to_be_visible()
    assert phone.evaluate(GROUPS_OF_THREE) == 2


def test_a_room_of_a_list_is_open_once_fixtures_are_entered_in_it(phone: Page) -> None:
    phone.evaluate(ROOM_OF_A_LIST)
    row = phone.get_by_role("link", name=re.compile("^U78"))
    expect(row).to_contain_text("not visited")
    row.click()
    phone.get_by_role("link", name="Add a group").click()
    phone.get_by_role("button", name=re.compile("^K1 ")).click()
    phone.get_by_label("Fixtures", exact=True).fill("3")
    phone.get_by_role("button", name="Add the group").click()
    expect(phone.get_by_role("radio", name="open")).to_be_checked()
    phone.get_by_role("link", name="Home", exact=True).click()
    expect(row).to_contain_text("open")


def test_a_range_is_seen_made_without_a_signal_arrives_and_is_taken_back_whole(
    phone: Page, fresh_server: Server
) -> None:
    before = rooms_on(phone, "Undercroft")
    type_rooms(to_floor(phone), "U20–U31, U40A-C")
    expect(phone.get_by_label(re.compile("^Number of room"))).to_have_count(15)
    phone.get_by_role("button", name="Make 15 rooms").click()
    expect(phone.get_by_text("15 rooms made on Undercroft.")).to_be_visible()
    made = [*before, *[f"U{n}" for n in range(20, 32)], "U40A", "U40B", "U40C"]
    assert rooms_on(phone, "Undercroft") == made
    send(phone)
    there = {each["facets"]["identity"]["value"].get("number") for each in room_records(fresh_server)}
    assert set(made) <= there
    phone.get_by_role("button", name="Undo").click()
    expect(phone.get_by_text("Taken back.")).to_be_visible()
    assert rooms_on(phone, "Undercroft") == before


def test_columns_of_a_spreadsheet_become_numbers_and_names_each_to_be_corrected(phone: Page) -> None:
    type_rooms(to_floor(phone), "No.\tRoom name\nU50\tStore, cold\nU51\tOfice\n")
    phone.get_by_label("Name of room 2").fill("Office")
    phone.get_by_role("button", name="Make 2 rooms").click()
    phone.get_by_role("link", name="To the rooms").click()
    expect(phone.get_by_role("link", name="U50 Store, cold")).to_be_visible()
    expect(phone.get_by_role("link", name="U51 Office")).to_be_visible()


def test_a_number_that_is_there_already_is_said_and_left_out_unless_it_is_wanted(phone: Page) -> None:
    type_rooms(to_floor(phone), "U01-U02, U60, U60")
    expect(phone.get_by_text("There is a U01 already: U01 Boiler hall, Undercroft.")).to_be_visible()
    expect(phone.get_by_text("U60 stands here twice.")).to_be_visible()
    expect(phone.get_by_role("button", name="Make 1 room", exact=True)).to_be_visible()
    phone.get_by_label("Make room 2").check()
    expect(phone.get_by_role("button", name="Make 2 rooms")).to_be_visible()
    phone.get_by_label("Number of room 1").fill("U61")
    phone.get_by_role("button", name="Make 3 rooms").click()
    expect(phone.get_by_text("3 rooms made on Undercroft.")).to_be_visible()
    assert rooms_on(phone, "Undercroft").count("U02") == 2


def test_a_range_that_runs_backwards_is_said_with_its_line_and_what_was_typed_stays(phone: Page) -> None:
    type_rooms(to_floor(phone), "U70\nU80–U72")
    expect(phone.get_by_role("alert")).to_have_text("Line 2: 'U80–U72' runs backwards. Type the lower number first.")
    expect(phone.get_by_label("Rooms", exact=True)).to_have_value("U70\nU80–U72")


def test_a_floor_is_copied_with_its_numbers_shifted(phone: Page) -> None:
    before = rooms_on(phone, "Undercroft")
    to_floor(phone).get_by_role("link", name="Copy this floor").click()
    phone.get_by_label("Name of the new floor").fill("Lower store")
    expect(phone.get_by_label("Numbers that begin with")).to_have_value("U")
    phone.get_by_label("begin there with").fill("S")
    phone.get_by_role("button", name=f"Make Lower store with {len(before)} rooms").click()
    expect(phone.get_by_text(f"{len(before)} rooms made on Lower store.")).to_be_visible()
    assert rooms_on(phone, "Lower store") == [number.replace("U", "S") for number in before]
    phone.get_by_role("button", name="Undo").click()
    expect(phone.get_by_text("Taken back.")).to_be_visible()
    assert rooms_on(phone, "Lower store") == []


def test_rooms_are_ordered_by_arrows_by_dragging_and_by_number(phone: Page) -> None:
    first, second, third, *rest = rooms_on(phone, "Undercroft")
    to_floor(phone).get_by_role("link", name="Order and move rooms").click()
    phone.get_by_role("button", name=re.compile(f"^Move {third} .* up$")).click()
    phone.get_by_role("button", name="Save the order").click()
    expect(phone.get_by_text("The order is saved.")).to_be_visible()
    assert rooms_on(phone, "Undercroft") == [first, third, second, *rest]

    handles = phone.locator(".drag-handle")
    handles.nth(0).hover()
    phone.mouse.down()
    box = handles.nth(2).bounding_box()
    assert box
    phone.mouse.move(box["x"] + 10, box["y"] + box["height"] - 6, steps=6)
    phone.mouse.up()
    phone.get_by_role("button", name="Save the order").click()
    expect(phone.get_by_text("The order is saved.")).to_be_visible()
    assert rooms_on(phone, "Undercroft") == [third, second, first, *rest]

    phone.get_by_role("button", name="Order by number").click()
    phone.get_by_role("button", name="Save the order").click()
    expect(phone.get_by_text("The order is saved.")).to_be_visible()
    assert rooms_on(phone, "Undercroft") == sorted([first, second, third, *rest])


def test_rooms_are_moved_to_another_floor_with_what_is_in_them_and_the_server_takes_it(
    phone: Page, fresh_server: Server
) -> None:
    before = rooms_on(phone, "Quay level")
    to_floor(phone).get_by_role("link", name="Order and move rooms").click()
    for number in ("U01", "U03"):
        phone.get_by_label(re.compile(f"^Choose {number}")).check()
    phone.get_by_label("Move the chosen rooms to", exact=True).select_option(label="Quay level")
    phone.get_by_role("button", name="Move 2 rooms").click()
    expect(phone.get_by_text("2 rooms moved to Quay level.")).to_be_visible()
    assert rooms_on(phone, "Quay level") == [*before, "U01", "U03"]
    send(phone)
    floors = {
        each["facets"]["identity"]["value"]["number"]: each["parent"]
        for each in room_records(fresh_server)
        if each["facets"]["identity"]["value"].get("number") in ("U01", "U03", before[0])
    }
    assert floors["U01"] == floors["U03"] == floors[before[0]]
    phone.get_by_role("button", name="Undo").click()
    expect(phone.get_by_text("Taken back.")).to_be_visible()
    assert rooms_on(phone, "Quay level") == before


def test_a_number_in_use_is_said_while_a_single_room_is_typed_and_hinders_nobody(phone: Page) -> None:
    phone.get_by_role("link", name="Add a room here").first.click()
    phone.get_by_label("Number", exact=True).fill("u01")
    expect(phone.get_by_role("alert")).to_have_text("There is a u01 already: U01 Boiler hall, Undercroft.")
    phone.get_by_role("button", name="Add the room").click()
    expect(phone.get_by_role("heading", level=1)).to_contain_text("u01")


def test_two_phones_that_make_the_same_number_meet_in_an_open_point(
    fresh_server: Server, phone: Page, new_phone: Callable[..., BrowserContext]
) -> None:
    other = sign_in(new_phone().new_page(), fresh_server.url, "second surveyor")
    other.get_by_role("link", name="Cannery").click()
    expect(other.get_by_text("All sent.")).to_be_visible()
    other.context.set_offline(True)
    for page in (phone, other):
        type_rooms(to_floor(page), "U77")
        page.get_by_role("button", name="Make 1 room", exact=True).click()
        expect(page.get_by_text("1 room made on Undercroft.")).to_be_visible()
        send(page)
    other.get_by_role("link", name="To the rooms").click()
    other.get_by_role("link", name="Open points", exact=True).click()
    expect(other.locator("[data-rule=duplicate-room-number]").filter(has_text="U77")).to_be_visible(timeout=60_000)


@pytest.mark.parametrize("screen", ["", "/several", "/copy", "/order"])
def test_a_screen_of_many_rooms_fits_and_can_be_hit_and_read(phone: Page, screen: str) -> None:
    to_floor(phone)
    path = phone.url.split("//", 1)[1].split("/", 1)[1]
    go(phone, f"/{path}{screen}")
    expect(phone.get_by_role("heading", level=1)).to_be_visible()
    if screen == "/several":
        phone.get_by_label("Rooms", exact=True).fill("U01–U09, 9-1")
    assert_fits_and_can_be_hit_and_read(phone)
    assert_fits_with_letters_twice_as_large(phone)
