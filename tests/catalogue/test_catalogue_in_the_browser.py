"""The firm's catalogue on screens: items made and edited by keyboard, a building that takes them and hears what changed."""

from __future__ import annotations

from collections.abc import Iterator
from uuid import uuid4

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.conftest import go, sign_in
from tests.open_points.complete_site import Hand
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Client, Server

pytestmark = pytest.mark.keeps_page(False)

WIDE = {"viewport": {"width": 1280, "height": 900}, "reduced_motion": "reduce"}


@pytest.fixture
def sites(server: Server) -> dict[str, str]:
    """The demo's building and the firm's catalogue, by kind."""
    return {each["kind"]: each["id"] for each in Client(server.url, "owner").get("/api/session")["sites"]}


@pytest.fixture
def owner(server: Server, browser: Browser) -> Iterator[Page]:
    context = browser.new_context(**WIDE)
    page = sign_in(context.new_page(), server.url, "owner")
    expect(page.get_by_role("link", name="Cannery")).to_be_visible()
    yield page
    context.close()


def catalogue(page: Page, site: str, sort: str = "Bars") -> Page:
    go(page, f"/s/{site}/desk/catalogue")
    page.get_by_role("group", name="Sort of item").get_by_role("button", name=sort).click()
    expect(page.get_by_role("grid", name=sort)).to_be_visible()
    return page


def cell(page: Page, code: str, head: str) -> object:
    heads = [each.strip(" ↓↑\n") for each in page.get_by_role("columnheader").all_inner_texts()]
    row = page.get_by_role("row").filter(has=page.get_by_role("link", name=code, exact=True))
    return row.get_by_role("gridcell").nth(heads.index(head) - 1)


def edit(page: Page, code: str, head: str, text: str) -> None:
    place = cell(page, code, head)
    place.focus()  # type: ignore[attr-defined]
    page.keyboard.press("Enter")
    page.locator(".being-edited input").fill(text)
    page.keyboard.press("Enter")
    expect(page.locator(".being-edited")).to_have_count(0)


def all_sent(page: Page) -> None:
    expect(page.get_by_text("All sent.")).to_be_visible()


def test_an_item_goes_from_the_firm_to_a_building_and_its_new_price_follows_by_choice(
    owner: Page, sites: dict[str, str]
) -> None:
    page = owner
    page.get_by_role("link", name="Catalogue of the firm").click()
    page.get_by_role("link", name="New bar").click()
    page.get_by_label("Code").fill("HERON-9")
    page.get_by_label("Name").fill("Bar for a cove")
    page.get_by_role("button", name="Put it into the catalogue").click()
    expect(page.get_by_role("heading", name="HERON-9")).to_be_visible()
    page.get_by_label("Each").fill("21,500")
    page.get_by_role("button", name="Set the price").click()
    expect(page.get_by_role("alert")).to_have_text("Each: '21,500' could be 21500 or 21.5. Type the one that is meant.")
    page.get_by_label("Each").fill("21.5")
    page.get_by_role("button", name="Set the price").click()
    expect(page.get_by_role("link", name="Price Each: 21.5")).to_be_visible()
    all_sent(page)

    catalogue(page, sites["building"])
    expect(page.get_by_text("1 item changed since")).to_be_visible()
    page.get_by_role("link", name="See what differs").click()
    difference = page.get_by_role("listitem").filter(has_text="HERON-9")
    expect(difference).to_contain_text("new")
    expect(page.get_by_text("No group would be planned otherwise.")).to_be_visible()
    page.get_by_role("button", name="Take 1 item").click()
    expect(page.get_by_text("Items taken: 1.")).to_be_visible()

    catalogue(page, sites["catalogue"])
    edit(page, "HERON-9", "Each", "23")
    expect(cell(page, "HERON-9", "Each")).to_have_text("23")  # type: ignore[arg-type]
    all_sent(page)

    catalogue(page, sites["building"])
    expect(cell(page, "HERON-9", "Each")).to_have_text("21.5")  # type: ignore[arg-type]
    expect(page.get_by_text("1 item changed since")).to_be_visible()
    page.get_by_role("link", name="See what differs").click()
    expect(page.get_by_text("Price, Each: 21.5 → 23")).to_be_visible()
    page.get_by_role("button", name="Take 1 item").click()
    expect(page.get_by_text("Nothing has changed in the firm's catalogue since.")).to_be_visible()
    catalogue(page, sites["building"])
    expect(cell(page, "HERON-9", "Each")).to_have_text("23")  # type: ignore[arg-type]


