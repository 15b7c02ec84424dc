"""A crew's shift from the rooms of the day to the signature: picked, scanned, done, a problem answered, a difference sent back.

Two people of a crew, each with a phone without a signal while there is work, one of which is killed; and a manager at a
desk. Real Chromium, a server of its own.
"""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import BrowserContext, Locator, Page, expect
from tests.conftest import WITHOUT_WORKER, go, sign_in
from tests.installing.conftest import back_in_reach, value
from tests.installing.test_crew_in_the_browser import tick_all
from tests.journey.test_the_walk import kill
from tests.open_points.complete_site import Hand
from tests.support.kept_page import page_is_kept
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.releasing import release_seen
from tests.support.server import PASSWORD, Client, Server

Json = Any

PLAN_WITH_PIN = """async ([siteId, roomId, picture]) => {
  const { store } = await import('/app/store/store.js');
  const site = await store.openSite(siteId);
  const { parent, seen } = await site.get(roomId);
  const bytes = Uint8Array.from(atob(picture), (each) => each.charCodeAt(0));
  const plan = await site.addPhoto({ subject: parent, purpose: 'floor-plan', blob: new Blob([bytes]) });
  const pin = { record: roomId, type: 'room', facet: 'pin', value: { plan, x: 4000, y: 6000 }, seen: seen.pin ?? null };
  await site.save([pin]);
}"""


@dataclass(frozen=True)
class Shift:
    """The room of the shift, its group, what it is called, and the codes of the labels on its fixtures, by position."""

    site: str
    room: str
    group: str
    name: str
    codes: dict[int, str]


def shift_on(server: Server) -> Shift:
    """Labels and a release; a room with one group of six or more fixtures, none an emergency one or one of a pair."""
    client = Client(server.url, "manager")
    site = client.site_id()
    assert client.call("POST", f"/api/sites/{site}/labels", {})[0] == 201
    assert release_seen(client, site, "for the shift")[0] == 201
    records = {each["id"]: each for each in pulled(client, site)}
    conversions = [each for each in records.values() if each["type"] == "conversion"]
    rooms = [records[each["parent"]]["parent"] for each in conversions]
    for each in conversions:
        group, frozen = records[each["parent"]], value(each, "identity")["frozen"]
        alone = rooms.count(group["parent"]) == 1 and "partner" not in frozen and frozen["driver"]
        if alone and frozen["emergency"]["duty"] == "none" and value(group, "count")["count"] >= 6:
            identity = value(records[group["parent"]], "identity")
            return Shift(
                site,
                group["parent"],
                group["id"],
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


def second_of_the_crew(server: Server, shift: Shift, name: str) -> None:
    """Somebody who comes onto the site by the manager's invitation."""
    status, made = Client(server.url, "manager").call("POST", f"/api/sites/{shift.site}/invites", {"role": "crew"})
    assert status == 201
    body = {"secret": made["address"].split("#")[1], "name": name, "password": PASSWORD}
    assert Client(server.url).call("POST", "/api/links/accept", body)[0] == 200


def open_the_site(page: Page, server: Server, name: str, works_offline: bool = True) -> Page:
    sign_in(page, server.url, name)
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("All sent.")).to_be_visible()
    if works_offline:
        page_is_kept(page)
    return page


def fetch_news(page: Page) -> None:
    page.evaluate("async () => { await (await import('/app/store/store.js')).store.syncNow(); }")
    expect(page.get_by_text("All sent.")).to_be_visible()


def pushed(page: Page) -> AbstractContextManager[object]:
    """Waits until the server has answered what is saved within: the line says 'All sent.' before and after."""
    return page.expect_response(lambda answer: answer.url.endswith("/push"))


def put_on_a_plan(manager: Page, shift: Shift) -> None:
    """The floor has a plan, and the room its place on it."""
    drawn = io.BytesIO()
    Image.new("RGB", (900, 600), "white").save(drawn, "PNG")
    picture = base64.b64encode(drawn.getvalue()).decode()
    with pushed(manager):
        manager.evaluate(PLAN_WITH_PIN, [shift.site, shift.room, picture])
    expect(manager.get_by_text("All sent.")).to_be_visible()


