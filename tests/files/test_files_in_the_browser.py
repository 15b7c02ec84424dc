"""Bringing a file in at the desk: choose it, match a column by hand, say a unit, see what it would do, accept, take back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect
from tests.desk.conftest import WIDE, Desk, desk_of
from tests.files.bringing import csv_text, xlsx
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Server

pytestmark = pytest.mark.keeps_page(False)

ROWS = [
    ["Floor", "Room number", "Was it called", "Length", "Hours lit a year"],
    ["Annex", "A01", "Net store", 31, 1800],
    ["Annex", "A02", "Brine room", 22.5, 2100],
]


@pytest.fixture
def desk(fresh_server: Server, browser: Browser) -> Iterator[Desk]:
    context: BrowserContext = browser.new_context(**WIDE)
    yield desk_of(fresh_server, context.new_page(), "manager")
    context.close()


def choose(page: Page, data: bytes, name: str = "annex.xlsx") -> None:
    page.get_by_label("File (CSV or XLSX)").set_input_files(
        {"name": name, "mimeType": "application/octet-stream", "buffer": data}
    )


@contextmanager
def held(page: Page, pattern: str) -> Iterator[None]:
    """Requests that wait, as on a slow line, until the block is left."""
    waiting: list[Route] = []
    page.route(pattern, lambda route: waiting.append(route))
    yield
    assert waiting
    for each in waiting:
        each.continue_()
    page.unroute(pattern)


def rooms_named(desk: Desk) -> list[Any]:
    return sorted(
        each["identity"].get("name") for each in desk.records("room") if each["identity"].get("number", "")[:1] == "A"
    )


def test_a_file_is_chosen_matched_seen_accepted_and_taken_back(desk: Desk) -> None:
    page = desk.open("/files")
    choose(page, xlsx(ROWS))
    column = page.get_by_label("“Was it called” is")
    with held(page, "**/imports/*/answer"):
        page.get_by_role("button", name="ft", exact=True).click()
        # Nothing else can be said while this is under way: the server would refuse it.
        expect(column).to_be_disabled()
    column.select_option("Room name")
    would = page.get_by_role("table", name="What it would do")
    expect(would.get_by_role("row")).to_have_count(3)
    expect(would).to_contain_text("A02")
    assert rooms_named(desk) == []
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_text("2 new, 0 changed, 0 left as they are.")).to_be_visible()
    expect(page.get_by_text("brought in", exact=True)).to_be_visible()
    assert rooms_named(desk) == ["Brine room", "Net store"]
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("taken back", exact=True)).to_be_visible()
    assert rooms_named(desk) == []


def test_what_is_wrong_is_told_with_row_and_column_and_cannot_be_accepted(desk: Desk) -> None:
    page = desk.open("/files")
    rows = [*ROWS[:1], ["Annex", "A01", "", "wide", 1800], ["Annex", "A02", "", "3 m", "often"]]
    choose(page, csv_text(rows).encode(), "annex.csv")
    page.get_by_role("button", name="mm", exact=True).click()
    table = page.get_by_role("table", name="To be mended")
    expect(table.get_by_role("row").nth(1)).to_contain_text("D (Length)")
    expect(table.get_by_role("row").nth(2)).to_contain_text("'often' is not a number")
    expect(page.get_by_role("button", name="Bring it in")).to_have_count(0)


def test_all_of_it_can_be_done_by_keyboard(desk: Desk) -> None:
    page = desk.open("/files")
    choose(page, xlsx([ROWS[0], ["Annex", "A09", "Loft", "30 ft", 7]]))
    button = page.get_by_role("button", name="Bring it in")
    expect(button).to_be_visible()
    page.get_by_label("File (CSV or XLSX)").focus()
    for _ in range(40):
        page.keyboard.press("Tab")
        if button.evaluate("e => e === document.activeElement"):
            break
    expect(button).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_text("brought in", exact=True)).to_be_visible()


def test_the_screen_fits_and_can_be_hit_and_read(desk: Desk) -> None:
    page = desk.open("/files")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    choose(page, xlsx([*ROWS, ["Annex", "A03", "", "wide", "often"]]))
    page.get_by_role("button", name="ft", exact=True).click()
    expect(page.get_by_role("table", name="To be mended")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))


def test_tables_are_taken_away_by_name(desk: Desk) -> None:
    page = desk.open("/files")
    with page.expect_download() as waiting:
        page.get_by_role("link", name="All tables in one workbook").click()
    assert waiting.value.path().read_bytes().startswith(b"PK")
