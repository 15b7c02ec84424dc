"""What changed since a release, on a crew's phone without a signal: on the card, in the work list, after a scan, at 'done'."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.conftest import PHONE, sign_in
from tests.installing.conftest import Fixture, out_of_reach, records
from tests.open_points.complete_site import Hand
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

Json = Any
STOPPED, LOOKED_AT, STANDS = "stop", "look", "in force"
NOTE = "Lead to fixture 2 is spliced above the lens"
OLD_BALLAST = "the ballast is an old magnetic one"
TABLE = [
    ("feeds one, then two", STOPPED, "Supply feeds in the body: one → two"),
    ("the ballast leaks", STOPPED, "Leaking: no → yes"),
    (OLD_BALLAST, STOPPED, "Ballast: electronic → magnetic"),
    ("circuit 2, then 22", LOOKED_AT, "→ 22"),
    ("a shared neutral", LOOKED_AT, "Shared neutral: no → yes"),
    ("leave-as-is", STOPPED, "Decision: nothing noted → leave as is"),
    ("two fixtures fewer", LOOKED_AT, "Fixtures: "),
    ("nothing", STANDS, ""),
]
"""Change, the phone's standing, and what the card says changed."""


@dataclass
class Changed:
    """A crew's phone out of reach, after a manager changed the survey of several released groups."""

    page: Page
    hand: Hand
    fixtures: dict[str, Fixture] = field(default_factory=dict)

    def lay_over(self, record: str, type_name: str, facet: str, **fields: Json) -> None:
        held = self.hand.state(record)["facets"].get(facet, {}).get("value", {})
        self.hand.save(record, type_name, **{facet: {**held, **fields}})

    def open(self, name: str) -> Page:
        """The card of the fixture that a change is about."""
        fixture = self.fixtures[name]
        self.page.goto(f"{self.hand.client.url}{fixture.path}")
        expect(self.page.get_by_role("heading", level=1)).to_be_visible()
        expect(self.page.get_by_text("Looking whether what was released still holds")).to_have_count(0)
        return self.page


def alone_in_kind(labelled: dict[str, list[Fixture]], server: Server) -> list[tuple[Fixture, str]]:
    """First fixtures of released groups whose kind no other group taken has, with the kind; without partners."""
    kinds = {
        each["id"]: each["facets"]["identity"]["value"]["kind"] for each in records(server) if each["type"] == "group"
    }
    found: dict[str, Fixture] = {}
    for each in labelled["released"]:
        assert each.conversion is not None
        if each.position == 1 and "partner" not in each.conversion["facts"]:
            found.setdefault(kinds[each.group], each)
    return [(fixture, kind) for kind, fixture in found.items()]


def is_electronic(kind: Json) -> bool:
    return bool(kind["facets"]["ballast"]["value"].get("ballast") == "electronic")


@pytest.fixture(scope="module")
def changed(server: Server, browser: Browser, labelled: dict[str, list[Fixture]]) -> Iterator[Changed]:
    context = browser.new_context(**PHONE)
    page = out_of_reach(sign_in(context.new_page(), server.url, "crew"))
    client = Client(server.url, "manager")
    made = Changed(page, Hand(client, client.site_id()))
    alone = alone_in_kind(labelled, server)
    clear = next(each for each in alone if is_electronic(made.hand.state(each[1])))
    taken = iter(each for each in alone if each is not clear)
    names = [name for name, *_ in TABLE] + ["withdrawn", "done, then released again"]
    kinds = {}
    for name in names:
        made.fixtures[name], kinds[name] = clear if name == OLD_BALLAST else next(taken)
    state = {name: made.hand.state(fixture.group)["facets"] for name, fixture in made.fixtures.items()}
    made.lay_over(kinds["feeds one, then two"], "kind", "wiring", feeds="two")
    made.lay_over(kinds["the ballast leaks"], "kind", "ballast", leaking="yes")
    old = {"ballast": "magnetic", "pcb_mark": "no-mark", "made": "1974"}
    made.lay_over(kinds[OLD_BALLAST], "kind", "ballast", **old)
    made.lay_over(made.fixtures["circuit 2, then 22"].group, "group", "supply", circuit="22")
    made.lay_over(made.fixtures["a shared neutral"].group, "group", "supply", shared_neutral="yes")
    made.lay_over(made.fixtures["a shared neutral"].group, "group", "differs", note=NOTE)
    made.lay_over(made.fixtures["leave-as-is"].group, "group", "decision", decision="leave-as-is", reason="kept")
    count = state["two fixtures fewer"]["count"]["value"]["count"]
    made.lay_over(made.fixtures["two fixtures fewer"].group, "group", "count", count=count - 2)
    withdrawn = made.fixtures["withdrawn"].group
    conversion = next(
        each["id"] for each in records(server) if each["type"] == "conversion" and each["parent"] == withdrawn
    )
    made.hand.save(conversion, "conversion", withdrawn={"reason": "The owner wants this room later."})
    in_reach_and_out_again(made, made.fixtures["withdrawn"], "Withdrawn")
    yield made
    context.close()


