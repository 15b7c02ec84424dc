"""One building from the surveyor's first step to the crew's last tick, in real Chromium at phone size, on a fresh server."""

from __future__ import annotations

import os
import re
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in_on_the_screen
from tests.labels.printed import label_with, read
from tests.support.kept_page import page_is_kept
from tests.support.server import Client, Server

CHECKS = 4
TYPED = ("47 1/4", "47 5/16", "47 1/4", "47 1/4")


def kill(profile: Path) -> None:
    """kill -9 every process of the browser that uses this profile."""
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                command = (entry / "cmdline").read_bytes()
            except OSError:
                continue
            if str(profile).encode() in command:
                os.kill(int(entry.name), signal.SIGKILL)


def open_site(page: Page, url: str, name: str) -> Page:
    """Sign in, open the site once with signal, and have the whole page and site on the phone."""
    sign_in_on_the_screen(page, url, name)
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    page_is_kept(page)
    return page


def survey_a_room(page: Page, picture: Path) -> str:
    """A new room with a group of a known kind, three readings, its supply and duty, a photo; the address of the group."""
    page.get_by_role("link", name="Add a room here").first.click()
    page.get_by_label("Number", exact=True).fill("U90")
    page.get_by_label("Name", exact=True).fill("Rope store")
    page.get_by_role("button", name="Add the room").click()
    page.get_by_label("Photo of the room").set_input_files(picture)
    expect(page.get_by_role("img", name="room")).to_be_visible()
    room = page.url
    fill_facet(page, "Surroundings", {"Moisture": "dry", "Hazardous area": "no"}, room)
    page.get_by_role("link", name="Add a group").click()
    page.get_by_role("button", name=re.compile("^K1 ")).click()
    page.get_by_label("Fixtures", exact=True).fill("2")
    page.get_by_role("button", name="Add the group").click()
    page.get_by_role("link", name=re.compile("^K1 ")).click()
    page.wait_for_url(re.compile("/group/"))
    group = page.url
    for typed in TYPED:
        page.goto(group + "/read")
        page.get_by_label("Cavity length, socket face to socket face").fill(typed)
        expect(page.locator(".live[data-verdict]")).not_to_have_attribute("data-verdict", "")
        page.get_by_role("button", name="Save this reading").click()
        expect(page.get_by_text("is saved")).to_be_visible()
    page.goto(group)
    expect(page.locator(".best-fit .verdict")).to_have_text(re.compile("^Fits"))
    fill_facet(page, "Supply", {"Volts": "277"}, group)
    fill_facet(page, "Emergency and controls", {"Emergency": "none"}, group)
    return group


def fill_facet(page: Page, facet: str, choices: dict[str, str], back: str) -> None:
    """Open a facet's form, choose, save, and be back where it was opened."""
    page.get_by_role("link", name=re.compile(f"^{facet}")).click()
    for field, value in choices.items():
        choose(page, field, value)
    page.get_by_role("button", name="Save").click()
    page.wait_for_url(back)


def choose(page: Page, field: str, value: str) -> None:
    """Choose a value of a field, whether it is drawn as a list or with all its choices in view."""
    expect(page.get_by_role("button", name="Save")).to_be_visible()
    in_view = page.get_by_role("group", name=re.compile(rf"^{field}( \[.*)?$"))
    if in_view.count():
        in_view.get_by_role("radio", name=value, exact=True).check()
    else:
        page.get_by_label(re.compile(rf"^{field}( \[.*)?$")).select_option(value)


def set_count(page: Page, group: str, count: int) -> None:
    page.goto(group)
    page.get_by_role("link", name=re.compile("^Count")).click()
    page.get_by_label("Fixtures", exact=True).fill(str(count))
    page.get_by_role("button", name="Save").click()
    page.wait_for_url(group)


