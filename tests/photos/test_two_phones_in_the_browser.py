"""Two phones draw on one photo, or one takes away what the other goes on with: both are seen, and settling settles."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect
from tests.conftest import SYNC, go, sign_in
from tests.handover.some_report import a_picture
from tests.open_points.complete_site import Hand
from tests.support.server import Client, Server

MINE = {"from_x": 1000, "from_y": 1000, "to_x": 2000, "to_y": 2000}
THEIRS = {"from_x": 9000, "from_y": 9000, "to_x": 8000, "to_y": 8000}
pytestmark = pytest.mark.keeps_page(False)


@pytest.fixture
def hands(server: Server) -> tuple[Hand, Hand]:
    """Two surveyors' phones."""
    clients = [Client(server.url, name) for name in ("surveyor", "second surveyor")]
    one, other = (Hand(client, client.site_id()) for client in clients)
    return one, other


@pytest.fixture
def page(server: Server, new_phone: Callable[..., BrowserContext]) -> Page:
    return sign_in(new_phone().new_page(), server.url, "surveyor")


@pytest.fixture
def photo(page: Page, hands: tuple[Hand, Hand]) -> str:
    """A photo of the pump room that has arrived."""
    site = hands[0].site
    room = "546a9776-abdf-5e2e-8255-edf4a8c6a39c"
    go(page, f"/s/{site}/room/{room}")
    page.get_by_label("Photo of damage").set_input_files(
        {"name": "damage.jpg", "mimeType": "image/jpeg", "buffer": a_picture(5)}
    )
    thumbnail = page.locator("a.thumbnail").last
    expect(thumbnail).to_contain_text("damage")
    address = thumbnail.get_attribute("href") or ""
    page.evaluate(SYNC)
    return address.split("/photo/")[1].split("?")[0]


def card_of(page: Page, site: str) -> Locator:
    page.evaluate(SYNC)
    go(page, f"/s/{site}/conflicts")
    return page.get_by_role("region", name="Photo: damage: Arrow")


def test_two_arrows_on_one_photo_are_seen_as_they_lie_and_one_is_chosen(
    page: Page, photo: str, hands: tuple[Hand, Hand]
) -> None:
    one, other = hands
    mine = one.operation(photo, "photo", "mark", MINE)
    theirs = other.operation(photo, "photo", "mark", THEIRS)
    other.push(theirs)
    one.push(mine)
    card = card_of(page, one.site)
    expect(card.get_by_text("U04 Pump room")).to_be_visible()
    expect(card.get_by_role("img", name="Arrow")).to_have_count(2)
    expect(card.get_by_text("1/10,000")).to_have_count(0)
    card.get_by_role("listitem").filter(has_text="second surveyor").get_by_role("button", name="Keep this").click()
    expect(card).not_to_be_visible()
    page.evaluate(SYNC)
    state = one.state(photo)
    assert (state["facets"]["mark"]["value"], state["conflicts"]) == (THEIRS, [])


def removed_by_one_and_drawn_on_by_another(photo: str, hands: tuple[Hand, Hand]) -> None:
    one, other = hands
    drawn = one.operation(photo, "photo", "mark", MINE)
    other.remove(photo, "photo")
    one.push(drawn)


def test_what_one_removed_and_another_changed_comes_back_with_the_change(
    page: Page, photo: str, hands: tuple[Hand, Hand]
) -> None:
    removed_by_one_and_drawn_on_by_another(photo, hands)
    card = card_of(page, hands[0].site)
    expect(card.get_by_text("One removed it, another changed this.")).to_be_visible()
    card.get_by_role("button", name="Bring it back with this").click()
    expect(card).not_to_be_visible()
    page.evaluate(SYNC)
    state = hands[0].state(photo)
    assert (state["removed"], state["facets"]["mark"]["value"], state["conflicts"]) == (False, MINE, [])


def test_what_one_removed_and_another_changed_can_be_left_removed(
    page: Page, photo: str, hands: tuple[Hand, Hand]
) -> None:
    removed_by_one_and_drawn_on_by_another(photo, hands)
    card = card_of(page, hands[0].site)
    card.get_by_role("button", name="Leave it removed").click()
    expect(card).not_to_be_visible()
    page.evaluate(SYNC)
    expect(page.get_by_text("All sent.")).to_be_visible()
    everything = hands[0].client.get(f"/api/sites/{hands[0].site}/pull?since=0&limit=5000")["records"]
    assert [each for each in everything if each["id"] == photo] == [], "removed, and in no conflict"
