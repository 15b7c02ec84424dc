"""A surveyor with a phone and no signal: rooms, groups, kinds, facets, photos; wrong input is named and nothing is lost."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect
from tests.conftest import sign_in
from tests.support.kept_page import page_is_kept
from tests.support.server import Client, Server


@pytest.fixture
def phone(server: Server, new_phone: Callable[..., BrowserContext]) -> Page:
    """A surveyor who has opened the site, and then walked out of reach of any signal."""
    page = sign_in(new_phone().new_page(), server.url, "surveyor")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    page_is_kept(page)
    page.context.set_offline(True)
    return page


def add_room(page: Page, number: str, name: str) -> None:
    page.get_by_role("link", name="Add a room here").first.click()
    page.get_by_label("Number", exact=True).fill(number)
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_role("button", name="Add the room").click()
    expect(page.get_by_role("heading", name=f"{number} {name}")).to_be_visible()


def add_group(page: Page, kind: str, count: int) -> None:
    page.get_by_role("link", name="Add a group").click()
    page.get_by_role("button", name=re.compile(f"^{kind}")).click()
    if kind == "A new kind":
        page.get_by_role("button", name="Count first, describe later").click()
    page.get_by_label("Fixtures", exact=True).fill(str(count))
    page.get_by_role("button", name="Add the group").click()


def groups_here(page: Page) -> Locator:
    return page.get_by_role("region", name="Fixture groups")


def room_on_server(server: Server, number: str) -> dict[str, object]:
    client = Client(server.url, "manager")
    records = client.get(f"/api/sites/{client.site_id()}/pull?since=0&limit=2000")["records"]
    found = [r for r in records if r["type"] == "room" and r["facets"]["identity"]["value"].get("number") == number]
    assert len(found) == 1
    return {name: held["value"] for name, held in found[0]["facets"].items()}


def test_a_room_with_a_group_of_a_known_kind_survives_a_reload_and_arrives(phone: Page, server: Server) -> None:
    add_room(phone, "T01", "Tin store")
    add_group(phone, "K1 ", 7)
    expect(groups_here(phone)).to_contain_text("7 fixtures")
    phone.reload()
    expect(groups_here(phone)).to_contain_text("7 fixtures")
    expect(phone.get_by_role("contentinfo")).to_contain_text("not sent yet")
    phone.context.set_offline(False)
    expect(phone.get_by_text("All sent.")).to_be_visible()
    assert room_on_server(server, "T01")["identity"]["name"] == "Tin store"  # type: ignore[index]


def test_the_last_group_is_duplicated_and_taken_back(phone: Page) -> None:
    add_room(phone, "T02", "Label store")
    add_group(phone, "K1 ", 4)
    groups = groups_here(phone).get_by_role("listitem")
    phone.get_by_role("button", name="Duplicate the last group").click()
    expect(groups).to_have_count(2)
    groups_here(phone).get_by_role("button", name="Undo").click()
    expect(groups).to_have_count(1)


def test_a_new_kind_leads_on_to_the_tape_and_is_described_when_there_is_time(phone: Page) -> None:
    add_room(phone, "T03", "Lid store")
    add_group(phone, "A new kind", 3)
    expect(phone.get_by_role("heading", name="Read a cavity")).to_be_visible()
    phone.get_by_role("link", name="Back", exact=True).click()
    phone.get_by_role("link", name="Described once, for all groups of this kind").click()
    phone.get_by_role("link", name="Body").click()
    expect(phone.get_by_role("note")).to_contain_text("ladder")
    phone.get_by_label("Kind of body").select_option("strip")
    phone.get_by_label("Clear width for a bar").fill("2 1/2")
    expect(phone.get_by_text("2 1/2 in (63.5 mm)").or_(phone.get_by_text("63.5 mm"))).to_be_visible()
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_role("link", name="Body")).to_contain_text("strip")
    expect(phone.get_by_text("Body: saved on this phone.")).to_be_visible()
    phone.get_by_role("button", name="Undo").click()
    expect(phone.get_by_role("link", name="Body")).not_to_contain_text("strip")


def test_a_half_typed_form_survives_the_way_back_and_a_new_start(phone: Page) -> None:
    add_room(phone, "T12", "Half typed")
    phone.get_by_role("link", name="Room", exact=False).filter(has_text="Number").click()
    phone.get_by_label("Name", exact=True).fill("Half typed, by the quay")
    phone.get_by_role("link", name="Back", exact=True).click()
    expect(phone.get_by_label("Name", exact=True)).to_have_count(0)
    phone.reload()
    phone.get_by_role("link", name="Room", exact=False).filter(has_text="Number").click()
    expect(phone.get_by_text("still here, not saved yet")).to_be_visible()
    expect(phone.get_by_label("Name", exact=True)).to_have_value("Half typed, by the quay")
    phone.get_by_role("button", name="Start afresh").click()
    expect(phone.get_by_label("Name", exact=True)).to_have_value("Half typed")


def test_what_is_answered_for_a_floor_shows_in_its_rooms_with_where_it_comes_from(phone: Page) -> None:
    phone.get_by_role("link", name="Answers for the whole floor").first.click()
    phone.get_by_role("link", name="Surroundings on this floor").click()
    phone.get_by_role("group", name="Moisture").get_by_role("radio", name="damp", exact=True).check()
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_text("Surroundings on this floor: saved on this phone.")).to_be_visible()
    phone.get_by_role("link", name="Back", exact=True).click()
    add_room(phone, "T13", "Says nothing")
    row = phone.get_by_role("link", name="Surroundings")
    expect(row).to_contain_text("Moisture: damp")
    expect(row).to_contain_text("from Undercroft, seen by you")


def test_a_group_becomes_another_kind_and_keeps_its_count(phone: Page) -> None:
    add_room(phone, "T14", "Taken for another")
    add_group(phone, "K1 ", 5)
    phone.get_by_role("region", name="Fixture groups").get_by_role("link", name="K1 ").click()
    phone.get_by_role("link", name="Another kind").click()
    phone.get_by_role("button", name=re.compile("^K2 ")).click()
    expect(phone.get_by_role("heading", name="K2 ")).to_contain_text("× 5")
    phone.get_by_role("button", name="Undo").click()
    expect(phone.get_by_role("heading", name="K1 ")).to_contain_text("× 5")


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("0", "too small; it must be 1 or more"),
        ("-1", "too small"),
        ("10000", "too large; it must be 2000 or less"),
        ("", "is missing"),
    ],
)
def test_a_count_that_cannot_be_is_named_and_nothing_else_is_lost(phone: Page, typed: str, told: str) -> None:
    add_room(phone, "T04", "Odd counts")
    phone.get_by_role("link", name="Add a group").click()
    phone.get_by_role("button", name=re.compile("^K1 ")).click()
    phone.get_by_label("Which ones").fill("by the door")
    phone.get_by_label("Fixtures", exact=True).fill(typed)
    phone.get_by_role("button", name="Add the group").click()
    expect(phone.get_by_role("alert")).to_contain_text("Fixtures")
    expect(phone.get_by_role("alert")).to_contain_text(told)
    expect(phone.get_by_label("Which ones")).to_have_value("by the door")


@pytest.mark.parametrize("typed", ["17/16", "47 1/3", "45 3/", "-3", "12 km"])
def test_a_length_that_no_tape_shows_is_named_and_kept_as_typed(phone: Page, typed: str) -> None:
    add_room(phone, "T05", "Odd lengths")
    phone.get_by_role("link", name="Size").click()
    field = phone.get_by_label("Width")
    field.fill(typed)
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_role("alert")).to_be_visible()
    expect(field).to_have_value(typed)
    field.fill("12' 6\"")
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_role("link", name="Size")).to_contain_text("12 ft 6 in")


def test_no_access_is_saved_with_the_tap_and_then_asks_why(phone: Page) -> None:
    add_room(phone, "T06", "Locked")
    phone.get_by_label("no access", exact=True).check()
    expect(phone.get_by_text("Saved: no access.")).to_be_visible()
    expect(phone.get_by_label("Why: no access?")).to_be_visible()
    phone.go_back()
    expect(phone.get_by_role("link", name="T06 Locked")).to_contain_text("no access")
    phone.get_by_role("link", name="T06 Locked").click()
    phone.get_by_label("Why: no access?").fill("nobody had the key")
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_text("nobody had the key")).to_be_visible()


def test_a_removed_room_comes_back_with_what_was_in_it(phone: Page) -> None:
    add_room(phone, "T07", "Gone")
    add_group(phone, "K1 ", 2)
    phone.get_by_role("button", name="Remove this room and its 1 group").click()
    expect(phone.get_by_text("is removed, with what was in it")).to_be_visible()
    phone.get_by_role("button", name="Undo").click()
    expect(phone.get_by_role("heading", name="T07 Gone")).to_be_visible()
    expect(groups_here(phone)).to_contain_text("2 fixtures")


def test_a_photo_of_the_room_shows_at_once(phone: Page, tmp_path: Path) -> None:
    from PIL import Image

    Image.new("RGB", (2400, 1800), "#0B5563").save(tmp_path / "room.jpg")
    add_room(phone, "T08", "Seen")
    phone.get_by_label("Photo of the room").set_input_files(tmp_path / "room.jpg")
    expect(phone.get_by_role("img", name="room")).to_be_visible()
    expect(phone.get_by_role("contentinfo")).to_contain_text("not sent yet")


def test_a_file_that_is_no_photo_gets_a_sentence(phone: Page, tmp_path: Path) -> None:
    (tmp_path / "plan.jpg").write_bytes(b"%PDF-1.7 not a picture")
    add_room(phone, "T09", "Papers")
    phone.get_by_label("Photo of the room").set_input_files(tmp_path / "plan.jpg")
    expect(phone.get_by_role("alert")).to_contain_text("is not a picture that this phone can read")


def test_a_hostile_room_name_stays_text(phone: Page) -> None:
    add_room(phone, "T10", "<img src=x onerror=alert(1)>")
    assert phone.locator("main img[src=x]").count() == 0


def test_an_unknown_address_and_a_site_that_is_not_ones_own_say_so(phone: Page, server: Server) -> None:
    phone.goto(server.url + "/nowhere")
    expect(phone.get_by_role("alert")).to_contain_text("There is no page at /nowhere")
    phone.goto(server.url + "/s/00000000-0000-4000-8000-000000000000")
    expect(phone.get_by_role("alert")).to_contain_text("This site is not among yours")


def test_a_wrong_password_is_told_and_the_name_is_kept(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = new_phone().new_page()
    page.goto(server.url + "/sign-in")
    page.get_by_label("Name", exact=True).fill("surveyor")
    page.get_by_label("Password", exact=True).fill("wrong")
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.get_by_label("Name", exact=True)).to_have_value("surveyor")


def test_the_crew_reads_the_walk_and_is_offered_nothing_that_would_be_refused(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = sign_in(new_phone().new_page(), server.url, "crew")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    links = page.get_by_role("navigation", name="Places").get_by_role("link")
    expect(links).to_have_text(["Home", "Today", "Scan a label", "Find", "More"])
    expect(page.get_by_role("link", name="Add a room here")).to_have_count(0)
    page.get_by_role("link", name="U01 Boiler hall").click()
    expect(page.get_by_role("region", name="About the room")).to_contain_text("concrete soffit")
    expect(page.get_by_role("link", name="Ceiling")).to_have_count(0)
    expect(page.get_by_role("link", name="Add a group")).to_have_count(0)
    expect(page.get_by_role("button", name="Remove this room")).to_have_count(0)


def test_a_room_called_surveyed_is_saved_and_says_what_is_still_open_and_who_can_close_it(phone: Page) -> None:
    add_room(phone, "T15", "Called early")
    phone.get_by_role("radio", name="surveyed", exact=True).check()
    expect(phone.get_by_text("Saved: surveyed.")).to_be_visible()
    expect(phone.get_by_text("Still open here: 1 open point")).to_be_visible()
    expect(phone.get_by_text("there is no fixture group in it")).to_be_visible()
    expect(phone.get_by_text("You can close this").first).to_be_visible()