def take_the_room(crew: Page, shift: Shift) -> None:
    go(crew, f"/s/{shift.site}/today")
    with pushed(crew):
        crew.get_by_role("checkbox", name=shift.name).check()
    expect(crew.get_by_role("region", name="My rooms today")).to_contain_text(shift.name)
    expect(crew.get_by_text("All sent.")).to_be_visible()


def open_from_the_plan(crew: Page, shift: Shift) -> None:
    """A tap on the room's pin, which says how far it is, opens the room."""
    crew.get_by_role("button", name=re.compile(rf"\d+ to do: {shift.name}, you")).click()
    expect(crew.get_by_role("heading", name=shift.name)).to_be_visible()
    expect(crew.get_by_role("link", name=re.compile("^On with .*, fixture 1$"))).to_be_visible()


def assign(manager: Page, shift: Shift) -> None:
    go(manager, f"/s/{shift.site}/desk/days")
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


def scan(crew: Page, shift: Shift, position: int) -> None:
    """The label of a fixture, its code typed."""
    go(crew, f"/s/{shift.site}/scan")
    crew.get_by_label("Code under the QR").fill(shift.codes[position])
    crew.get_by_role("button", name="Open", exact=True).click()
    expect(crew.get_by_role("region", name="What to do")).to_be_visible()


def checks(crew: Page) -> Locator:
    return crew.get_by_role("group", name="Before 'done'").get_by_role("checkbox")


def steps(crew: Page) -> Locator:
    return crew.get_by_role("region", name="Steps").get_by_role("checkbox")


def tick(crew: Page, shift: Shift, position: int, check: int, step: int) -> None:
    """One of the ticks before 'done', and one step."""
    scan(crew, shift, position)
    checks(crew).nth(check).check()
    steps(crew).nth(step).check()
    expect(crew.get_by_role("region", name="Steps").get_by_role("status")).to_contain_text("1 of")


def done_with(crew: Page) -> None:
    tick_all(crew)
    crew.get_by_role("button", name="Done", exact=True).click()
    expect(crew.get_by_text("Saved: done.")).to_be_visible()


def fitted_otherwise(crew: Page) -> None:
    """One piece fewer of the first item, the others from the spares, because there were none left."""
    crew.get_by_role("button", name="Otherwise, or note a serial number").click()
    crew.get_by_role("button", name="One fewer").first.click()
    crew.get_by_role("checkbox", name="Taken from the spares").first.check()
    crew.get_by_role("radio", name="none left").check()


def a_problem(crew: Page, words: str) -> None:
    crew.get_by_role("button", name="A problem").click()
    crew.get_by_label("What is the problem?").fill(words)
    crew.get_by_role("button", name="Save").click()
    expect(crew.get_by_text("Saved: problem.")).to_be_visible()


def answer(manager: Page, shift: Shift, path: str, choice: str, words: str) -> None:
    fetch_news(manager)
    go(manager, f"/s/{shift.site}/desk/{path}")
    card = manager.get_by_role("article")
    expect(card).to_have_count(1)
    assert_fits_and_can_be_hit_and_read(manager, (360, 1280))
    card.get_by_role("radio", name=choice).check()
    card.get_by_label("In words, for the crew").fill(words)
    with pushed(manager):
        card.get_by_role("button", name="Send the answer").click()
    expect(card.get_by_role("button", name="Send the answer")).to_have_count(0)
    expect(manager.get_by_text("All sent.")).to_be_visible()


def today(crew: Page, shift: Shift) -> None:
    go(crew, f"/s/{shift.site}/today")
    expect(crew.get_by_role("region", name="My rooms today")).to_contain_text(shift.name)


