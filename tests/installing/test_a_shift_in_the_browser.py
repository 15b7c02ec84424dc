"""A crew's shift from the rooms of the day to the signature: picked, scanned, done, a problem answered, a difference sent back.

One crew's phone that is killed and has no signal while there is work, and a manager at a desk. Real Chromium, a server of its own.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.installing.conftest import back_in_reach, value
from tests.installing.test_crew_in_the_browser import tick_all
from tests.journey.test_the_walk import kill
from tests.support.kept_page import page_is_kept
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Client, Server

Json = Any


@dataclass(frozen=True)
class Shift:
    """The room of the shift, what it is called, and the codes of the labels on its fixtures, by position."""

    site: str
    room: str
    name: str
    codes: dict[int, str]


def shift_on(server: Server) -> Shift:
    """Labels and a release; a room with one group of four or more fixtures, none an emergency one or one of a pair."""
    client = Client(server.url, "manager")
    site = client.site_id()
    assert client.call("POST", f"/api/sites/{site}/labels", {})[0] == 201
    assert client.call("POST", f"/api/sites/{site}/releases", {"note": "for the shift"})[0] == 201
    records = {each["id"]: each for each in pulled(client, site)}
    conversions = [each for each in records.values() if each["type"] == "conversion"]
    rooms = [records[each["parent"]]["parent"] for each in conversions]
    for each in conversions:
        group, frozen = records[each["parent"]], value(each, "identity")["frozen"]
        alone = rooms.count(group["parent"]) == 1 and "partner" not in frozen and frozen["driver"]
        if alone and frozen["emergency"]["duty"] == "none" and value(group, "count")["count"] >= 4:
            identity = value(records[group["parent"]], "identity")
            return Shift(
                site,
                group["parent"],
                f"{identity['number']} {identity['name']}",
                {
                    bound["position"]: value(label, "identity")["code"]
                    for label in records.values()
                    if label["type"] == "label" and (bound := value(label, "binding")).get("group") == group["id"]
                },
            )
    raise AssertionError("no such room in the demo")


def pulled(client: Client, site: str) -> list[Json]:
    found: list[Json] = client.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]
    return found


def of_type(server: Server, shift: Shift, name: str) -> list[Json]:
    client = Client(server.url, "manager")
    return [value(each, "identity") for each in pulled(client, shift.site) if each["type"] == name]


def open_the_site(page: Page, server: Server, name: str) -> Page:
    sign_in(page, server.url, name)
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("All sent.")).to_be_visible()
    page_is_kept(page)
    return page


def pushed(page: Page) -> AbstractContextManager[object]:
    """Waits until the server has answered what is saved within: the line says 'All sent.' before and after."""
    return page.expect_response(lambda answer: answer.url.endswith("/push"))


def assign(manager: Page, server: Server, shift: Shift) -> None:
    manager.goto(f"{server.url}/s/{shift.site}/desk/days")
    manager.get_by_label("Who", exact=True).fill("crew")
    with pushed(manager):
        manager.get_by_role("button", name=f"Assign {shift.name}").click()
    expect(manager.get_by_text("crew (assigned)")).to_be_visible()
    expect(manager.get_by_text("All sent.")).to_be_visible()


def pick(crew: Page, shift: Shift) -> None:
    """The first thing is loaded; of the second two are missing."""
    crew.get_by_role("link", name=f"Picking list of {shift.name}").click()
    first = crew.get_by_role("region", name="Take along").get_by_role("checkbox").first
    first.check()
    expect(crew.get_by_text(re.compile(r"^1 of \d+ picked$"))).to_be_visible()
    crew.get_by_role("button", name="Short of").nth(1).click()
    crew.get_by_label("How many are missing").fill("2")
    crew.get_by_role("button", name="Save").click()
    expect(crew.get_by_text("2 short")).to_be_visible()


def scan(crew: Page, server: Server, shift: Shift, position: int) -> None:
    """The label of a fixture, its code typed."""
    crew.goto(f"{server.url}/s/{shift.site}/scan")
    crew.get_by_label("Code under the QR").fill(shift.codes[position])
    crew.get_by_role("button", name="Open", exact=True).click()
    expect(crew.get_by_role("region", name="What to do")).to_be_visible()


def done_with(crew: Page) -> None:
    tick_all(crew)
    crew.get_by_role("button", name="Done", exact=True).click()
    expect(crew.get_by_text("Saved: done.")).to_be_visible()


def fitted_otherwise(crew: Page) -> None:
    """One piece fewer of the first item, because there were none left."""
    crew.get_by_role("button", name="Otherwise, or note a serial number").click()
    crew.get_by_role("button", name="One fewer").first.click()
    crew.get_by_role("radio", name="none left").check()


def a_problem(crew: Page, words: str) -> None:
    crew.get_by_role("button", name="A problem").click()
    crew.get_by_label("What is the problem?").fill(words)
    crew.get_by_role("button", name="Save").click()
    expect(crew.get_by_text("Saved: problem.")).to_be_visible()


def answer(manager: Page, server: Server, shift: Shift, path: str, choice: str, words: str) -> None:
    manager.goto(f"{server.url}/s/{shift.site}/desk/{path}")
    card = manager.get_by_role("article")
    expect(card).to_have_count(1)
    assert_fits_and_can_be_hit_and_read(manager, (360, 1280))
    card.get_by_role("radio", name=choice).check()
    card.get_by_label("In words, for the crew").fill(words)
    with pushed(manager):
        card.get_by_role("button", name="Send the answer").click()
    expect(card.get_by_role("button", name="Send the answer")).to_have_count(0)
    expect(manager.get_by_text("All sent.")).to_be_visible()


def today(crew: Page, server: Server, shift: Shift) -> None:
    crew.goto(f"{server.url}/s/{shift.site}/today")
    expect(crew.get_by_role("region", name="My rooms today")).to_contain_text(shift.name)


def sign(crew: Page, server: Server, shift: Shift, name: str) -> None:
    """Draw a line as a signature under the name."""
    today(crew, server, shift)
    crew.get_by_role("link", name=f"Sign {shift.name}").click()
    box = crew.get_by_role("img", name="Signature")
    box.scroll_into_view_if_needed()
    crew.get_by_label("Name", exact=True).fill(name)
    place = box.bounding_box()
    assert place is not None
    crew.mouse.move(place["x"] + 20, place["y"] + 20)
    crew.mouse.down()
    crew.mouse.move(place["x"] + 120, place["y"] + 50, steps=4)
    crew.mouse.up()
    crew.get_by_role("button", name="Sign", exact=True).click()
    expect(crew.get_by_text("Signed, and saved on this phone.")).to_be_visible()


def test_a_shift_from_the_picking_list_to_the_signature(
    fresh_server: Server,
    persistent_phone: Callable[..., BrowserContext],
    new_phone: Callable[..., BrowserContext],
    tmp_path: Path,
) -> None:
    shift = shift_on(fresh_server)
    manager = open_the_site(new_phone().new_page(), fresh_server, "manager")
    assign(manager, fresh_server, shift)

    # Picked and one fixture done without a signal; then the phone is killed.
    crew = open_the_site(persistent_phone().pages[0], fresh_server, "crew")
    today(crew, fresh_server, shift)
    assert_fits_and_can_be_hit_and_read(crew, (360,))
    crew.context.set_offline(True)
    pick(crew, shift)
    scan(crew, fresh_server, shift, 1)
    done_with(crew)
    kill(tmp_path / "phone")

    # Nothing is lost; the next fixture is a problem, the third is fitted otherwise.
    crew = persistent_phone().pages[0]
    crew.context.set_offline(True)
    today(crew, fresh_server, shift)
    left = len(shift.codes) - 1
    expect(crew.get_by_role("region", name="My rooms today")).to_contain_text(f"{left} of {left + 1} fixtures to do")
    crew.get_by_role("link", name=f"Picking list of {shift.name}").click()
    expect(crew.get_by_role("region", name="Take along").get_by_role("checkbox").first).to_be_checked()
    expect(crew.get_by_text("2 short")).to_be_visible()
    scan(crew, fresh_server, shift, 2)
    a_problem(crew, "The earth clamp is missing.")
    scan(crew, fresh_server, shift, 3)
    fitted_otherwise(crew)
    done_with(crew)
    # A browser that was killed may have lost who was signed in, and none of the work.
    crew.context.set_offline(False)
    sign_in(crew, fresh_server.url, "crew")
    expect(crew.get_by_text("All sent.")).to_be_visible()

    # The desk answers the one and sends the other back.
    answer(manager, fresh_server, shift, "problems", "do it so", "Use the clamp from the box.")
    answer(manager, fresh_server, shift, "fitted", "sent back: do it again", "Two bars each, please.")

    # The crew reads both where there is no signal, does them, and the foreman signs.
    today(crew, fresh_server, shift)
    from_the_desk = crew.get_by_role("region", name="Answered by the desk")
    expect(from_the_desk.get_by_role("link")).to_have_count(2)
    crew.context.set_offline(True)
    from_the_desk.get_by_role("link").filter(has_text="do it so").click()
    expect(crew.get_by_role("region", name="What the desk says")).to_contain_text("Use the clamp from the box.")
    done_with(crew)
    scan(crew, fresh_server, shift, 3)
    expect(crew.get_by_role("region", name="What the desk says")).to_contain_text("Two bars each, please.")
    done_with(crew)
    sign(crew, fresh_server, shift, "Ada Foreman")
    today(crew, fresh_server, shift)
    expect(crew.get_by_text("signed: Ada Foreman")).to_be_visible()
    expect(crew.get_by_role("region", name="Answered by the desk")).to_have_count(0)
    back_in_reach(crew)

    # What is on the server: the signature with its picture, and what is short as an open point.
    (signed,) = of_type(fresh_server, shift, "sign_off")
    assert (signed["name"], signed["signed_by"], signed["subject"]) == ("Ada Foreman", "drawn-signature", shift.room)
    assert (signed["done"], signed["fixtures"], signed["differs"]) == (3, len(shift.codes), 0)
    assert [each["purpose"] for each in of_type(fresh_server, shift, "photo")].count("signature") == 1
    told = Client(fresh_server.url, "manager").get(f"/api/sites/{shift.site}/completeness")["open_points"]
    mine = {each["rule"] for each in told if each["room"] == shift.room}
    assert "picked-short" in mine
    assert not mine & {"problem-open", "problem-to-do", "difference-open", "sent-back"}

    # What is noted later shows as later.
    manager.goto(f"{fresh_server.url}/s/{shift.site}/desk/days")
    signatures = manager.get_by_role("region", name="Signed")
    expect(signatures).to_contain_text("still so")
    expect(manager.get_by_role("region", name="Short when picked")).to_contain_text(shift.name)
    assert_fits_and_can_be_hit_and_read(manager, (360, 1280))
    scan(crew, fresh_server, shift, 4)
    done_with(crew)
    expect(crew.get_by_text("All sent.")).to_be_visible()
    manager.reload()
    expect(signatures).to_contain_text("1 fixture noted later")
