"""Codes are made once, sheets are printed from a chosen place, and the walk goes out as a table."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable

import pymupdf
import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.desk.conftest import Desk, NewDesk
from tests.open_points.complete_site import make_complete_site
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Server

from spanwalk.rules.codes import spaced
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.survey import Survey, facet


def sheets(page: Page, *asked: str) -> pymupdf.Document:
    """The sheets behind 'Print labels', once it leads to what is asked for, fetched as the person who is signed in."""
    link = page.get_by_role("link", name="Print labels")
    for part in asked:
        expect(link).to_have_attribute("href", re.compile(part))
    href = link.get_attribute("href")
    assert href
    answer = page.request.get(page.url.split("/s/")[0] + href)
    assert answer.status == 200, answer.text()
    return pymupdf.open(stream=answer.body(), filetype="pdf")


def fixtures_of(desk: Desk, floor: str | None = None) -> int:
    """Fixtures of a floor or the site that are converted, counted from the records by the rules' own word for it."""
    pulled = desk.told("pull?since=0&limit=5000")["records"]
    views = [
        {**each, "facets": {name: told["value"] for name, told in each["facets"].items()}, "conflicts": []}
        for each in pulled
    ]
    survey = Survey(views)  # type: ignore[arg-type]
    here = [group for group in survey.groups_to_convert() if _on(survey, group, floor)]
    return sum(facet(group, "count").get("count", 0) for group in here)


def _on(survey: Survey, group: GroupView, floor: str | None) -> bool:
    on = survey.floor_of(group)
    return on is not None and floor in (None, on["id"])


def codes_of(desk: Desk) -> list[dict[str, str]]:
    labels = desk.records("label")
    assert labels
    return [each["identity"] for each in labels]


@pytest.fixture
def desk(new_desk: NewDesk, fresh_server: Server) -> Desk:
    return new_desk(at=fresh_server)


def make(page: Page) -> str:
    page.get_by_role("button", name="Make codes").click()
    said = page.get_by_role("status").filter(has_text=re.compile("made|already"))
    expect(said).to_be_visible()
    return said.inner_text()


def test_codes_are_made_for_a_floor_then_the_rest_then_none(desk: Desk) -> None:
    floor = desk.records("floor")[0]
    on_floor, in_all = fixtures_of(desk, floor["id"]), fixtures_of(desk)
    page = desk.open("/labels")
    page.get_by_label("For", exact=True).select_option(floor["id"])
    assert f"{on_floor} codes made" in make(page)
    assert len(desk.records("label")) == on_floor
    expect(page.get_by_text(f"{on_floor} fixtures have a label.")).to_be_visible()
    page.get_by_label("For", exact=True).select_option("")
    page.get_by_role("button", name="Make codes").click()
    expect(page.get_by_text(f"{in_all - on_floor} codes made")).to_be_visible()
    page.get_by_role("button", name="Make codes").click()
    expect(page.get_by_text("Every fixture here has a code already.")).to_be_visible()
    bound = [(each["binding"]["group"], each["binding"]["position"]) for each in desk.records("label")]
    assert len(bound) == len(set(bound)) == in_all