def sign(crew: Page, shift: Shift, name: str) -> None:
    """Draw a line as a signature under the name."""
    today(crew, shift)
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
    second_of_the_crew(fresh_server, shift, "Bo")
    manager = open_the_site(new_phone(**WITHOUT_WORKER).new_page(), fresh_server, "manager", works_offline=False)
    put_on_a_plan(manager, shift)
    assign(manager, shift)

    # The room is one person's by the manager's word, the other's by his own; both see it on the floor's plan.
    crew = open_the_site(persistent_phone().pages[0], fresh_server, "crew")
    other = open_the_site(new_phone().new_page(), fresh_server, "Bo")
    take_the_room(other, shift)
    fetch_news(crew)
    today(crew, shift)
    expect(crew.get_by_role("region", name="My rooms today")).to_contain_text("with Bo")
    expect(crew.get_by_role("button", name=shift.name).first).to_be_visible()
    assert_fits_and_can_be_hit_and_read(crew, (360,))
    for page in (crew, other):
        page.context.set_offline(True)

    # Picked and one fixture done without a signal; then the phone is killed.
    pick(crew, shift)
    today(crew, shift)
    open_from_the_plan(crew, shift)
    scan(crew, shift, 1)
    done_with(crew)
    kill(tmp_path / "phone")

    # Nothing is lost; the next fixture is a problem, the third is fitted otherwise. Both are at the fourth.
    tick(other, shift, 4, check=1, step=3)
    crew = persistent_phone().pages[0]
    crew.context.set_offline(True)
    crew.goto(f"{fresh_server.url}/s/{shift.site}/today")
    left = len(shift.codes) - 1
    expect(crew.get_by_role("region", name="My rooms today")).to_contain_text(f"{left} of {left + 1} fixtures to do")
    crew.get_by_role("link", name=f"Picking list of {shift.name}").click()
    expect(crew.get_by_role("region", name="Take along").get_by_role("checkbox").first).to_be_checked()
    expect(crew.get_by_text("2 short")).to_be_visible()
    scan(crew, shift, 2)
    a_problem(crew, "The earth clamp is missing.")
    scan(crew, shift, 3)
    fitted_otherwise(crew)
    done_with(crew)
    tick(crew, shift, 4, check=0, step=2)
    # A browser that was killed may have lost who was signed in, and none of the work.
    crew.context.set_offline(False)
    sign_in(crew, fresh_server.url, "crew")
    expect(crew.get_by_text("All sent.")).to_be_visible()

    # Each sees what the other ticked, and proves for himself; no tick is lost. The other is done with it.
    back_in_reach(other)
    fetch_news(other)
    expect(steps(other).nth(2)).to_be_checked()
    expect(steps(other).nth(2)).to_be_disabled()
    expect(steps(other).nth(3)).to_be_checked()
    expect(other.get_by_role("region", name="Steps")).to_contain_text("Ticked by crew")
    expect(checks(other).nth(0)).not_to_be_checked()
    expect(other.get_by_role("group", name="Before 'done'")).to_contain_text("your own eyes count")
    expect(checks(other).nth(1)).to_be_checked()
    assert_two_visits_without_conflict(fresh_server, shift, 4)
    with pushed(other):
        done_with(other)
    expect(other.get_by_text("All sent.")).to_be_visible()
    go(other, f"/s/{shift.site}/today/room/{shift.room}")
    for position, word in enumerate(("done", "problem", "done", "done", "to do"), 1):
        expect(other.get_by_role("link", name=f"Fixture {position}: {word}")).to_be_visible()
    expect(other.get_by_role("region", name="Spares used")).to_contain_text("of them today")

    # The desk answers the one and sends the other back.
    answer(manager, shift, "problems", "do it so", "Use the clamp from the box.")
    answer(manager, shift, "fitted", "sent back: do it again", "Two bars each, please.")

    # The crew reads both where there is no signal, does them, and the foreman signs.
    fetch_news(crew)
    today(crew, shift)
    from_the_desk = crew.get_by_role("region", name="Answered by the desk")
    expect(from_the_desk.get_by_role("link")).to_have_count(2)
    crew.context.set_offline(True)
    from_the_desk.get_by_role("link").filter(has_text="do it so").click()
    expect(crew.get_by_role("region", name="What the desk says")).to_contain_text("Use the clamp from the box.")
    done_with(crew)
    scan(crew, shift, 3)
    expect(crew.get_by_role("region", name="What the desk says")).to_contain_text("Two bars each, please.")
    done_with(crew)
    sign(crew, shift, "Ada Foreman")
    today(crew, shift)
    expect(crew.get_by_text("signed: Ada Foreman")).to_be_visible()
    expect(crew.get_by_role("region", name="Answered by the desk")).to_have_count(0)
    back_in_reach(crew)

    # What is on the server: the signature with its picture, and what is short as an open point.
    (signed,) = of_type(fresh_server, shift, "sign_off")
    assert (signed["name"], signed["signed_by"], signed["subject"]) == ("Ada Foreman", "drawn-signature", shift.room)
    assert (signed["done"], signed["fixtures"], signed["differs"]) == (4, len(shift.codes), 0)
    assert [each["purpose"] for each in of_type(fresh_server, shift, "photo")].count("signature") == 1
    told = Client(fresh_server.url, "manager").get(f"/api/sites/{shift.site}/completeness")["open_points"]
    mine = {each["rule"] for each in told if each["room"] == shift.room}
    assert "picked-short" in mine
    assert not mine & {"problem-open", "problem-to-do", "difference-open", "sent-back"}

    # What the other notes later shows as later.
    fetch_news(manager)
    go(manager, f"/s/{shift.site}/desk/days")
    signatures = manager.get_by_role("region", name="Signed")
    expect(signatures).to_contain_text("still so")
    expect(manager.get_by_role("region", name="Short when picked")).to_contain_text(shift.name)
    assert_fits_and_can_be_hit_and_read(manager, (360, 1280))
    scan(other, shift, 5)
    with pushed(other):
        done_with(other)
    expect(other.get_by_text("All sent.")).to_be_visible()
    fetch_news(manager)
    expect(signatures).to_contain_text("1 fixture noted later")


