"""Photos and floor plans on a phone: taken where they matter, seen large, marked, taken away and back; rooms on a plan."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Locator, Page, expect
from tests.conftest import PHONE, go, sign_in
from tests.photos.test_plan_pages import plan_pdf
from tests.support.kept_page import page_is_kept
from tests.support.looks import (
    assert_fits_and_can_be_hit_and_read,
    assert_fits_with_letters_twice_as_large,
    found_at_rest,
)
from tests.support.server import Server

Ids = dict[str, str]
SAVED_WITHIN_S = 10

IDS = """async () => {
  const { store } = await import('/app/store/store.js');
  const site = await store.openSite(store.sites()[0].id);
  const rooms = await site.all('room');
  const floors = new Map();
  for (const room of rooms) floors.set(room.parent, [...(floors.get(room.parent) ?? []), room]);
  const number = room => room.facets.identity.number;
  const [group] = await site.all('group');
  const one = rooms.find(({ id }) => id === group.parent);
  const floor = one.parent;
  const walk = floors.get(floor).sort((a, b) => number(a).localeCompare(number(b)));
  const two = walk[(walk.findIndex(({ id }) => id === one.id) + 1) % walk.length];
  const other = [...floors.keys()].find(id => id !== floor);
  return { site: site.id, floor, other, room: one.id, number: number(one), next: two.id, next_number: number(two),
    group: group.id, kind: group.facets.identity.kind };
}"""
PHOTOS_OF = """async ([siteId, subject]) => {
  const { store } = await import('/app/store/store.js');
  const site = await store.openSite(siteId);
  const photos = await site.referring(subject, 'photo');
  return Promise.all(photos.map(async ({ facets }) => ({ ...facets, here: Boolean(await site.storage.photoBytes(facets.identity.sha256)) })));
}"""
PIN = """async ([siteId, id]) => {
  const { store } = await import('/app/store/store.js');
  return (await (await store.openSite(siteId)).get(id)).facets.pin ?? null;
}"""
MOVE = """async ([siteId, id, floor]) => {
  const { store } = await import('/app/store/store.js');
  const site = await store.openSite(siteId);
  const form = await site.form(id, 'identity');
  await site.save([{ ...form, value: { ...form.value, parent: floor } }]);
}"""
# Where a control stands after the browser itself has brought it into view, as a key or a switch does it.
COVERED = """() => {
  const foot = document.querySelector('.foot');
  return [...document.querySelectorAll('main :is(a[href], button:not(:disabled), input, select)')].filter(control => {
    control.focus();
    const box = control.getBoundingClientRect();
    const from = foot.getBoundingClientRect();
    const beside = box.right <= from.left || box.left >= from.right;
    return box.width && !beside && box.bottom > from.top + 1 && box.height < from.top;
  }).map(control => control.textContent.trim() || control.id || control.className);
}"""


@pytest.fixture(scope="module")
def surveyor(server: Server, browser: Browser) -> Iterator[Page]:
    context = browser.new_context(**PHONE)
    page = sign_in(context.new_page(), server.url, "surveyor")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    page_is_kept(page)
    yield page
    context.close()


@pytest.fixture(scope="module")
def ids(surveyor: Page) -> Ids:
    found: Ids = surveyor.evaluate(IDS)
    return found


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    """A plan of two rooms, and as good a photo as any."""
    image = Image.new("RGB", (1200, 800), "white")
    pen = ImageDraw.Draw(image)
    pen.rectangle((20, 20, 600, 780), outline="black", width=6)
    pen.rectangle((600, 20, 1180, 780), outline="black", width=6)
    image.save(tmp_path / "picture.png")
    return tmp_path / "picture.png"


def at(page: Page, ids: Ids, path: str) -> Page:
    page.context.set_offline(False)
    page.set_viewport_size({"width": 360, "height": 740})
    return go(page, f"/s/{ids['site']}{path}")


def tap(page: Page, sheet: Locator, x: float, y: float) -> None:
    """Tap a picture at shares of its width and height."""
    sheet.scroll_into_view_if_needed()
    box = sheet.bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + x * box["width"], box["y"] + y * box["height"])


def with_pins(page: Page, ids: Ids, picture: Path, *rooms: str) -> Page:
    """The floor's plan with pins of these rooms (by `number`, `next_number`): what no test before has made is made."""
    at(page, ids, f"/plans/{ids['floor']}")
    plan = page.get_by_role("region", name="Plan 1")
    expect(plan.or_(page.get_by_text("There is no plan of this floor yet")).first).to_be_visible()
    if plan.count() == 0:
        page.get_by_label("Photo of the plan").set_input_files(picture)
        expect(plan).to_be_visible()
    for room in rooms:
        pin = page.locator(".pin", has_text=ids[room])
        place = page.get_by_role("button", name=f"Place {ids[room]}")
        expect(pin.or_(place).first).to_be_visible()
        if pin.count() == 0:
            place.click()
            plan.press("ArrowUp")
            expect(pin).to_be_visible()
            page.get_by_role("button", name="Done").click()
    return page


