"""A site late in its job, told by many: screen, report, workbook, packs, completeness, memory and signature count alike."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

import openpyxl
import pypdfium2
import pytest
from tests.planning.stored_site import store_changes
from tests.support.installation import Installation
from tests.support.late_site import late_installation

from spanwalk.rules.installing.acceptance import statement
from spanwalk.rules.survey import Survey
from spanwalk.services.handover.gathering import report_of
from spanwalk.services.handover.in_short import in_short
from spanwalk.services.handover.pages import report_pdf
from spanwalk.services.handover.told import DONE, Report
from spanwalk.services.handover.workbook import report_workbook
from spanwalk.services.labels.labels import bindings
from spanwalk.services.memory.remembering import memory_of
from spanwalk.services.ordering.drafting import Wanted, basis_of, draft_of
from spanwalk.services.planning.completeness import site_in_short
from spanwalk.services.proof.gathering import Proof, proof_of
from spanwalk.services.proof.rebate import rebate_pack
from spanwalk.services.proof.recycler import recycler_pack
from spanwalk.services.releases.sums import after, needed, releases_of
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading

Json = Any
TODAY = "2026-06-01"


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    folder: Path = tmp_path_factory.mktemp("late")
    with late_installation(folder) as installation, installation.app.app_context():
        yield installation


@pytest.fixture(scope="module")
def survey(here: Installation) -> Survey:
    with reading() as session:
        return Survey(site_records(session, here.site, who=True))


@pytest.fixture(scope="module")
def report(here: Installation) -> Report:
    with reading() as session:
        return report_of(session, here.site, "manager", with_money=False)


@pytest.fixture(scope="module")
def proof(here: Installation) -> Proof:
    with reading() as session:
        return proof_of(session, here.site, "manager")


@pytest.fixture(scope="module")
def counts(report: Report) -> tuple[int, int]:
    """Fixtures of the report and those done, counted one by one."""
    fixtures = [each for room in report.rooms for group in room.groups for each in group.fixtures]
    return len(fixtures), sum(each.state == DONE for each in fixtures)


def sheets(report: Report) -> dict[str, list[list[Any]]]:
    book = openpyxl.load_workbook(BytesIO(report_workbook(report)))
    return {each.title: [list(row) for row in each.iter_rows(values_only=True)] for each in book.worksheets}


def test_the_screen_the_signature_and_the_memory_count_as_the_report(
    here: Installation, survey: Survey, counts: tuple[int, int]
) -> None:
    with reading() as session:
        screen = in_short(session, here.site)
        remembered = [*memory_of(session, here.site, date.fromisoformat(TODAY)).fixtures()]
    signed = statement(survey, here.site)
    assert (screen.fixtures, screen.done) == counts
    assert (signed["fixtures"], signed["done"]) == counts
    assert sum(each["state"] == DONE for each in remembered) == counts[1]


def test_the_workbook_and_the_pages_count_as_the_report(
    here: Installation, report: Report, counts: tuple[int, int]
) -> None:
    book = sheets(report)
    rows = [row for row in book["Fixtures"] if "done" in [str(each).casefold() for each in row]]
    assert len(rows) == counts[1]
    pages = pypdfium2.PdfDocument(report_pdf(report, here.app.extensions["spanwalk-photos"]))
    text = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pages)
    assert f"Fixtures in this conversion: {counts[0]}. Noted as done: {counts[1]}." in text


def test_the_recyclers_pack_has_the_waste_of_the_report(report: Report, proof: Proof) -> None:
    told = {each.name: each.rows for each in recycler_pack(proof).tables}
    out = [row[1] for row in told["balance"]]
    waste = report.waste
    assert out == [sum(each.values()) for each in (waste.lamps, waste.ballasts, waste.batteries)]
    assert sum(row[2] for row in told["lamps"]) == 2 * out[0], "each lamp by its name and by its class"


def test_the_rebate_pack_counts_as_the_report_and_its_watts_are_those_released_fixture_by_fixture(
    proof: Proof, counts: tuple[int, int]
) -> None:
    told = {each.name: each for each in rebate_pack(proof).tables}
    _released, *totals = [row[1] for row in told["totals"].rows[:3]]
    assert tuple(totals) == counts
    assert_watts_are_those_released(proof)


@pytest.mark.parametrize("counted", [3, -1], ids=["more", "fewer"])
def test_a_count_changed_since_shares_no_watts_among_fixtures_that_no_release_has(tmp_path: Path, counted: int) -> None:
    """50 W released for five fixtures are 10 W each, however many are counted since; those counted since have none."""
    with late_installation(tmp_path) as installation, installation.app.app_context():
        with reading() as session:
            before = report_of(session, installation.site, "manager", with_money=False)
            groups = {each["id"]: each for each in site_records(session, installation.site, types=("group",))}
        told = [group for room in before.rooms for group in room.groups if group.energy and len(group.fixtures) > 2]
        group = groups[next(each.id for each in told if any(one.state == DONE for one in each.fixtures))]
        group["facets"]["count"]["count"] += counted
        store_changes(installation, [group])
        with reading() as session:
            assert_watts_are_those_released(proof_of(session, installation.site, "manager"))


def assert_watts_are_those_released(proof: Proof) -> None:
    (table,) = [each for each in rebate_pack(proof).tables if each.name == "fixtures"]
    place = table.heads.index("Watts after, each [W]")
    watts = iter(row[place] for row in table.rows)
    for group in (group for room in proof.report.rooms for group in room.groups):
        frozen = proof.groups[group.id].frozen if group.id in proof.groups else {}
        for fixture in group.fixtures:
            each = next(watts)
            if frozen and fixture.release is not None:
                assert each == pytest.approx(frozen["watts_then"] / frozen["fixtures"]), (group.mark, fixture)
            else:
                assert each is None, (group.mark, fixture)


def test_completeness_has_no_more_done_than_the_report(here: Installation, counts: tuple[int, int]) -> None:
    """A problem noted after 'done' is the last word at completeness; what is fitted is fitted for the report."""
    with reading() as session:
        installed = site_in_short(session, here.site)["installed"]
    assert sum(each.get(DONE, 0) for each in installed.values()) == counts[1]


def test_the_draft_order_needs_what_the_releases_in_force_come_to(here: Installation, survey: Survey) -> None:
    releases = releases_of(survey)
    with reading() as session:
        found = basis_of(session, here.site, TODAY)
    figures = after(releases, found.release.number)
    need = {each["item"]: each["order"] for each in needed(figures.values(), float(found.release.whole["spare_pct"]))}
    lines = {line["item"]: line for each in draft_of(found, Wanted("", {}))["orders"] for line in each["lines"]}
    assert {item: line["pieces"] - line["left_over"] for item, line in lines.items()} == need


def test_labels_of_the_report_are_those_that_are_bound(report: Report, survey: Survey) -> None:
    bound = bindings(survey)
    for group in (group for room in report.rooms for group in room.groups):
        for each in group.fixtures:
            assert bool(each.code) == ((group.id, each.position) in bound)
