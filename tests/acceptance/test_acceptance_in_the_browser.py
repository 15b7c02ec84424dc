"""A hand-over walked with the customer without a signal: points closed with photos, a signature, and a later change beside it."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Locator, Page, expect

from tests.conftest import go, sign_in
from tests.handover.some_report import a_picture
from tests.handover.taken_away import text_of
from tests.handover.test_report_of_the_demo_building import HandedOver, count_of, no_duty
from tests.installing.conftest import back_in_reach
from tests.open_points.complete_site import Hand
from tests.support.kept_page import page_is_kept
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

Json = Any
SHOTS = os.environ.get("SPANWALK_SHOTS")


def shot(page: Page, name: str) -> None:
    """A picture of the screen in either theme, where somebody wants to look at it."""
    if SHOTS:
        page.set_viewport_size({"width": 360, "height": 740})
        for theme in ("light", "dark"):
            page.emulate_media(color_scheme=theme)  # type: ignore[arg-type]
            page.screenshot(path=str(Path(SHOTS) / f"{name}-{theme}.png"), full_page=True)
        page.emulate_media(color_scheme="light")


def a_room_with_work(server: Server) -> tuple[HandedOver, Json, str, str]:
    """A released building in which one group is done but for one fixture; the group's conversion, its room and its name."""
    client = Client(server.url, "manager")
    site = client.site_id()
    assert release_seen(client, site)[0] == 201
    assert client.call("POST", f"/api/sites/{site}/labels", {})[0] == 201
    made = HandedOver(client, site, Hand(client, site))
    rooms = {each["id"]: each["identity"] for each in made.records("room")}
    groups = {each["id"]: each["identity"]["parent"] for each in made.records("group")}
    found = [each for each in made.records("conversion") if no_duty(each) and 3 <= count_of(each["identity"]) <= 12]
    conversion = next(each for each in found if rooms[groups[each["identity"]["parent"]]].get("name"))
    room = groups[conversion["identity"]["parent"]]
    for position in range(1, count_of(conversion["identity"])):
        made.note(conversion, position, as_fitted={"as_released": True})
    problem = {"problem": "A bent holder", "reason": "sockets-damaged"}
    made.note(conversion, count_of(conversion["identity"]), "problem", identity=problem)
    name = f"{rooms[room].get('number', '')} {rooms[room]['name']}".strip()
    return made, conversion, room, name


def draw(page: Page) -> None:
    canvas = page.locator("canvas.signature")
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 20, box["y"] + 40)
    page.mouse.down()
    page.mouse.move(box["x"] + 120, box["y"] + 20, steps=4)
    page.mouse.move(box["x"] + 200, box["y"] + 60, steps=4)
    page.mouse.up()


def picture(page: Page) -> str:
    """What is on the pad, as a picture."""
    return str(page.locator("canvas.signature").evaluate("canvas => canvas.toDataURL()"))


def photo_of(point: Locator) -> None:
    point.get_by_label("Take a photo").set_input_files(
        {"name": "after.jpg", "mimeType": "image/jpeg", "buffer": a_picture(3)}
    )


def test_a_punch_list_is_walked_and_signed_offline_and_a_later_change_stands_beside_the_signature(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    made, conversion, room, name = a_room_with_work(server)
    page = sign_in(new_phone().new_page(), server.url, "crew")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("All sent.")).to_be_visible()
    page_is_kept(page)
    page.context.set_offline(True)
    go(page, f"/s/{made.site}/today")
    page.get_by_role("link", name=re.compile("^Acceptance")).click()
    expect(page.get_by_role("link", name=re.compile(f"^{re.escape(name)}"))).to_be_visible()
    shot(page, "rooms")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    page.get_by_role("link", name=re.compile(f"^{re.escape(name)}")).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(name)
    walk_the_room(page)
    sign_the_room(page)
    with page.expect_response(lambda answer: "/photos/" in answer.url and answer.request.method == "PUT"):
        back_in_reach(page)
    expect(page.get_by_text("All sent.")).to_be_visible()
    signed = assert_it_arrived(made, room)
    last = count_of(conversion["identity"])
    made.note(conversion, last, as_fitted={"as_released": True})
    page.evaluate("async () => { await (await import('/app/store/store.js')).store.syncNow(); }")
    beside = page.get_by_role("region", name="Changed since it was signed")
    expect(beside).to_contain_text(re.compile("As it was signed.*As it is now", re.DOTALL))
    expect(beside).to_contain_text(f"no. {last}: problem")
    shot(page, "changed")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    assert_the_report_tells_it(made, signed)


