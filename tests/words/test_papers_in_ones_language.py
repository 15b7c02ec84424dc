"""What people take away is in their language, or in the one that they chose for the paper; what is kept keeps its own."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pymupdf
import pytest
from openpyxl import load_workbook
from tests.handover.test_report_of_the_demo_building import HandedOver, no_duty
from tests.memory.test_odd_letters import STEP, a_fixture
from tests.open_points.complete_site import Hand
from tests.releases.test_through_the_server import Site
from tests.support.back_ends import ONE_MACHINE
from tests.support.demo_server import started
from tests.support.server import Client, Server
from tests.words.english_in import english_cells, english_in

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.files.kinds import KINDS
from spanwalk.services.files.tables_out import TABLES
from spanwalk.services.handover.numbers import number
from spanwalk.services.handover.pages import report_pdf
from spanwalk.services.handover.workbook import report_workbook
from spanwalk.services.memory.claims import claims_csv, claims_of
from spanwalk.services.memory.letter import letter
from spanwalk.services.proof.gathering import proof_of
from spanwalk.services.proof.packs import PACKS
from spanwalk.services.proof.tables import pages_of, workbook_of
from spanwalk.services.text.read_as import marked
from spanwalk.storage.database import reading
from spanwalk.words import reading_in, say

Json = Any
ES = "es"


class NoPhotos:
    """A store without a photo."""


@pytest.fixture(scope="module")
def running(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    made = started(ONE_MACHINE, demo_data, tmp_path_factory.mktemp("papers") / "data")
    yield made
    made.stop()


@pytest.fixture(scope="module")
def site(running: Server) -> Site:
    client = Client(running.url, "manager")
    return Site(Hand(client, client.site_id()))


def taken(site: Site, path: str, language: str = ES) -> bytes:
    content: bytes = site.client.get(f"/api/sites/{site.hand.site}/{path}{language and f'?language={language}'}")
    return content


@pytest.fixture
def reads_spanish(site: Site) -> Iterator[Site]:
    """A manager whose own language is Spanish."""
    site.client.call("PUT", "/api/me", {"language": ES})
    yield site
    site.client.call("PUT", "/api/me", {"language": None})


@pytest.fixture(scope="module")
def typed(site: Site) -> frozenset[str]:
    """What people typed into the demo's records: names, notes, codes; and what its people are called."""
    records = site.client.get(f"/api/sites/{site.hand.site}/pull?since=0&limit=5000")["records"]
    return frozenset(_texts(records)) | {"manager", "surveyor", "crew"}


def _texts(value: Json) -> Iterator[str]:
    if isinstance(value, dict | list):
        for each in value.values() if isinstance(value, dict) else value:
            yield from _texts(each)
    elif isinstance(value, str):
        yield value


def pdf_text(data: bytes) -> str:
    return "\n".join(page.get_text() for page in pymupdf.open(stream=data, filetype="pdf"))


def cells(name: str, data: bytes) -> list[str]:
    """All cells of a workbook or CSV that hold text, names of sheets too; lines of anything else."""
    if name.endswith("xlsx"):
        book = load_workbook(io.BytesIO(data))
        rows = [row for sheet in book.worksheets for row in sheet.iter_rows(values_only=True)]
        return [*book.sheetnames, *(each for row in rows for each in row if isinstance(each, str))]
    text = pdf_text(data) if name.endswith("pdf") else data.decode("utf-8-sig")
    return [each for row in csv.reader(io.StringIO(text)) for each in row] if name.endswith("csv") else text.split("\n")


def assert_spanish(name: str, data: bytes, typed: frozenset[str]) -> None:
    found = [each for each in cells(name, data) if each not in typed]
    assert found, name
    english = english_in("\n".join(found), ES)
    if not name.endswith("pdf"):  # a line of a page may be the end of a cell: the workbook has the cell
        english += english_cells(found, ES, typed)
    assert not english, f"{name}: {english}"


