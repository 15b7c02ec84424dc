"""The owner lets a site be judged with what closed sites tell, at the desk; a group then says what that changed."""

from __future__ import annotations

import sqlite3

from playwright.sync_api import Browser, expect
from tests.conftest import sign_in
from tests.desk.conftest import NewDesk, new_desk
from tests.support.looks import BEYOND, SMALL, assert_fits_and_can_be_hit_and_read, found_at_rest, shot
from tests.support.server import Client, Server

__all__ = ["new_desk"]
CLOSED = 6


def closed_sites_tell(server: Server) -> None:
    """Rows as the closing of six invented sites leaves them: 0.9 mm between cavities of 4 ft lamps, five lamps in a hundred dark."""
    columns = "(site, of, key, n, total, squares, degrees)"
    with sqlite3.connect(server.data / "spanwalk.db") as database:
        for at in range(CLOSED):
            squares = (270 + 10 * at) ** 2 * 12
            for row in (("spread", "T8/4-ft", 15, 0, squares, 12), ("dark", "T8/4-ft", 100, 5, 0, 0)):
                database.execute(
                    f"insert into learning_number {columns} values (?,?,?,?,?,?,?)", (f"invented {at}", *row)
                )


def test_the_owner_takes_what_closed_sites_tell_and_groups_say_so(server: Server, new_desk: NewDesk) -> None:
    closed_sites_tell(server)
    desk = new_desk("owner")
    page = desk.open("/learning")
    expect(page.get_by_text(f"Closed sites that give their numbers: {CLOSED}.")).to_be_visible()
    spread = page.get_by_role("table", name="Cavities of a group differ by (standard deviation)")
    expect(spread.get_by_role("row", name="T8 · 4 ft")).to_contain_text("readings are enough in place of")
    expect(page.get_by_role("table", name="Dark lamps").get_by_role("row", name="T8 · 4 ft")).to_contain_text("5.0 %")
    take = page.get_by_role("button", name="Take the newest numbers")
    expect(take).to_be_disabled()
    page.get_by_role("group", name="Judge with the firm's numbers").get_by_role("radio", name="yes", exact=True).check()
    page.get_by_role("button", name="Save").click()
    expect(take).to_be_enabled()
    take.click()
    expect(page.get_by_text("This site took numbers of 1 kind on")).to_be_visible()
    assert found_at_rest(page, BEYOND) == []
    assert found_at_rest(page, SMALL) == []
    assert_fits_and_can_be_hit_and_read(page, (360, 1280))
    judged = {group: told["firm"] for group, told in desk.told("fits")["groups"].items() if "firm" in told}
    assert judged
    group, firm = next(iter(judged.items()))
    page.goto(f"{desk.url}/s/{desk.site}/group/{group}")
    expect(page.locator(f"[data-firm={firm['state']}]").first).to_contain_text(f"{CLOSED} of your closed sites")


def test_a_manager_who_opens_what_closed_sites_tell_reads_whose_it_is_and_nothing_is_asked(new_desk: NewDesk) -> None:
    desk = new_desk("manager")
    asked: list[str] = []
    desk.page.on("request", lambda request: asked.append(request.url))
    page = desk.open("/learning")
    expect(page.get_by_text("only owners of the firm's server see it")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)
    expect(page.get_by_role("link", name="What closed sites tell")).to_have_count(0)
    assert [each for each in asked if each.endswith("/learning") and "/api/" in each] == []
    shot(page, "learning-manager")


def test_the_owner_of_a_site_who_is_none_of_the_firm_says_whether_it_gives_its_numbers(
    fresh_server: Server, browser: Browser
) -> None:
    """What closed sites tell stays the firm's."""
    with sqlite3.connect(fresh_server.data / "spanwalk.db") as database:
        database.execute("UPDATE person SET owner = 0 WHERE name = 'owner'")
    page = sign_in(browser.new_page(), fresh_server.url, "owner")
    page.goto(f"{fresh_server.url}/s/{Client(fresh_server.url, 'owner').site_id()}/desk/learning")
    expect(page.get_by_text("Its numbers may serve the firm's other sites").first).to_be_visible()
    expect(page.get_by_text("only owners of the firm's server see it")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)
    page.close()
