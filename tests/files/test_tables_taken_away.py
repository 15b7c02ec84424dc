"""Tables that leave: opened by readers that are not ours, neutral to spreadsheets, and good to come back."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from typing import Any

import openpyxl
import pytest
from python_calamine import CalamineWorkbook
from tests.files.bringing import Bringer
from tests.support.installation import new_id
from tests.support.server import Client, Server

from spanwalk.services.files.sheets_out import OutTable, as_csv, as_workbook
from spanwalk.services.text.neutral import neutral

NAMES = ["rooms", "fixtures", "catalogue", "prices", "walk", "plan", "order", "waste", "work"]


def sheets(data: bytes) -> dict[str, list[list[Any]]]:
    """A workbook by a reader in another language than the one that wrote it."""
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    return {name: book.get_sheet_by_name(name).to_python() for name in book.sheet_names}


@pytest.fixture
def told(client: Callable[[str], Client]) -> Callable[[str], bytes]:
    manager = client("manager")
    return lambda what: manager.get(f"/api/sites/{manager.site_id()}/tables/{what}")


def test_the_workbook_has_a_sheet_for_each_table_with_typed_numbers_and_frozen_heads(
    told: Callable[[str], bytes],
) -> None:
    data = told("all.xlsx")
    tables = sheets(data)
    assert len(tables) == len(NAMES)
    heads, *rows = tables["Rooms"]
    lengths = [row[heads.index("Length [mm]")] for row in rows if row[heads.index("Length [mm]")] != ""]
    assert len(lengths) > 5
    assert {type(each) for each in lengths} == {float}
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert {sheet.freeze_panes for sheet in book.worksheets} >= {"B2", "B3"}
    assert book["Rooms"].column_dimensions["A"].width > 8


def test_money_has_its_currency_in_a_column_of_its_own(told: Callable[[str], bytes]) -> None:
    (table,) = sheets(told("plan.xlsx")).values()
    heads = next(row for row in table if "Cost" in row)
    rows = [dict(zip(heads, row, strict=True)) for row in table[table.index(heads) + 1 :]]
    priced = [row for row in rows if row["Cost"] != ""]
    assert len(priced) > 10
    assert {type(row["Cost"]) for row in priced} == {float}
    assert {row["Currency"] for row in priced} == {"USD"}


def test_the_plan_says_what_readings_of_light_correct_and_how_that_is_known(told: Callable[[str], bytes]) -> None:
    """The library was read at three points and darker than its tables; most rooms were never read."""
    (table,) = sheets(told("plan.xlsx")).values()
    heads = next(row for row in table if "Cost" in row)
    rows = [dict(zip(heads, row, strict=True)) for row in table[table.index(heads) + 1 :]]
    library = [row for row in rows if "G02" in row["Room"]]
    assert len(library) > 1
    for row in library:
        assert (
            0.6
            < row["Light today, corrected by readings [times]"]
            < row["New light, corrected by readings [times]"]
            < 1
        )
        assert row["Points read in this room"] == 3
        assert row["Rooms read that the correction rests on"] >= 1
        assert row["How the correction is known"] == "readings in this room"
        assert row["95 % range of new light [±%]"] < 15
    alone = [row for row in rows if row["How the correction is known"] == "from the tables alone, no reading counts"]
    assert len(alone) > 5
    assert {row["Light today, corrected by readings [times]"] for row in alone} == {1.0}
    assert {row["95 % range of new light [±%]"] for row in alone} == {15.0}


@pytest.mark.parametrize("name", NAMES)
def test_every_table_comes_as_csv_with_the_same_rows_as_the_workbook(told: Callable[[str], bytes], name: str) -> None:
    text = told(f"{name}.csv")
    assert text.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(io.StringIO(text.decode("utf-8-sig"))))
    (table,) = sheets(told(f"{name}.xlsx")).values()
    assert len(rows) == len(table)
    assert len(rows) > 0


def test_waste_says_how_lamps_and_ballasts_leave(told: Callable[[str], bytes]) -> None:
    (table,) = sheets(told("waste.xlsx")).values()
    assert "licensed" in table[0][0]
    assert sum(row[2] for row in table if row[0] == "Lamps") > 100


def test_work_is_told_by_person_and_day(told: Callable[[str], bytes]) -> None:
    (table,) = sheets(told("work.xlsx")).values()
    heads, *rows = table
    assert heads[:2] == ["Day", "Name"]
    assert sum(row[heads.index("Cavity reading")] for row in rows) > 50


def test_a_table_that_there_is_not_is_refused(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    status, body = manager.call("GET", f"/api/sites/{manager.site_id()}/tables/secrets.csv")
    assert (status, body["code"]) == (404, "files.table-unknown")


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1+1", "@now", "\t=1", "\r=1", "\n=1", "  =1", "＝1+1", "＋1", "－1", "＠now"]
)
def test_a_cell_that_a_spreadsheet_would_run_stands_as_text(text: str) -> None:
    table = OutTable("x", "X", ["Name"], [[text]])
    (row,) = list(csv.reader(io.StringIO(as_csv(table).decode("utf-8-sig"))))[1:]
    assert row[0].startswith("'")
    cell = openpyxl.load_workbook(io.BytesIO(as_workbook([table])))["X"]["A2"]
    assert cell.data_type == "s"
    assert cell.quotePrefix


def test_what_a_terminal_would_obey_is_left_out() -> None:
    assert neutral("a\x1b[2Jb\u202ec") == "a[2Jbc"


def test_numbers_stay_numbers() -> None:
    assert neutral(-3) == -3


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_what_left_comes_back_and_changes_nothing(fresh_server: Server, form: str) -> None:
    manager = Client(fresh_server.url, "manager")
    site = manager.site_id()
    for kind in ("rooms", "catalogue", "prices"):
        data = manager.get(f"/api/sites/{site}/tables/{kind}.{form}")
        counts = rested(manager, site, kind, data)
        assert counts["new"] == counts["changed"] == 0, kind
        assert counts["left"] > 5, kind


def rested(manager: Client, site: str, kind: str, data: bytes) -> dict[str, int]:
    import time

    job = manager.call("POST", f"/api/sites/{site}/imports?kind={kind}&name=back", raw=data)[1]["id"]
    while (told := manager.get(f"/api/sites/{site}/imports/{job}"))["state"] in ("reading", "looking"):
        time.sleep(0.1)
    assert told["state"] == "ready", {name: told.get(name) for name in ("state", "wrong", "questions", "problems")}
    return told["counts"]


def test_a_name_that_looks_like_a_formula_comes_back_as_it_was(manager: Bringer) -> None:
    here, floor = manager.here, manager.here.floor()
    to = {"number": "-101", "name": "=Gate", "parent": floor}
    here.push("surveyor", here.operation("surveyor", new_id(), "room", "identity", to))
    for form in ("csv", "xlsx"):
        data = here.call("manager", "GET", f"/api/sites/{{site}}/tables/rooms.{form}").data
        assert manager.bring("rooms", data)["counts"] == {"new": 0, "changed": 0, "left": 1}