def made(site: Site, path: str, **body: Json) -> Json:
    status, told = site.call("POST", path, body)
    assert status == 201, told
    return told


@pytest.fixture(scope="module")
def offer(site: Site) -> str:
    return str(made(site, "offers", days=30, note="", language=ES)["offer"])


@pytest.fixture(scope="module")
def order(site: Site) -> str:
    site.release()
    _, draft = site.call("POST", "orders/draft", {"wanted_on": "", "floors": []})
    made(site, "orders", wanted_on="", floors=[], content=draft["content"], note="")
    return str(site.records("order")[-1]["id"])


@pytest.fixture(scope="module")
def programme(site: Site) -> str:
    field = site.client.get("/app/spec/records.json")["records"]["programme"]["facets"]["identity"]["fields"]["asks"]
    return str(site.hand.make("programme", site.hand.site, {"name": "Relight (invented)", "asks": field["choices"]}))


@pytest.mark.parametrize("form", ["pdf", "xlsx"])
def test_an_offer_made_in_spanish_has_no_english_sentence(
    site: Site, offer: str, typed: frozenset[str], form: str
) -> None:
    data = taken(site, f"offers/{offer}.{form}", "")
    assert_spanish(form, data, typed)
    if form == "pdf":
        assert pymupdf.open(stream=data, filetype="pdf").language == ES


def test_an_offer_keeps_its_language_whoever_takes_it_away(site: Site, offer: str, reads_spanish: Site) -> None:
    """Byte for byte the same whether its maker reads English or Spanish by now; and so is one that was made in English."""
    english = made(site, "offers", days=30, note="", language="en")["offer"]
    now = {id: [taken(site, f"offers/{id}.{form}", "") for form in ("pdf", "xlsx")] for id in (offer, english)}
    site.client.call("PUT", "/api/me", {"language": None})
    for id, forms in now.items():
        assert [taken(site, f"offers/{id}.{form}", "") for form in ("pdf", "xlsx")] == forms
    assert say("offer-sheet.areas") in pdf_text(now[english][0])
    told = site.hand.state(offer)["facets"]["identity"]["value"]["told"]
    assert told["language"] == ES
    assert told["cautions"][0] != say("plan.caution.isolate")


def test_an_offer_without_a_language_is_made_in_its_makers(reads_spanish: Site) -> None:
    offer = made(reads_spanish, "offers", days=30)["offer"]
    assert reads_spanish.hand.state(offer)["facets"]["identity"]["value"]["told"]["language"] == ES


def test_a_change_order_made_in_spanish_has_no_english_sentence(site: Site, order: str, typed: frozenset[str]) -> None:
    group = site.records("conversion")[0]["parent"]
    count = site.hand.state(group)["facets"]["count"]["value"]["count"]
    site.lay_over(group, "count", count=count + 6)
    site.release()
    releases = [each["facets"]["identity"]["value"]["number"] for each in site.records("release")]
    change = made(site, "offers/change", **{"from": str(min(releases)), "to": str(max(releases))}, language=ES)["offer"]
    for form in ("pdf", "xlsx"):
        assert_spanish(form, taken(site, f"offers/{change}.{form}", ""), typed)


@pytest.mark.parametrize("form", ["pdf", "xlsx", "csv"])
def test_an_orders_sheet_is_in_the_suppliers_language(site: Site, order: str, typed: frozenset[str], form: str) -> None:
    assert_spanish(form, taken(site, f"orders/{order}.{form}"), typed)
    english = cells(form, taken(site, f"orders/{order}.{form}", ""))
    assert any(say("order-sheet.head.pieces") in each for each in english), "its maker reads English"


@pytest.mark.parametrize("form", ["pdf", "xlsx"])
def test_a_rebate_sheet_is_in_the_language_that_is_asked_for(
    site: Site, programme: str, typed: frozenset[str], form: str
) -> None:
    assert_spanish(form, taken(site, f"programmes/{programme}.{form}"), typed)