def in_reach_and_out_again(made: Changed, fixture: Fixture, shows: str) -> None:
    """Let the phone pull until a card shows what changed, and lose the network again."""
    made.page.context.set_offline(False)
    made.page.goto(f"{made.hand.client.url}{fixture.path}")
    expect(made.page.get_by_role("region", name=shows)).to_be_visible()
    expect(made.page.get_by_text("All sent.")).to_be_visible()
    made.page.context.set_offline(True)


def tick_all(page: Page) -> None:
    checks = page.get_by_role("group", name="Before 'done'").get_by_role("checkbox")
    expect(checks.first).to_be_visible()
    for check in checks.all():
        check.check()


@pytest.mark.parametrize(("name", "standing", "says"), TABLE, ids=[name for name, *_ in TABLE])
def test_the_card_says_offline_what_changed_and_locks_done_where_it_stops(
    changed: Changed, name: str, standing: str, says: str
) -> None:
    page = changed.open(name)
    tick_all(page)
    done = page.get_by_role("button", name="Done", exact=True)
    notices = {
        STOPPED: page.get_by_role("region", name="Do not convert"),
        LOOKED_AT: page.get_by_role("region", name="Look first"),
    }
    for of, notice in notices.items():
        expect(notice).to_have_count(1 if of == standing else 0)
    if standing == STANDS:
        expect(done).to_be_enabled()
        return
    notice = notices[standing]
    expect(notice).to_contain_text(says)
    expect(notice).to_contain_text("manager")
    assert notice.bounding_box()["y"] < page.get_by_role("region", name="What to do").bounding_box()["y"]  # type: ignore[index]
    if standing == STOPPED:
        expect(page.get_by_role("alert").first).to_have_text("Stop. Do not convert it.")
        expect(done).to_be_disabled()
        expect(page.get_by_role("button", name="A problem")).to_be_enabled()
    else:
        expect(done).to_be_enabled()


def test_a_ballast_that_may_hold_pcb_after_all_has_its_caution_at_its_step(
    changed: Changed,
) -> None:
    page = changed.open(OLD_BALLAST)
    step = page.get_by_role("region", name="Steps").get_by_role("listitem").filter(has_text="PCB: suspect")
    expect(step.first).to_contain_text("may hold PCB: do not open or drop it")


def test_what_a_surveyor_wrote_in_words_reaches_the_crew_on_the_card_and_in_the_room(changed: Changed) -> None:
    page = changed.open("a shared neutral")
    expect(page.get_by_role("region", name="Noted in the survey")).to_contain_text(f"Exceptions: {NOTE}")
    room = changed.fixtures["a shared neutral"].room
    page.goto(f"{changed.hand.client.url}/s/{changed.hand.site}/today/room/{room}")
    expect(page.get_by_role("region", name="Noted in the survey")).to_contain_text(NOTE)


def test_a_withdrawn_fixture_says_why_and_shows_nothing_to_fit(changed: Changed) -> None:
    page = changed.open("withdrawn")
    notice = page.get_by_role("region", name="Withdrawn")
    expect(notice).to_contain_text("The owner wants this room later.")
    expect(page.get_by_role("region", name="What to do")).to_have_count(0)
    expect(page.get_by_role("region", name="Not released")).to_contain_text("any more")
    done = page.get_by_role("button", name="Done", exact=True)
    assert done.count() == 0 or done.is_disabled()


def test_the_work_list_begins_with_what_is_not_to_be_converted(changed: Changed) -> None:
    page = changed.page
    page.goto(f"{changed.hand.client.url}/s/{changed.hand.site}/work")
    away = page.get_by_role("region", name="Do not convert")
    expect(away.get_by_role("link").first).to_be_visible()
    marks = {"stop": [name for name, standing, _ in TABLE if standing == STOPPED], "withdrawn": ["withdrawn"]}
    for mark, names in marks.items():
        for name in names:
            row = away.locator(f"a[href*='{changed.fixtures[name].group}']")
            expect(row).to_contain_text(mark)
    for name, standing, _ in TABLE:
        if standing != STOPPED:
            row = page.locator(f"a[href*='{changed.fixtures[name].group}']")
            expect(row).to_have_count(1)
            expect(away.locator(f"a[href*='{changed.fixtures[name].group}']")).to_have_count(0)
            if standing == LOOKED_AT:
                expect(row).to_contain_text("look")
    assert_fits_and_can_be_hit_and_read(page)


