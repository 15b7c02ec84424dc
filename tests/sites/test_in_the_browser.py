"""Sites, money and settings on the screen, in real Chromium: phone and desk, light and dark, by keyboard."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import go, sign_in
from tests.support.installation import Installation, installed
from tests.support.kept_page import page_is_kept
from tests.support.looks import assert_fits_and_can_be_hit_and_read, shot
from tests.support.server import Client, Server

pytestmark = pytest.mark.keeps_page(False)

WIDTHS = (360, 1280)
NOT_SAVED = "Typed here, not saved yet"
STILL_HERE = "What you had typed here is still here"
Running = tuple[Server, Installation]
OpenAs = Callable[..., Page]


@pytest.fixture
def running(tmp_path: Path, page_served: dict[str, str]) -> Iterator[Running]:
    """A server with one empty site and a person of each role."""
    with installed(tmp_path / "data") as here:
        server = Server(tmp_path / "data", command="serve", env=page_served).start()
        yield server, here
        server.stop()


@pytest.fixture
def open_as(running: Running, new_phone: Callable[..., BrowserContext]) -> OpenAs:
    """Opens an address as a person, in a window of their own."""

    def open_(name: str, path: str = "/") -> Page:
        window = new_phone(viewport={"width": 1280, "height": 900}, is_mobile=False, has_touch=False)
        page = sign_in(window.new_page(), running[0].url, name, path.replace("{site}", running[1].site))
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        return page

    return open_


@pytest.mark.parametrize("path", ["/", "/sites/new", "/s/{site}", "/s/{site}/desk/money", "/s/{site}/desk/settings"])
def test_a_screen_fits_and_can_be_hit_and_read(open_as: OpenAs, path: str) -> None:
    page = open_as("owner", path)
    line = "All sent." if "{site}" in path else "No site is on this phone yet."
    expect(page.get_by_text(line)).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=WIDTHS)


def test_the_screen_that_deletes_fits_counts_and_wants_the_name(open_as: OpenAs, running: Running) -> None:
    page = open_as("owner", "/s/{site}/desk/delete")
    expect(page.get_by_text("Entries in the log")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=WIDTHS)
    delete = page.get_by_role("button", name="Delete it for good")
    expect(delete).to_be_disabled()
    name = page.get_by_label("To delete it, type its name: Test building")
    name.fill("Test")
    expect(delete).to_be_disabled()
    name.fill("Test building")
    name.press("Enter")
    expect(page.get_by_role("heading", name="Begin with a site")).to_be_visible()
    expect(page.get_by_role("contentinfo")).not_to_contain_text("no such site")
    assert Client(running[0].url, "owner").get("/api/sites")["sites"] == []


def test_a_surveyor_is_told_that_there_is_no_catalogue_and_not_what_to_set_up(open_as: OpenAs) -> None:
    page = open_as("surveyor", "/s/{site}")
    expect(page.get_by_text("There is no catalogue yet: fit is judged when the manager brings it in.")).to_be_visible()
    expect(page.get_by_role("region", name="Setting up this site")).to_have_count(0)


def test_an_archived_site_stands_apart_and_offers_nothing_to_change(open_as: OpenAs) -> None:
    page = open_as("owner", "/s/{site}/desk/settings")
    page.get_by_role("button", name="Close this site").click()
    expect(page.get_by_role("button", name="Open this site again")).to_be_visible()
    expect(page.get_by_text("Only managers and owners change this, and nobody on a closed site.")).to_have_count(5)
    page.get_by_role("link", name="Home", exact=True).click()
    expect(page.get_by_text("This site was closed on")).to_be_visible()
    expect(page.get_by_role("link", name="Add a floor")).to_have_count(0)
    page.get_by_role("link", name="Back").click()
    page.get_by_text("Closed: 1 site").click()
    page.get_by_role("link", name="Test building").click()
    expect(page.get_by_text("This site was closed on")).to_be_visible()


def test_money_says_unit_example_and_what_it_changes_and_keeps_what_was_typed(
    open_as: OpenAs, running: Running
) -> None:
    page = open_as("owner", "/s/{site}/desk/money")
    expect(page.get_by_label("Currency", exact=True)).to_be_visible()
    cap = page.get_by_label("Rebate at most, for one application")
    expect(cap).to_be_hidden()
    save = page.get_by_role("button", name="Save the money")
    page.get_by_text("Energy", exact=True).click()
    expect(page.get_by_label("Currency", exact=True)).to_be_hidden()
    save.click()
    expect(page.get_by_role("alert")).to_be_visible()
    page.get_by_role("button", name="Open all parts").click()
    expect(page.get_by_text("the most that is paid for the whole site together")).to_be_visible()
    expect(page.get_by_text("For example 25000.")).to_be_visible()
    page.get_by_label("Currency", exact=True).fill("EUR")
    cap.fill("25000")
    page.get_by_label("Mobilisation").fill("450")
    page.get_by_role("region", name="Waste containers").get_by_label("Lamps up to 4 ft in a container").fill("120")
    expect(page.get_by_text("Without it what stands beside it is not counted.")).to_be_visible()
    page.get_by_role("radio", name="materials and labour").check()
    save.click()
    expect(page.get_by_text("Plans are reckoned anew")).to_be_visible()
    expect(page.get_by_label("Energy price [EUR per kWh]", exact=True)).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    there = Client(running[0].url, "owner")
    pulled = there.get(f"/api/sites/{running[1].site}/pull")["records"]
    (money,) = [each["facets"]["identity"]["value"] for each in pulled if each["type"] == "money"]
    assert (money["currency"], money["rebate_cap_application"]) == ("EUR", 25000)
    assert (money["mobilisation"], money["tax_on"]) == (450, "materials-and-labour")
    assert money["short_lamp_container_holds"] == 120
    page.reload()
    expect(page.get_by_role("button", name="Save the money")).to_be_visible()
    expect(page.get_by_text(STILL_HERE)).to_have_count(0)


def test_what_is_half_typed_at_the_desk_is_there_again_until_it_is_let_go(open_as: OpenAs) -> None:
    page = open_as("owner", "/s/{site}/desk/settings")
    address = page.get_by_role("textbox", name="Address", exact=True)
    name = page.get_by_role("textbox", name="Name", exact=True)
    expect(address).to_have_value("")
    named = name.input_value()
    address.fill("12 Quay Roa")
    page.get_by_role("link", name="Money", exact=True).first.click()
    expect(page.get_by_role("button", name="Save the money")).to_be_visible()
    expect(page.get_by_text(STILL_HERE)).to_have_count(0)
    page.go_back()
    expect(address).to_have_value("12 Quay Roa")
    page.reload()
    expect(address).to_have_value("12 Quay Roa")
    expect(name).to_have_value(named)
    expect(page.get_by_text(STILL_HERE)).to_have_count(1)
    page.get_by_role("button", name="Start afresh").click()
    expect(address).to_have_value("")
    expect(page.get_by_text(STILL_HERE)).to_have_count(0)


def test_a_part_of_the_money_form_that_holds_what_is_not_saved_is_open_and_says_so(open_as: OpenAs) -> None:
    page = open_as("owner", "/s/{site}/desk/money")
    save = page.get_by_role("button", name="Save the money")
    page.get_by_label("Currency", exact=True).fill("EUR")
    save.click()
    expect(page.get_by_text("Plans are reckoned anew")).to_be_visible()
    expect(page.get_by_text(NOT_SAVED)).to_have_count(0)
    held = page.get_by_role("region", name="Once for the job", exact=True)
    typed = held.get_by_label("Mobilisation")
    held.locator("summary").click()
    typed.fill("450")
    page.get_by_role("link", name="Settings of the site", exact=True).first.click()
    expect(page.get_by_role("textbox", name="Address", exact=True)).to_be_visible()
    page.go_back()
    expect(typed).to_be_visible()
    expect(held.get_by_text(NOT_SAVED)).to_be_visible()
    expect(page.get_by_label("Currency", exact=True)).to_be_hidden()
    expect(page.get_by_text(NOT_SAVED)).to_have_count(1)
    shot(page, "money-not-saved")
    page.get_by_role("button", name="Start afresh").click()
    expect(page.get_by_text(NOT_SAVED)).to_have_count(0)


def test_a_browser_that_is_new_to_a_site_shows_no_empty_form_and_asks_the_server_once(
    open_as: OpenAs, running: Running
) -> None:
    """While nothing has been pulled, money that is entered must not look as if it were not."""
    server, here = running
    money = {"record": str(uuid4()), "type": "money", "facet": "identity"}
    value = {"parent": here.site, "currency": "EUR", "tariff_per_kwh": 0.2}
    here.push("owner", here.operation("owner", **money, to=value))
    page = open_as("owner", "/sites/new")
    page.route("**/pull*", lambda route: route.abort())
    page.goto(f"{server.url}/s/{here.site}/desk/money")
    expect(page.get_by_text("This browser has not heard yet")).to_be_visible()
    expect(page.get_by_role("button", name="Save the money")).to_have_count(0)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url.split("?")[0].rsplit("/", 1)[1]))
    page.goto(f"{server.url}/s/{here.site}/desk")
    expect(page.get_by_text("There is no room yet.")).to_be_visible()
    expect(page.get_by_text("This browser has not heard yet")).to_be_visible()
    page.unroute("**/pull*")
    page.goto(f"{server.url}/s/{here.site}/desk/money")
    expect(page.get_by_text("2 of 7 entered. Currency: EUR")).to_be_visible()
    expect(page.get_by_text("This browser has not heard yet")).to_have_count(0)
    expect(page.get_by_text("All sent.")).to_be_visible()
    assert asked.count("completeness") == 1


@pytest.mark.keeps_page(True)
def test_what_a_phone_saved_before_the_site_was_archived_waits_there_and_goes_when_it_is_back(
    open_as: OpenAs, running: Running
) -> None:
    server, here = running
    page = open_as("surveyor", "/s/{site}")
    expect(page.get_by_text("All sent.")).to_be_visible()
    page_is_kept(page)
    page.context.set_offline(True)
    page.get_by_role("link", name="Add a floor").click()
    page.get_by_label("Name", exact=True).fill("Ground")
    page.get_by_role("button", name="Add the floor").click()
    expect(page.get_by_role("contentinfo")).to_contain_text("1 not sent")
    owner = Client(server.url, "owner")
    assert owner.call("PUT", f"/api/sites/{here.site}/archived", {"archived": True})[0] == 204
    page.context.set_offline(False)
    expect(page.get_by_role("contentinfo")).to_contain_text("This site is closed")
    expect(page.get_by_role("contentinfo")).to_contain_text("1 not sent")
    assert owner.call("PUT", f"/api/sites/{here.site}/archived", {"archived": False, "reason": "More to do"})[0] == 204
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_text("All sent.")).to_be_visible()
    floors = [each for each in owner.get(f"/api/sites/{here.site}/pull")["records"] if each["type"] == "floor"]
    assert len(floors) == 1


def test_a_copy_of_a_site_is_taken_in_on_the_screen_or_refused_with_the_reason(
    open_as: OpenAs, running: Running
) -> None:
    server, here = running
    owner = Client(server.url, "owner")
    copy = owner.get(f"/api/sites/{here.site}/copy.zip")
    page = open_as("owner", "/sites/new")

    def choose(data: bytes) -> None:
        chosen = {"name": "copy.zip", "mimeType": "application/zip", "buffer": data}
        page.get_by_label("Copy of a site (zip)").set_input_files([chosen])

    choose(copy)
    expect(page.get_by_text("is on this server already")).to_be_visible()
    assert owner.call("DELETE", f"/api/sites/{here.site}", {"name": "Test building"})[0] == 204
    choose(b"no zip at all")
    expect(page.get_by_text("This is no copy of a site.")).to_be_visible()
    choose(copy)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Test building")
    assert [each["id"] for each in owner.get("/api/sites")["sites"]] == [here.site]


def test_the_desk_of_a_site_without_rooms_says_that_there_is_none_yet(open_as: OpenAs) -> None:
    page = open_as("manager", "/s/{site}/desk")
    expect(page.get_by_role("region", name="The whole site")).to_contain_text("There is no room yet.")


def test_a_phone_with_a_deleted_site_says_so_saves_what_waits_to_a_file_and_puts_it_away(
    open_as: OpenAs, running: Running
) -> None:
    page = open_as("surveyor", "/s/{site}")
    line = page.get_by_role("contentinfo")
    expect(line).to_contain_text("All sent.")
    status, _ = Client(running[0].url, "owner").call(
        "DELETE", f"/api/sites/{running[1].site}", {"name": "Test building"}
    )
    assert status == 204
    page.get_by_role("link", name="Add a floor").click()
    page.get_by_label("Name", exact=True).fill("Ground")
    page.get_by_role("button", name="Add the floor").click()
    expect(line).to_contain_text("A site on this phone was deleted on the server.")
    expect(line).not_to_contain_text("no such site")
    for path in ("", "/kinds", "/find"):
        go(page, f"/s/{running[1].site}{path}")
        expect(page.get_by_text("what is entered here cannot be sent")).to_have_count(1)
    line.get_by_role("link", name="Look").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Test building")
    expect(page.get_by_text("Only on this phone: 1 entry, 0 photos.")).to_be_visible()
    put_away = page.get_by_role("button", name="Put this site away from this phone")
    expect(put_away).to_be_disabled()
    assert_fits_and_can_be_hit_and_read(page, widths=WIDTHS)
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save all of it to a file").click()
    assert '"Ground"' in waiting.value.path().read_text(encoding="utf-8")
    put_away.click()
    expect(page.get_by_text("You are on no site yet")).to_be_visible()
    expect(line).not_to_contain_text("deleted")
    page.wait_for_function(
        "async (site) => (await indexedDB.databases()).every(({ name }) => !name.includes(site))", arg=running[1].site
    )