@pytest.fixture(scope="module")
def spanish_report(running: Server, site: Site, order: str) -> dict[str, bytes]:
    """The hand-over report and every proof pack of the demo building, some of it done, as they are made in Spanish."""
    handed = HandedOver(site.client, site.hand.site, site.hand)
    first = next(filter(no_duty, handed.records("conversion")))
    for position in (1, 2):
        handed.note(first, position, as_fitted={"as_released": True})
    app = create_app(read_settings({}, running.data))
    with app.app_context(), reading_in(ES), reading() as session:
        proof = proof_of(session, site.hand.site, "manager")
        packs = [make(proof) for make in PACKS.values()]
        made = {f"{pack.name}.xlsx": workbook_of(pack) for pack in packs}
        made |= {f"{pack.name}.pdf": pages_of(pack, "Alder", "2026-03-01", True) for pack in packs}
        store = app.extensions["spanwalk-photos"]
        return made | {"report.xlsx": report_workbook(proof.report), "report.pdf": report_pdf(proof.report, store)}


def test_every_file_of_report_and_proof_packs_is_in_that_language(
    spanish_report: dict[str, bytes], typed: frozenset[str]
) -> None:
    assert len(spanish_report) == 2 * (len(PACKS) + 1)
    for name, data in spanish_report.items():
        assert_spanish(name, data, typed)


READ_BY_WHO_ASKS = (
    "walk.csv", "quantities.csv", "order.csv", "emergency-tests.csv", "recall.csv?item=TERN-4", "recall.pdf?item=TERN-4", "upkeep.csv",
    "claims.csv", "upkeep.ics", *(f"tables/{name}.csv" for name in TABLES if name not in KINDS),
)  # fmt: skip


@pytest.mark.parametrize("path", READ_BY_WHO_ASKS)
def test_a_table_for_who_asks_is_in_their_language(
    reads_spanish: Site, order: str, typed: frozenset[str], path: str
) -> None:
    assert_spanish(path.partition("?")[0], taken(reads_spanish, path, ""), typed)


@pytest.mark.parametrize("name", KINDS)
def test_a_table_that_can_come_back_is_the_same_in_every_language(site: Site, reads_spanish: Site, name: str) -> None:
    spanish = taken(site, f"tables/{name}.csv", "")
    site.client.call("PUT", "/api/me", {"language": None})
    assert taken(site, f"tables/{name}.csv", "") == spanish


def test_a_claims_letter_and_the_table_of_claims_are_in_that_language() -> None:
    with reading_in(ES):
        paper = letter("Alder", False, a_fixture(steps=[STEP]), "f", NoPhotos(), "2027-03-04")  # type: ignore[arg-type]
        table = claims_csv(claims_of([a_fixture(steps=[STEP])]))
    for name, data in (("pdf", paper), ("csv", table.encode())):
        assert_spanish(name, data, frozenset())


def test_a_language_that_is_not_here_is_refused_by_name(site: Site, order: str) -> None:
    for method, path, body in (
        ("GET", f"orders/{order}.pdf?language=xx", None),
        ("POST", "offers", {"days": 30, "language": "xx"}),
    ):
        status, told = site.call(method, path, body)
        assert (status, told["field"], told["value"]) == (422, "language", "xx")
        assert "es" in told["right"]


@pytest.mark.parametrize(
    ("value", "english", "spanish"),
    [
        (1234.5, "1,234.50", "1234,50"),
        (12_345.678, "12,345.68", "12.345,68"),
        (-1_234_567, "-1,234,567.00", "-1.234.567,00"),
        (0.25, "0.25", "0,25"),
    ],
)
def test_numbers_have_the_marks_of_the_language(value: float, english: str, spanish: str) -> None:
    """As Unicode CLDR 44 has Spanish: a comma, and points from five digits on (minimumGroupingDigits 2; from memory)."""
    assert number(value, 2) == english
    with reading_in(ES):
        assert number(value, 2) == spanish
        assert marked("7") == "7"