def test_a_photo_says_what_it_shows_is_seen_large_and_gets_a_caption(surveyor: Page, ids: Ids, picture: Path) -> None:
    page = at(surveyor, ids, f"/record/{ids['kind']}/ballast")
    camera = page.get_by_label("Photo of the ballast's label")
    expect(camera).to_have_attribute("capture", "environment")
    camera.set_input_files(picture)
    expect(page.get_by_role("img", name="ballast label")).to_have_count(1)
    camera.set_input_files(picture)
    expect(page.get_by_text("Photo of the ballast's label (2 taken)")).to_be_visible()
    page.get_by_role("link", name="ballast label").first.click()
    expect(page.get_by_role("heading", name="Photo: ballast label")).to_be_visible()
    sheet = page.locator(".zoom-picture")
    whole = sheet.bounding_box()
    page.get_by_role("button", name="Larger").click()
    expect(page.get_by_role("button", name="Whole")).to_be_enabled()
    page.get_by_role("region", name="ballast label").press("+")
    larger = sheet.bounding_box()
    assert whole is not None
    assert larger is not None
    assert larger["width"] == pytest.approx(2 * whole["width"], abs=2)  # 1 to 1.5 to 2
    page.get_by_role("region", name="ballast label").press("0")
    expect(page.get_by_role("button", name="Whole")).to_be_disabled()
    page.get_by_label("Caption").fill("Date code on the end")
    page.get_by_role("button", name="Save the caption").click()
    expect(page.get_by_text("Saved on this phone")).to_be_visible()
    page.get_by_role("link", name="Back").click()
    expect(page.get_by_role("img", name="ballast label · Date code on the end")).to_be_visible()


def test_an_arrow_lies_beside_the_photo_and_its_bytes_stay(surveyor: Page, ids: Ids, picture: Path) -> None:
    page = at(surveyor, ids, f"/group/{ids['group']}")
    page.get_by_label("Photo of damage").set_input_files(picture)
    page.get_by_role("link", name="damage").click()
    (before,) = page.evaluate(PHOTOS_OF, [ids["site"], ids["group"]])
    page.get_by_role("button", name="Draw an arrow").click()
    expect(page.get_by_role("img", name="Arrow")).to_be_visible()
    tap(page, page.locator(".zoom-picture"), 0.9, 0.5)
    (tapped,) = with_head_at(page, ids, 9000)
    page.get_by_role("region", name="damage").press("ArrowLeft")
    (after,) = with_head_at(page, ids, tapped["mark"]["to_x"] - 50)
    assert after["mark"]["to_x"] == tapped["mark"]["to_x"] - 50
    assert after["identity"]["sha256"] == before["identity"]["sha256"]
    page.get_by_role("region", name="Arrow").get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back")).to_be_visible()


def with_head_at(page: Page, ids: Ids, to_x: int) -> list[dict[str, Any]]:
    """The group's photos once one of them has its arrow's head there, as near as a finger taps [1/10,000 of the width]."""
    end = time.monotonic() + SAVED_WITHIN_S
    while True:
        photos: list[dict[str, Any]] = page.evaluate(PHOTOS_OF, [ids["site"], ids["group"]])
        if any(each.get("mark") and abs(each["mark"]["to_x"] - to_x) <= 20 for each in photos):
            return photos
        assert time.monotonic() < end, f"no arrow's head came to {to_x}: {[each.get('mark') for each in photos]}"
        page.wait_for_timeout(50)


def test_a_photo_that_was_removed_comes_back(surveyor: Page, ids: Ids, picture: Path) -> None:
    page = at(surveyor, ids, f"/room/{ids['next']}")
    page.get_by_label("Photo of the room").set_input_files(picture)
    page.get_by_role("link", name="room", exact=True).click()
    page.get_by_role("button", name="Remove this photo").click()
    expect(page.get_by_text("The photo is removed")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("heading", name="Photo: room")).to_be_visible()


def test_rooms_are_placed_on_a_photographed_plan_without_a_signal(surveyor: Page, ids: Ids, picture: Path) -> None:
    page = at(surveyor, ids, f"/plans/{ids['floor']}")
    expect(page.get_by_text("There is no plan of this floor yet")).to_be_visible()
    page.context.set_offline(True)
    page.get_by_label("Photo of the plan").set_input_files(picture)
    page.get_by_role("button", name=f"Place {ids['number']}").click()
    sheet = page.locator(".zoom-picture")
    tap(page, sheet, 0.25, 0.5)
    pin = page.locator(".pin", has_text=ids["number"])
    expect(pin).to_be_visible()
    placed = page.evaluate(PIN, [ids["site"], ids["room"]])
    assert (placed["x"], placed["y"]) == (pytest.approx(2500, abs=40), pytest.approx(5000, abs=40))
    page.get_by_role("button", name="Right", exact=True).click()
    expect(pin).to_have_attribute("style", re.compile(rf"--x: {(placed['x'] + 50) / 100:g}%"))
    page.get_by_role("region", name="Where is").get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back")).to_be_visible()
    assert page.evaluate(PIN, [ids["site"], ids["room"]]) == placed
    page.get_by_role("button", name="Next room").click()
    expect(page.get_by_text(f"Tap on the plan where {ids['next_number']}")).to_be_visible()
    page.get_by_role("region", name="Plan 1").press("ArrowUp")  # without a tap it begins in the middle
    expect(page.locator(".pin", has_text=ids["next_number"])).to_be_visible()
    page.get_by_role("button", name="Done").click()
    pin.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(ids["number"])