def label_picture(pdf: bytes, code: str) -> Image.Image:
    """The label with this code, cut out of the printed sheets, read by a decoder that is not ours."""
    label = label_with(pdf, "a4", code)
    assert read(label) == {code}, "without a public address the symbol holds the code alone"
    return label.crop((0, 0, label.width // 2, label.height)).convert("RGB")


def film_of(label: Image.Image, to: Path) -> None:
    """A film for a fake camera: the label held still in front of it."""
    frame = Image.new("RGB", (1280, 720), "#8A8F8C")
    frame.paste(label.resize((460, 460 * label.height // label.width)), (410, 120))
    frame.save(to.with_suffix(".jpg"), quality=90)
    to.write_bytes(to.with_suffix(".jpg").read_bytes() * 30)


def records(client: Client, site: str, type_name: str) -> list[dict[str, Any]]:
    found, since, more = [], 0, True
    while more:
        page = client.get(f"/api/sites/{site}/pull?since={since}&limit=1000")
        found += [r for r in page["records"] if r["type"] == type_name]
        since, more = page["next"], page["more"]
    return found


def told_of(record: dict[str, Any], facet: str) -> dict[str, Any]:
    """A facet's value as the server has it; nothing where it was never set."""
    value: dict[str, Any] = record["facets"].get(facet, {}).get("value", {})
    return value


def test_a_building_is_walked_released_labelled_and_converted(
    fresh_server: Server,
    persistent_phone: Callable[..., BrowserContext],
    new_phone: Callable[..., BrowserContext],
    tmp_path: Path,
) -> None:
    url = fresh_server.url
    Image.new("RGB", (2000, 1500), "#0B5563").save(tmp_path / "room.jpg")

    # The surveyor, without a signal, and a phone that dies.
    surveyor = open_site(persistent_phone("surveyor").new_page(), url, "surveyor")
    site = surveyor.url.split("/s/")[1]
    surveyor.context.set_offline(True)
    group = survey_a_room(surveyor, tmp_path / "room.jpg")
    cookies = surveyor.context.cookies()
    kill(tmp_path / "surveyor")
    again = persistent_phone("surveyor")
    again.add_cookies(cookies)  # Chromium writes cookies to the disk twice a minute; on a walk this one is long there
    again.set_offline(True)
    surveyor = again.new_page()
    surveyor.goto(group)
    expect(surveyor.locator(".best-fit .verdict")).to_have_text(re.compile("^Fits"))
    expect(surveyor.get_by_role("contentinfo")).to_contain_text("not sent yet")

    # Back in the signal: all arrives, a second phone has it.
    surveyor.context.set_offline(False)
    expect(surveyor.get_by_text("All sent.")).to_be_visible(timeout=40_000)
    there = Client(url, "manager")
    (room,) = [r for r in records(there, site, "room") if told_of(r, "identity").get("number") == "U90"]
    assert [r["id"] for r in records(there, site, "group") if r["parent"] == room["id"]] == [group.rsplit("/", 1)[1]]
    assert told_of(room, "surroundings")["moisture"] == "dry"
    assert len([r for r in records(there, site, "photo") if told_of(r, "identity")["subject"] == room["id"]]) == 1
    readings = [r for r in records(there, site, "cavity_reading") if r["parent"] == group.rsplit("/", 1)[1]]
    assert len(readings) == len(TYPED), "the line said 'All sent.', and the server has all of it"
    second = open_site(new_phone().new_page(), url, "second surveyor")
    second.goto(group)
    expect(second.locator(".best-fit .verdict")).to_have_text(re.compile("^Fits"))

    # Two phones disagree about the count; both see it, one settles it.
    second.context.set_offline(True)
    surveyor.context.set_offline(True)
    set_count(surveyor, group, 3)
    set_count(second, group, 4)
    for phone in (surveyor, second):
        phone.context.set_offline(False)
        expect(phone.get_by_role("contentinfo")).not_to_contain_text("not sent yet", timeout=40_000)
    conflict = f"{url}/s/{site}/conflicts"
    for phone in (surveyor, second):
        phone.goto(conflict)
        expect(phone.locator("[data-conflict]").filter(has_text="Rope store")).to_be_visible(timeout=40_000)
    card = surveyor.locator("[data-conflict]").filter(has_text="Rope store")
    card.get_by_role("button", name="Keep this").first.click()
    expect(surveyor.locator("[data-conflict]").filter(has_text="Rope store")).to_have_count(0, timeout=70_000)
    expect(surveyor.get_by_text("All sent.")).to_be_visible(timeout=40_000)

    # The manager releases, makes codes and prints.
    manager = new_phone(viewport={"width": 1280, "height": 900}, is_mobile=False, has_touch=False).new_page()
    sign_in_on_the_screen(manager, url, "manager")
    desk = Client(url, "manager")
    group_id = group.rsplit("/", 1)[1]
    plan = desk.get(f"/api/sites/{site}/groups/{group_id}/plan")
    assert plan["state"] == "ready", plan["blockers"]
    manager.goto(f"{url}/s/{site}/desk/plan")
    manager.get_by_role("button", name="Release", exact=True).wait_for(timeout=60_000)
    if plan["from_memory"]:
        manager.get_by_label("I have seen the figures from memory").check()
    manager.get_by_role("button", name="Release", exact=True).click(timeout=60_000)
    expect(manager.get_by_text("Release 1 is made")).to_be_visible(timeout=60_000)
    manager.goto(f"{url}/s/{site}/desk/labels")
    manager.get_by_role("button", name="Make codes").click()
    expect(manager.get_by_text("codes made.")).to_be_visible(timeout=60_000)
    bound = [
        r["facets"]["identity"]["value"]["code"]
        for r in records(desk, site, "label")
        if r["facets"]["binding"]["value"] == {"group": group_id, "position": 1}
    ]
    assert len(bound) == 1

    # The second phone, left alone, asks again within a minute, and has heard of it.
    expect(second.locator("[data-conflict]").filter(has_text="Rope store")).to_have_count(0, timeout=70_000)

    film_of(label_picture(desk.get(f"/api/sites/{site}/labels.pdf"), bound[0]), tmp_path / "label.mjpeg")

    # The crew scans that very label, without a signal, and does the work.
    camera = [
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={tmp_path / 'label.mjpeg'}",
    ]
    crew = open_site(persistent_phone("crew", camera, permissions=["camera"]).new_page(), url, "crew")
    crew.context.set_offline(True)
    crew.goto(f"{url}/s/{site}/scan")
    crew.wait_for_url(re.compile(rf"/fixture/{group_id}/1"), timeout=40_000)
    expect(crew.get_by_role("main")).to_contain_text("277 V")
    done = crew.get_by_role("button", name="Done", exact=True)
    expect(done).to_be_disabled()
    ticks = crew.get_by_role("group", name="Before 'done'").get_by_role("checkbox")
    assert ticks.count() == CHECKS
    for place in range(CHECKS):
        ticks.nth(place).check()
    done.click()
    expect(crew.get_by_text("Saved: done.")).to_be_visible()
    assert re.search(r"\b[1-9]\d* not sent yet", crew.get_by_role("contentinfo").inner_text()), (
        "ticks and what was done"
    )
    assert records(desk, site, "installation") == []
    crew.context.set_offline(False)
    expect(crew.get_by_text("All sent.")).to_be_visible(timeout=40_000)

    # The manager sees it: the server is asked as soon as the line says so.
    (installed,) = records(desk, site, "installation")
    told = installed["facets"]["identity"]["value"]
    assert (told["outcome"], told["position"], told["code"]) == ("done", 1, bound[0])
    assert len(told["checks"]) == CHECKS
    manager.goto(f"{url}/s/{site}/desk")
    expect(manager.get_by_role("main")).to_contain_text("1 done", timeout=40_000)
