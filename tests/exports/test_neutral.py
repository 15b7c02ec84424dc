"""What leaves is run by no spreadsheet and obeyed by no terminal, whoever typed it: read by readers that are not ours."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook
from tests.support.commands import spanwalk
from tests.support.installation import Installation, installed, new_id

from spanwalk.services.files.sheets_out import OutTable, as_csv, as_workbook
from spanwalk.services.text.neutral import as_it_was, csv_text, neutral

SERVER = Path(__file__).resolve().parents[2] / "server" / "spanwalk"
STARTS = "=+-@＝＋－＠−﹢﹣﹦﹫"
SEPARATORS = ",;\t|"
ESCAPES = re.compile("[\x00-\x08\x0b-\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
PLANTED = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    "＝1+1",
    "＋1+1",
    "－1+1",
    "＠SUM(1)",
    "\t=1",
    "\r=1",
    "\n=1",
    "\u00a0=1",
    "\u200b=1",
    'a";=1+1',
    'a",=1+1',
    "a;=1+1",
    "a,=1+1",
    "a\t=1+1",
    "a|@SUM(1)",
    'x"\n=1+1',
    "Room\r\n=1+1",
    "Room\u2028=1+1",
    'a";"=1+1',
    "a; ＝1+1",
    "7;-2+3",
    "a\x1b[2J\x1b]0;gone\x07b",
    "a\x9b31mb",
    "a\u202e1+1=b",
]
"""OWASP, 'CSV Injection' (from memory), and ECMA-48 control sequences; the rest is made of the two."""


def cells_under(text: str, separator: str) -> Iterator[str]:
    """Every cell that a reader finds who parts cells by some separator, quoted or not."""
    for row in csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=separator):
        yield from row
    for line in text.removeprefix("\ufeff").splitlines():  # a reader that knows no quotes
        yield from (cell.strip('"') for cell in line.split(separator))


def run_by(text: str) -> list[tuple[str, str]]:
    """Cells that some reader would take for a formula, with the separator by which it would."""
    return [
        (separator, cell)
        for separator in SEPARATORS
        for cell in cells_under(text, separator)
        if cell.strip().strip("\u200b\ufeff")[:1] in set(STARTS)
    ]


@pytest.mark.parametrize("text", PLANTED)
def test_a_planted_text_is_a_formula_to_no_reader_whatever_parts_its_cells(text: str) -> None:
    table = OutTable("x", "X", ["Name", "Other"], [[text, "next"], ["next", text]])
    out = as_csv(table).decode()
    assert run_by(out) == []
    assert not ESCAPES.search(out.removeprefix("\ufeff"))
    rows = list(csv.reader(io.StringIO(out, newline="")))
    assert [len(row) for row in rows] == [2, 2, 2], "each row stays one row of two cells"


@pytest.mark.parametrize("text", PLANTED)
def test_in_a_workbook_it_is_text_to_two_readers(text: str) -> None:
    data = as_workbook([OutTable("x", "X", ["Name"], [[text]])])
    cell = openpyxl.load_workbook(io.BytesIO(data))["X"]["A2"]
    assert cell.data_type == "s"
    assert not ESCAPES.search(str(cell.value))
    (_, row) = CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_name("X").to_python()
    assert isinstance(row[0], str)
    assert row[0].strip() == str(cell.value).strip()


@pytest.mark.parametrize("text", ["Main hall", "47 3/16; 47 1/4", "a-b", "3=3", "'tis", "5 - 7", "x, 4"])
def test_what_nobody_would_run_stays_as_it_is(text: str) -> None:
    assert neutral(text) == text


@given(st.text(alphabet="ab1 =+-@;,|\t\n\"'＝", max_size=12))
def test_whatever_is_typed_no_reader_runs_it_and_a_second_time_alters_nothing(text: str) -> None:
    out = csv_text([[text, "b"], ["b", text]])
    assert run_by(out) == []
    once = neutral(text)
    assert neutral(once) == once


@given(st.text(alphabet='ab1 =+-@;,|\n"＝', max_size=12))
def test_what_left_comes_back_as_it_was(text: str) -> None:
    assert as_it_was(str(neutral(text))) == text


def test_no_other_module_writes_csv() -> None:
    found = [path.relative_to(SERVER).as_posix() for path in SERVER.rglob("*.py") if "csv.writer(" in path.read_text()]
    assert found == ["services/text/neutral.py"]


# -- through the server: each table that leaves, of a site whose names are all planted


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("planted") / "data") as made:
        ground = new_id()
        made.push(
            "surveyor", made.operation("surveyor", ground, "floor", "identity", {"name": "=F()", "parent": made.site})
        )
        for number, text in enumerate(PLANTED):
            to = {"number": f"{number}", "name": text[:40], "parent": ground}
            made.push("surveyor", made.operation("surveyor", new_id(), "room", "identity", to))
        yield made


def tables(here: Installation) -> dict[str, bytes]:
    """All tables that can be taken away, by address, those of a site's copy too."""
    names = [each["name"] for each in here.call("owner", "GET", "/api/sites/{site}/tables").json["tables"]]
    paths = [f"tables/{name}.csv" for name in names] + ["walk.csv", "quantities.csv", "emergency-tests.csv"]
    found: dict[str, Any] = {}
    for path in paths:
        answer = here.call("owner", "GET", f"/api/sites/{{site}}/{path}")
        assert answer.status_code == 200, path
        found[path] = answer.data
    copied = zipfile.ZipFile(io.BytesIO(here.call("owner", "GET", "/api/sites/{site}/copy.zip").data))
    found |= {f"copy/{name}": copied.read(name) for name in copied.namelist() if name.endswith(".csv")}
    return found


def test_every_table_of_a_planted_site_is_harmless(here: Installation) -> None:
    found = tables(here)
    assert len(found) == 12 + 9, sorted(found)
    assert sum(data.count(b"SUM(1)") for data in found.values()) > 8, "the planted names do leave"
    assert {name: run_by(data.decode()) for name, data in found.items() if run_by(data.decode())} == {}
    assert [name for name, data in found.items() if ESCAPES.search(data.decode("utf-8-sig"))] == []


def test_a_command_prints_nothing_that_a_terminal_obeys(here: Installation) -> None:
    with here.app.app_context():
        from spanwalk.storage.tables import db

        db.engine.dispose()
    data = str(here.app.extensions["spanwalk"].data)
    done = spanwalk("explain", "\x1b[2J\x1b]0;gone\x07 K1", "--data", data)
    assert "gone" in done.stderr
    assert not ESCAPES.search(done.stdout + done.stderr)