def test_a_pin_goes_with_its_room_and_is_told_where_the_room_moves(surveyor: Page, ids: Ids, picture: Path) -> None:
    page = with_pins(surveyor, ids, picture, "number", "next_number")
    expect(page.locator(".pin", has_text=ids["next_number"])).to_be_visible()
    page.evaluate(MOVE, [ids["site"], ids["next"], ids["other"]])
    expect(page.get_by_text("Pins of what is on another floor now")).to_be_visible()
    expect(page.locator(".pin", has_text=ids["next_number"])).to_have_count(0)
    page.evaluate(MOVE, [ids["site"], ids["next"], ids["floor"]])
    expect(page.locator(".pin", has_text=ids["next_number"])).to_be_visible()
    go(page, f"/s/{ids['site']}/room/{ids['next']}")
    page.get_by_role("button", name="Remove this room").click()
    expect(page.get_by_text("removed, with all that was in it").or_(page.get_by_text("is removed"))).to_be_visible()
    at(page, ids, f"/plans/{ids['floor']}")
    expect(page.locator(".pin", has_text=ids["number"])).to_be_visible()
    expect(page.locator(".pin", has_text=ids["next_number"])).to_have_count(0)


def test_a_page_of_a_pdf_becomes_a_plan_that_a_crew_has_without_a_signal(
    surveyor: Page, ids: Ids, tmp_path: Path, server: Server, browser: Browser
) -> None:
    (tmp_path / "plans.pdf").write_bytes(plan_pdf(3))
    page = at(surveyor, ids, f"/plans/{ids['other']}")
    page.get_by_label("A page of a PDF").set_input_files(tmp_path / "plans.pdf")
    expect(page.get_by_role("img", name="Page 1 of 3")).to_be_visible()
    page.get_by_role("button", name="Next page").click()
    expect(page.get_by_role("img", name="Page 2 of 3")).to_be_visible()
    page.get_by_role("button", name="Take this page").click()
    expect(page.get_by_role("region", name="Plan 1")).to_be_visible()
    page.evaluate("async () => { await (await import('/app/store/store.js')).store.syncNow(); }")
    (plan,) = page.evaluate(PHOTOS_OF, [ids["site"], ids["other"]])
    assert (plan["identity"]["width_px"], plan["here"]) == (3200, True)
    crew = sign_in(browser.new_context(**PHONE).new_page(), server.url, "crew", f"/s/{ids['site']}")
    expect(crew.get_by_text("All sent.")).to_be_visible()
    crew.evaluate("async () => { await (await import('/app/store/store.js')).store.syncNow(); }")
    page_is_kept(crew)
    crew.context.set_offline(True)
    go(crew, f"/s/{ids['site']}/plans/{ids['other']}")
    expect(crew.get_by_role("region", name="Plan 1").locator("img")).to_be_visible()
    expect(crew.get_by_role("button", name="Place")).to_have_count(0)
    crew.context.close()


def test_photos_and_plans_fit_can_be_hit_and_read_and_nothing_hides_under_the_foot(
    surveyor: Page, ids: Ids, picture: Path
) -> None:
    page = at(surveyor, ids, f"/room/{ids['room']}")
    page.get_by_label("Photo of the room").set_input_files(picture)
    page.get_by_role("link", name="room", exact=True).click()
    page.get_by_role("button", name="Draw an arrow").click()
    expect(page.get_by_role("img", name="Arrow")).to_be_visible()
    assert_looks_well(page)
    with_pins(page, ids, picture, "number")
    at(page, ids, f"/room/{ids['room']}")
    at(page, ids, f"/plans/{ids['floor']}?place={ids['room']}")
    expect(page.get_by_role("button", name="Take the pin away")).to_be_visible()
    assert_looks_well(page)


def assert_looks_well(page: Page) -> None:
    assert_fits_and_can_be_hit_and_read(page)
    for width, height in ((320, 640), (740, 360), (1280, 800)):
        page.set_viewport_size({"width": width, "height": height})
        assert found_at_rest(page, COVERED) == [], f"under the foot at {width} × {height}"
    assert_fits_with_letters_twice_as_large(page)
    assert found_at_rest(page, COVERED) == [], "under the foot with letters twice as large"
    page.evaluate("() => { document.documentElement.style.fontSize = ''; }")