def assert_two_visits_without_conflict(server: Server, shift: Shift, position: int) -> None:
    """Each person's own, with what each ticked."""
    visits = [
        each
        for each in pulled(Client(server.url, "manager"), shift.site)
        if each["type"] == "visit" and each["parent"] == shift.group and value(each, "identity")["position"] == position
    ]
    assert sorted(len(value(each, "ticks")["steps"]) for each in visits) == [1, 1]
    assert not [each for each in visits if each["conflicts"]]


def test_a_problem_that_anothers_done_passed_over_waits_until_the_manager_answers(
    fresh_server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    shift = shift_on(fresh_server)
    second_of_the_crew(fresh_server, shift, "Bo")
    hands = [Hand(Client(fresh_server.url, name), shift.site) for name in ("crew", "Bo")]
    noted = (
        {"outcome": "problem", "problem": "The ballast leaks.", "noted_at": "2026-04-01T11:00:00Z"},
        # Noted before, without a signal, and sent after it.
        {"outcome": "done", "noted_at": "2026-04-01T10:00:00Z"},
    )
    for hand, said in zip(hands, noted, strict=True):
        hand.make("installation", shift.group, {"position": 1, **said})
    manager = open_the_site(new_phone(**WITHOUT_WORKER).new_page(), fresh_server, "manager", works_offline=False)
    expect(manager.get_by_role("link", name=re.compile("^Desk.*1"))).to_be_visible()
    go(manager, f"/s/{shift.site}/desk/problems")
    expect(manager.get_by_role("status").filter(has_text="1 problem")).to_be_visible()
    expect(manager.get_by_role("article")).to_contain_text("Bo noted 'done' on this fixture afterwards")
    answer(manager, shift, "problems", "do it so", "The leak was seen to; it may stay.")
    expect(manager.get_by_text("No problem waits for an answer.")).to_be_visible()