ONE_PHOTO_FAILS = """async () => {
  const { store } = await import('/app/store/store.js');
  const [site] = store.opened.values();
  site.addPhoto = async () => {
    delete site.addPhoto;
    throw new Error('no room for it');
  };
}"""


def walk_the_room(page: Page) -> None:
    points = page.get_by_role("region", name="Open points")
    expect(points).to_contain_text("problem: sockets or ends are damaged: A bent holder")
    add = page.locator("details", has=page.get_by_text("Add a point", exact=True))
    add.locator("summary").click()
    page.get_by_role("button", name="Put it on the list").click()
    expect(page.get_by_role("alert")).to_contain_text("Say what is to be made good")
    page.get_by_label("What is to be made good").fill("Scratched cover by the door")
    photo_of(add)
    page.evaluate(ONE_PHOTO_FAILS)
    page.get_by_role("button", name="Put it on the list").click()
    expect(add.get_by_role("alert")).to_contain_text("no room for it")
    page.get_by_role("button", name="Put it on the list").click()
    own = points.get_by_role("listitem").filter(has_text="Scratched cover by the door")
    expect(page.get_by_label("What is to be made good")).to_have_value("")
    expect(own).to_have_count(1)
    expect(own.get_by_role("img")).to_have_count(1)
    own.get_by_text("Close this point").click()
    own.get_by_role("radio", name="made good").check()
    own.get_by_label("In words").fill("New cover")
    photo_of(own)
    shot(page, "closing")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    own.get_by_role("button", name="Close it").click()
    closed = page.get_by_role("region", name="Closed on the walk")
    expect(closed).to_contain_text("New cover")
    expect(closed.get_by_role("img")).to_have_count(2)  # as it was found, and made good


def sign_the_room(page: Page) -> None:
    draw(page)
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("Enter the name of who signs")
    page.get_by_label("Name", exact=True).fill("Ines Okafor")
    shot(page, "signing")
    drawn = picture(page)
    page.reload()  # as a phone that was killed opens again
    expect(page.get_by_text("Name and strokes are kept from before")).to_be_visible()
    expect(page.get_by_label("Name", exact=True)).to_have_value("Ines Okafor")
    assert picture(page) == drawn
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.get_by_text("Signed, and saved on this phone.")).to_be_visible()


def assert_it_arrived(made: HandedOver, room: str) -> Json:
    (signed,) = made.records("acceptance")
    said = signed["identity"]
    assert (said["subject"], said["name"], said["signed_by"]) == (room, "Ines Okafor", "drawn-signature")
    text = "".join(f"{line}\n" for line in said["shown"]).encode()
    assert hashlib.sha256(text).hexdigest() == said["content"]
    assert made.client.get(f"/api/sites/{made.site}/acceptances/{signed['id']}.txt") == text
    own = [each for each in made.records("punch_point") if "about" not in each["identity"]]
    assert [each["closed"]["how"] for each in own] == ["made-good"]
    of = {each["identity"]["subject"]: each["identity"]["purpose"] for each in made.records("photo")}
    assert of[signed["id"]] == "signature"
    assert of[own[0]["id"]] == "after"
    return signed


def assert_the_report_tells_it(made: HandedOver, signed: Json) -> None:
    told = text_of(made.file("pdf"))
    assert "Signed by Ines Okafor" in told
    assert signed["identity"]["content"] in told.replace(" ", "")
    assert "Changed since it was signed:" in told
    assert "Scratched cover by the door" in told