def test_cells_are_walked_and_edited_by_keyboard_alone(owner: Page, sites: dict[str, str]) -> None:
    page = catalogue(owner, sites["catalogue"])
    page.get_by_role("link", name="TERN-2", exact=True).focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    expect(cell(page, "TERN-3", "Name")).to_be_focused()  # type: ignore[arg-type]
    page.keyboard.press("Tab")
    expect(cell(page, "TERN-3", "Length")).to_be_focused()  # type: ignore[arg-type]
    page.keyboard.press("Enter")
    page.locator(".being-edited input").fill("nonsense")
    page.keyboard.press("Enter")
    expect(page.locator(".being-edited .problem")).to_be_visible()
    page.keyboard.press("Escape")
    expect(cell(page, "TERN-3", "Length")).to_be_focused()  # type: ignore[arg-type]
    expect(cell(page, "TERN-3", "Length")).to_contain_text("34 13/16 in")  # type: ignore[arg-type]
    edit(page, "TERN-3", "Supplier", "Harbour Supply")
    expect(cell(page, "TERN-3", "Supplier")).to_have_text("Harbour Supply")  # type: ignore[arg-type]


def test_what_would_be_planned_otherwise_is_shown_before_a_recalled_item_is_taken(
    owner: Page, sites: dict[str, str], server: Server
) -> None:
    client = Client(server.url, "owner")
    uses = client.get(f"/api/sites/{sites['building']}/catalogue/uses")["uses"]
    used = max(uses, key=lambda each: each["groups"])
    page = owner
    go(page, f"/s/{sites['catalogue']}/desk/catalogue/item/{used['item']}")
    page.get_by_label("Recall it, because").fill("cover falls off")
    page.get_by_role("button", name="Recall", exact=True).click()
    expect(page.get_by_text("recalled").first).to_be_visible()
    all_sent(page)
    go(page, f"/s/{sites['building']}/desk/catalogue/version")
    expect(page.get_by_text("Recall, Why it may not be fitted any more: nothing → cover falls off")).to_be_visible()
    expect(page.get_by_role("region", name="Groups planned otherwise")).to_be_visible()
    expect(page.get_by_text("groups would be planned otherwise")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=(320, 360, 768, 1280))


def test_an_item_is_duplicated_retired_and_brought_back(owner: Page, sites: dict[str, str]) -> None:
    page = catalogue(owner, sites["catalogue"])
    page.get_by_role("link", name="TERN-2", exact=True).click()
    page.get_by_role("button", name="Duplicate it").click()
    expect(page.get_by_role("heading", name="TERN-2 copy")).to_be_visible()
    page.get_by_role("button", name="Retire", exact=True).click()
    expect(page.get_by_text("Say why")).to_be_visible()
    page.get_by_label("Retire it, because").fill("never ordered")
    page.get_by_role("button", name="Retire", exact=True).click()
    expect(page.get_by_text("never ordered")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=(320, 360, 768, 1280))
    page.get_by_role("button", name="Bring it back").click()
    expect(page.get_by_text("never ordered")).to_have_count(0)


def test_the_table_becomes_cards_on_a_phone_and_is_read_by_machines(owner: Page, sites: dict[str, str]) -> None:
    page = catalogue(owner, sites["building"], "Drivers")
    assert_fits_and_can_be_hit_and_read(page, widths=(320, 360, 768, 1280))
    page.set_viewport_size({"width": 360, "height": 740})
    assert page.evaluate("getComputedStyle(document.querySelector('tbody td')).display") == "flex"


def test_a_thousand_items_stand_in_pages_of_few_elements(owner: Page, sites: dict[str, str], server: Server) -> None:
    hand = Hand(Client(server.url, "owner"), sites["catalogue"])
    about = {"parent": sites["catalogue"], "item": "accessory"}
    first = hand.operation(str(uuid4()), "catalogue_item", "identity", about | {"code": "SHELF-0000"})
    device = first["id"].rsplit(".", 1)[0]
    others = [
        first | {"id": f"{device}.{number + 1}", "record": str(uuid4()), "to": about | {"code": f"SHELF-{number:04}"}}
        for number in range(1, 1000)
    ]
    hand.push(first, *others)
    page = catalogue(owner, sites["catalogue"], "Accessories")
    page.get_by_label("Find an item").fill("shelf")
    expect(page.get_by_text("1 to 40 of 1000.")).to_be_visible()
    assert page.evaluate("document.querySelectorAll('*').length") <= 2000
    page.get_by_role("button", name="Later items").click()
    expect(page.get_by_role("link", name="SHELF-0040")).to_be_visible()
    page.get_by_label("Find an item").fill("shelf-0999")
    expect(page.get_by_text("1 to 1 of 1.")).to_be_visible()
