"""What each job of a survey costs in taps, keys and swipes on a phone of 360 × 740; more than the table allows fails.

The table is the one that the survey was ordered by; a clipboard's pen characters are beside it there.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import PHONE, sign_in
from tests.support.kept_page import page_is_kept
from tests.support.server import Server
from tests.surveying.hand import Hand

ANSWERS = (
    "strip", "prismatic lens", "good", "yes", "fluorescent", "T8", "G13", "4 ft", 32, "2", "1", "yes",
)  # fmt: skip
"""One to each question about a new kind; a number is typed. With count and emergency they are the fourteen facts."""


@pytest.fixture(scope="module")
def phone(server: Server, browser: object) -> Iterator[Page]:
    """A surveyor without a signal, on a floor of their own with room 901 in it."""
    context: BrowserContext = browser.new_context(**PHONE)  # type: ignore[attr-defined]
    page = sign_in(context.new_page(), server.url, "surveyor")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("All sent.")).to_be_visible()
    page_is_kept(page)
    context.set_offline(True)
    page.get_by_role("link", name="Add a floor").click()
    page.get_by_label("Name", exact=True).fill("Ninth")
    page.get_by_role("button", name="Add the floor").click()
    expect(page.get_by_text("Ninth is added.")).to_be_visible()
    floor = page.get_by_role("region", name="Ninth")
    floor.get_by_role("link", name="Add a room here").click()
    page.get_by_label("Number", exact=True).fill("901")
    page.get_by_role("button", name="Add the room").click()
    expect(page.get_by_role("heading", name="901")).to_be_visible()
    yield page
    context.close()


def group_of_a_known_kind(hand: Hand) -> None:
    hand.tap(hand.page.get_by_role("link", name="Add a group"))
    hand.tap(hand.page.get_by_role("button", name=re.compile("^K1 ")))
    expect(hand.page.get_by_label("Fixtures", exact=True)).to_be_focused()
    hand.type("8")
    hand.tap(hand.page.get_by_role("button", name="Add the group"))
    expect(hand.page.get_by_role("region", name="Fixture groups")).to_contain_text("8 fixtures")


def correct_a_count(hand: Hand) -> None:
    count = hand.page.get_by_role("button", name="Correct the count of K1")
    # Who speaks to the phone says what is read there.
    expect(count).to_have_accessible_name(re.compile("^× 8 Correct the count of K1 "))
    hand.tap(count)
    expect(hand.page.get_by_role("textbox", name=re.compile("^Fixtures, K1 "))).to_be_focused()
    hand.type("9")
    hand.tap(hand.page.get_by_role("button", name="Save"))
    expect(hand.page.get_by_role("region", name="Fixture groups")).to_contain_text("9 fixtures")
    expect(hand.page.get_by_role("button", name="Undo")).to_have_count(1)


def next_room_number_proposed(hand: Hand) -> None:
    hand.tap(hand.page.get_by_role("button", name="Close, next: new room 902"))
    expect(hand.page.get_by_role("button", name="Stay here")).to_be_visible()
    hand.tap(hand.page.get_by_role("button", name="Close, next: new room 902"))
    expect(hand.page.get_by_label("Number", exact=True)).to_have_value("902")
    hand.tap(hand.page.get_by_role("button", name="Add the room"))
    expect(hand.page.get_by_role("heading", name="902")).to_be_visible()


def new_kind_with_fourteen_facts_and_a_reading(hand: Hand) -> None:
    page = hand.page
    hand.tap(page.get_by_role("link", name="Add a group"))
    hand.tap(page.get_by_role("button", name="A new kind"))
    for place, answer in enumerate(ANSWERS):
        expect(page.get_by_text(f"question {place + 1} of ")).to_be_visible()
        if isinstance(answer, int):
            hand.type(str(answer))
            hand.tap(page.get_by_role("button", name="Go on", exact=True))
        else:
            hand.tap(page.get_by_role("group").get_by_role("button", name=answer, exact=True))
    hand.type("6")
    hand.tap(page.get_by_role("group", name="Emergency").get_by_role("radio", name="none", exact=True))
    hand.tap(page.get_by_role("button", name="Add the group"))
    page.wait_for_url(re.compile("/read$"))
    hand.tap(page.get_by_label("Cavity length, socket face to socket face"))
    hand.type("47 1/4")
    hand.tap(page.get_by_role("button", name="Save this reading"))
    expect(page.get_by_text("is saved")).to_be_visible()


def close_the_room_and_stand_in_the_next(hand: Hand) -> None:
    closes = hand.page.get_by_role("button", name="Close, next: 903")
    hand.tap(closes)
    expect(hand.page.get_by_role("button", name="Stay here")).to_be_visible()
    hand.tap(closes)
    expect(hand.page.get_by_role("heading", name="903")).to_be_visible()


def test_no_job_of_the_survey_takes_more_strokes_than_the_table_allows(phone: Page) -> None:
    took: dict[str, tuple[int, int]] = {}

    def do(job: Callable[[Hand], None]) -> None:
        hand = Hand(phone)
        job(hand)
        took[job.__name__] = (hand.strokes, hand.swipes)

    do(group_of_a_known_kind)
    do(correct_a_count)
    do(next_room_number_proposed)
    do(new_kind_with_fourteen_facts_and_a_reading)
    to_room(phone, "902")
    phone.get_by_role("link", name="Home").click()
    phone.get_by_role("region", name="Ninth").get_by_role("link", name="Add a room here").click()
    expect(phone.get_by_label("Number", exact=True)).to_have_value("903")
    phone.get_by_role("button", name="Add the room").click()
    expect(phone.get_by_role("heading", name="903")).to_be_visible()
    to_room(phone, "902")
    do(close_the_room_and_stand_in_the_next)
    print(took)
    most = {
        "group_of_a_known_kind": (5, 0),
        "correct_a_count": (4, 0),
        "next_room_number_proposed": (4, 0),
        "new_kind_with_fourteen_facts_and_a_reading": (40, 2),
        "close_the_room_and_stand_in_the_next": (2, 0),
    }
    print(took)
    over = {job: got for job, got in took.items() if got[0] > most[job][0] or got[1] > most[job][1]}
    assert took.keys() == most.keys()
    assert over == {}


def to_room(page: Page, number: str) -> None:
    """To a room by its number, from wherever one is on the site."""
    page.goto("/".join(page.url.split("/")[:5]))
    page.get_by_label("To room number").fill(number)
    page.get_by_role("search").get_by_role("link", name=number).click()
    expect(page.get_by_role("heading", name=number)).to_be_visible()