def test_a_room_of_which_the_rest_is_stopped_is_neither_done_nor_to_be_signed(changed: Changed) -> None:
    page = changed.page
    stopped = changed.fixtures[OLD_BALLAST]
    page.goto(f"{changed.hand.client.url}/s/{changed.hand.site}/today/room/{stopped.room}")
    expect(page.get_by_role("link", name=re.compile("^Do not convert for now: "))).to_be_visible()
    expect(page.get_by_text("done", exact=True)).to_have_count(0)
    expect(page.locator("section.act").get_by_role("link", name=re.compile("^Sign "))).to_have_count(0)
    page.goto(f"{changed.hand.client.url}/s/{changed.hand.site}/today/picking?room={stopped.room}")
    expect(page.get_by_role("link", name=re.compile("^Do not convert for now: "))).to_be_visible()
    expect(page.get_by_text("Nothing is left to do here.")).to_have_count(0)
    assert_fits_and_can_be_hit_and_read(page)


def test_the_crews_home_says_what_not_to_convert_and_leads_to_none_of_it(changed: Changed) -> None:
    page = changed.page
    page.goto(f"{changed.hand.client.url}/s/{changed.hand.site}")
    home = page.get_by_role("region", name="What comes next")
    expect(home.get_by_role("link", name=re.compile("^Do not convert for now: "))).to_be_visible()
    ways = home.locator("a[href*='/fixture/']").evaluate_all("all => all.map((each) => each.getAttribute('href'))")
    away = [changed.fixtures[name].group for name, standing, _ in TABLE if standing == STOPPED]
    away.append(changed.fixtures["withdrawn"].group)
    assert ways
    assert [way for way in ways if any(group in way for group in away)] == []
    assert_fits_and_can_be_hit_and_read(page)


def test_a_scanned_label_leads_to_the_stop(changed: Changed) -> None:
    page = changed.page
    page.goto(f"{changed.hand.client.url}/s/{changed.hand.site}/scan")
    page.get_by_label("Code under the QR").fill(changed.fixtures["the ballast leaks"].code)
    page.get_by_role("button", name="Open", exact=True).click()
    expect(page.get_by_role("alert").first).to_have_text("Stop. Do not convert it.")
    assert_fits_and_can_be_hit_and_read(page)


def test_a_manager_s_answer_unlocks_just_these_changes_and_a_new_release_supersedes(
    changed: Changed, server: Server
) -> None:
    """Done offline first; then a second release, an answer and a further change reach the phone, which is out of reach again."""
    done = changed.fixtures["done, then released again"]
    page = changed.open("done, then released again")
    tick_all(page)
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.get_by_text("Saved: done.")).to_be_visible()
    page.context.set_offline(False)
    expect(page.get_by_text("All sent.")).to_be_visible()

    changed.lay_over(done.group, "group", "supply", circuit="40")
    answered = changed.fixtures["leave-as-is"].group
    manager = sign_in(page.context.browser.new_context(**PHONE).new_page(), server.url, "manager")  # type: ignore[union-attr]
    manager.goto(f"{server.url}{changed.fixtures['leave-as-is'].path}")
    manager.get_by_label("Why it may go on all the same").fill("Decided again on site: go on.")
    manager.get_by_role("button", name="Let it go on").click()
    expect(manager.get_by_role("region", name="Look first")).to_contain_text("Decided again on site")
    expect(manager.get_by_text("All sent.")).to_be_visible()
    manager.context.close()
    status, told = release_seen(changed.hand.client, changed.hand.site, "again")
    assert status == 201, told
    assert done.group in told["released"]
    assert changed.fixtures["circuit 2, then 22"].group in told["released"]
    assert answered not in told["released"]

    in_reach_and_out_again(changed, done, "Done, and changed since")
    page = changed.open("done, then released again")
    expect(page.get_by_role("region", name="Done, and changed since")).to_contain_text("Superseded by release 2")
    page = changed.open("leave-as-is")
    tick_all(page)
    expect(page.get_by_role("region", name="Look first")).to_contain_text("Decided again on site: go on.")
    expect(page.get_by_role("button", name="Done", exact=True)).to_be_enabled()
    page = changed.open("circuit 2, then 22")
    expect(page.get_by_role("region", name="Look first")).to_have_count(0)
    expect(page.get_by_text("Release 2", exact=True)).to_be_visible()

    page.context.set_offline(False)
    changed.lay_over(answered, "group", "decision", decision="defer", reason="not this year")
    in_reach_and_out_again(changed, changed.fixtures["leave-as-is"], "Do not convert")
    page = changed.open("leave-as-is")
    expect(page.get_by_role("region", name="Do not convert")).to_contain_text("defer")
