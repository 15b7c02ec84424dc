"""From an empty folder to the first saved reading by screens alone: no script, no typed address; taps and keys counted."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect
from tests.support.commands import spanwalk
from tests.support.server import Client, Server

pytestmark = pytest.mark.keeps_page(False)

OWNER, OWNER_PASSWORD = "Ada", "ten ladders"
TAPS_AND_KEYS_MOST = 120


@dataclass
class Hands:
    """What a person does to a screen, counted: a tap is one, and so is each key."""

    page: Page
    count: int = 0

    def tap(self, what: Locator) -> None:
        what.tap()
        self.count += 1

    def type(self, into: Locator, text: str) -> None:
        """Tap a field and press the keys."""
        self.tap(into)
        into.fill(text)
        expect(into).to_have_value(text)
        self.count += len(text)


@pytest.fixture
def begun(tmp_path: Path, page_served: dict[str, str]) -> Iterator[Server]:
    """`spanwalk init` in an empty folder, with options; then `spanwalk serve`."""
    data = tmp_path / "firm"
    init = ("init", "--owner", OWNER, "--password-from", "-", "--data", str(data))
    told = spanwalk(*init, typed=OWNER_PASSWORD + "\n")
    assert told.returncode == 0, told.stderr
    assert "spanwalk serve" in told.stdout
    server = Server(data, command="serve", env=page_served).start()
    yield server
    server.stop()


def test_an_owner_gets_from_an_empty_folder_to_a_saved_reading(
    begun: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = new_phone().new_page()
    broken: list[str] = []
    page.on("pageerror", lambda error: broken.append(str(error)))
    hands = Hands(page)
    page.goto(begun.url)
    sign_in(hands)
    make_a_site(hands, "Old Cannery")
    enter_money(hands)
    floor_and_room(hands)
    kind_and_group(hands)
    save_a_reading(hands, "47 1/4")
    expect(page.get_by_text("All sent.")).to_be_visible()
    there = Client(begun.url, OWNER, OWNER_PASSWORD)
    pulled = there.get(f"/api/sites/{there.site_id()}/pull")["records"]
    (reading,) = [each for each in pulled if each["type"] == "cavity_reading"]
    assert reading["facets"]["identity"]["value"]["length_ticks"] == 384048  # 47 1/4 in × 8,128 ticks
    assert broken == []
    print(f"taps and keys from the sign-in to the first saved reading: {hands.count}")
    assert hands.count < TAPS_AND_KEYS_MOST


def sign_in(hands: Hands) -> None:
    page = hands.page
    hands.type(page.get_by_label("Name", exact=True), OWNER)
    hands.type(page.get_by_label("Password", exact=True), OWNER_PASSWORD)
    hands.tap(page.get_by_role("button", name="Sign in", exact=True))
    expect(page.get_by_role("heading", name="Begin with a site")).to_be_visible()


def make_a_site(hands: Hands, name: str) -> None:
    page = hands.page
    hands.tap(page.get_by_role("link", name="Make a site"))
    hands.type(page.get_by_label("Name", exact=True), name)
    hands.tap(page.get_by_role("button", name="Make a site"))
    card = page.get_by_role("region", name="Setting up this site")
    expect(card).to_be_visible()
    expect(card).to_contain_text("There is no catalogue yet: fit is judged when the manager brings it in")
    expect(card.locator("[data-step=money]")).to_contain_text("Still missing: Currency, Energy price")


def enter_money(hands: Hands) -> None:
    page = hands.page
    hands.tap(page.locator("[data-step=money]"))
    hands.tap(page.get_by_role("button", name="Open all parts"))
    for label, typed in (
        ("Currency", "USD"),
        ("Energy price [per kWh]", ".14"),
        ("Labour [per hour]", "68"),
        ("Discount rate [%]", "6"),
        ("Years looked at [years]", "9"),
    ):
        hands.type(page.get_by_label(label, exact=True), typed)
    hands.tap(page.get_by_role("button", name="Save the money"))
    expect(page.get_by_text("Plans are reckoned anew")).to_be_visible()
    hands.tap(page.get_by_role("link", name="Home", exact=True))
    expect(page.locator("[data-step=money]")).to_have_attribute("data-done", "true")


def floor_and_room(hands: Hands) -> None:
    page = hands.page
    hands.tap(page.locator("[data-step=rooms]"))
    hands.type(page.get_by_label("Name", exact=True), "G")
    hands.tap(page.get_by_role("button", name="Add the floor"))
    hands.tap(page.get_by_role("link", name="Add a room here"))
    hands.type(page.get_by_label("Number", exact=True), "1")
    hands.tap(page.get_by_role("button", name="Add the room"))
    expect(page.get_by_role("link", name="Add a group")).to_be_visible()


def kind_and_group(hands: Hands) -> None:
    """A new kind, described later, and a group of it: it leads on to the tape."""
    page = hands.page
    hands.tap(page.get_by_role("link", name="Add a group"))
    hands.tap(page.get_by_role("button", name="Count first, describe later"))
    hands.type(page.get_by_label("Fixtures", exact=True), "2")
    hands.tap(page.get_by_role("button", name="Add the group"))
    page.wait_for_url(re.compile("/group/.*/read"))


def save_a_reading(hands: Hands, typed: str) -> None:
    page = hands.page
    hands.type(page.get_by_label("Cavity length, socket face to socket face"), typed)
    hands.tap(page.get_by_role("button", name="Save this reading"))
    expect(page.get_by_text("is saved")).to_be_visible()