@pytest.mark.parametrize(("paper", "size", "places"), [("a4", (595, 842), 24), ("letter", (612, 792), 30)])
def test_sheets_have_the_chosen_paper_and_begin_at_the_first_free_place(
    desk: Desk, paper: str, size: tuple[int, int], places: int
) -> None:
    floor = desk.records("floor")[0]
    fixtures = fixtures_of(desk, floor["id"])
    page = desk.open("/labels")
    page.get_by_label("For", exact=True).select_option(floor["id"])
    make(page)
    page.get_by_label("Floor").select_option(floor["id"])
    page.get_by_label("Paper").select_option(paper)
    page.get_by_label("First free place").fill("3")
    printed = sheets(page, f"paper={paper}&", "start=3&", f"floor={floor['id']}")
    assert (round(printed[0].rect.width), round(printed[0].rect.height)) == size
    assert len(printed) == -(-(fixtures + 2) // places)
    text = "\n".join(sheet.get_text() for sheet in printed)
    assert [each["code"] for each in codes_of(desk) if spaced(each["code"]) not in text] == []


def test_a_place_that_the_sheet_does_not_have_is_refused_in_words(desk: Desk) -> None:
    page = desk.open("/labels")
    make(page)
    alert = page.get_by_role("alert")
    for start in ("0", "25", "x", "1.5", ""):
        page.get_by_label("First free place").fill(start)
        expect(alert).to_contain_text("24")
        expect(page.get_by_label("First free place")).to_have_value(start)
        assert page.get_by_text("Print labels (PDF)").get_attribute("href") is None
        page.get_by_label("First free place").fill("24")
        expect(alert).to_have_count(0)


def test_the_walk_comes_as_a_table_with_every_room(desk: Desk) -> None:
    page = desk.open("/labels")
    with page.expect_download() as waiting:
        page.get_by_role("link", name="The walk as a table").click()
    rows = list(csv.reader(io.StringIO(waiting.value.path().read_text(encoding="utf-8-sig"))))
    told = "\n".join(",".join(row) for row in rows)
    for room in desk.records("room"):
        assert (room["identity"].get("name") or room["identity"].get("number", "")) in told


def test_a_surveyor_prints_but_makes_no_codes(new_desk: NewDesk, fresh_server: Server) -> None:
    page = new_desk("surveyor", at=fresh_server).open("/labels")
    expect(page.get_by_text("Print labels (PDF)")).to_be_visible()
    expect(page.get_by_role("button", name="Make codes")).to_have_count(0)


def test_nothing_is_printed_where_no_fixture_has_a_code(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    site = make_complete_site(server)
    page = new_phone().new_page()
    sign_in(page, server.url, "owner", f"/s/{site.hand.site}/desk/labels")
    expect(page.get_by_text("No label here waits to be printed.")).to_be_visible()
    assert page.get_by_text("Print labels (PDF)").get_attribute("href") is None
    page.get_by_role("button", name="Make codes").click()
    expect(page.get_by_role("link", name="Print labels")).to_be_visible()
    expect(page.get_by_text("No label here waits to be printed.")).to_have_count(0)


def test_what_was_printed_is_no_longer_chosen_and_what_says_an_old_name_is_named(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    site = make_complete_site(server)
    page = new_phone().new_page()
    sign_in(page, server.url, "owner", f"/s/{site.hand.site}/desk/labels")
    page.get_by_role("button", name="Make codes").click()
    page.get_by_role("button", name="They came out of the printer").click()
    expect(page.get_by_text("noted as printed.")).to_be_visible()
    expect(page.get_by_text("No label here waits to be printed.")).to_be_visible()
    expect(page.get_by_text("noted as printed.")).to_be_visible()
    identity = site.hand.state(site.room)["facets"]["identity"]["value"]
    site.hand.save(site.room, "room", identity={**identity, "name": "Cold store"})
    page.reload()
    outdated = page.get_by_role("region", name="Labels that say what is not so any more")
    expect(outdated.get_by_text("Cold store' now")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    outdated.get_by_role("button", name="Choose these").click()
    expect(page.get_by_role("link", name="Print labels")).to_have_attribute("href", re.compile("what=outdated"))


def test_a_voided_label_says_so_when_it_is_scanned_and_a_blank_one_is_bound(desk: Desk) -> None:
    page = desk.open("/labels")
    make(page)
    expect(page.get_by_text("No public address is set")).to_be_visible()
    code = codes_of(desk)[0]["code"]
    page.get_by_label("Code on the label").fill(spaced(code))
    page.get_by_role("button", name="Open", exact=True).click()
    page.get_by_label("Void it, because").fill("Torn off by the ladder.")
    page.get_by_role("button", name="Void", exact=True).click()
    expect(page.get_by_text("was voided: 'Torn off by the ladder.'")).to_be_visible()
    page.goto(f"{desk.url}/s/{desk.site}/scan")
    page.get_by_label("Code under the QR").fill(code)
    page.get_by_role("button", name="Open", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("was voided: 'Torn off by the ladder.'")
    expect(page.get_by_role("link", name="Show the fixture")).to_be_visible()
    page.goto(f"{desk.url}/F/{code}")
    expect(page.get_by_role("alert")).to_contain_text("was voided: 'Torn off by the ladder.'")
    desk.client.call("POST", f"/api/sites/{desk.site}/labels/blank", {"count": 1})
    (blank,) = [each["identity"]["code"] for each in desk.records("label") if "binding" not in each]
    page.goto(f"{desk.url}/F/{blank}")
    expect(page.get_by_role("alert")).to_contain_text("hangs on no fixture yet")
    page.get_by_role("link", name="Choose the fixture").click()
    page.get_by_role("button", name="U02 Brine cellar").click()
    page.get_by_role("button", name=re.compile("^K10")).click()
    expect(page.get_by_role("checkbox", name="This label is now on it")).to_be_checked()
    page.get_by_role("button", name="3", exact=True).click()
    page.wait_for_url(re.compile(rf"/fixture/[0-9a-f-]+/3\?code={blank}"))
    expect(page.get_by_role("link", name=f"About label {spaced(blank)}")).to_be_visible()


def test_a_notice_in_another_language_is_read_before_it_is_printed_and_says_who_has_not_read_it(desk: Desk) -> None:
    page = desk.open("/labels")
    page.get_by_label("What to print").select_option("notices")
    page.get_by_label("Notices in all").fill("8")
    page.get_by_label("Paper").select_option("a4-2x4")
    expect(page.get_by_text("scripts that run from right to left are not printed")).to_be_visible()
    expect(page.get_by_text("Not yet reviewed by a native electrician.")).to_have_count(0)
    page.get_by_label("Language").select_option("pl")
    expect(page.get_by_text("Not yet reviewed by a native electrician.")).to_be_visible()
    page.get_by_label("What local code is called").select_option("PL")
    expect(page.get_by_text("W tej oprawie nie wolno stosować świetlówek.")).to_be_visible()
    expect(page.get_by_text("norma PN-HD 60364")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    with sheets(page, "language=pl", "region=PL") as printed:
        text = " ".join(printed[0].get_text().split())
    assert text.count("świetlówek") == 8
    assert text.count("PN-HD 60364") == 8
