"""Files that cannot be taken: a sentence with row and column, nothing written, the server well."""

from __future__ import annotations

import datetime
import io
import zipfile
from collections.abc import Callable

import openpyxl
import pytest
import xlsxwriter
from tests.files.bringing import Bringer, codes, csv_text, xlsx

from spanwalk.words import say, words

HEADS = ["Floor", "Room number", "Length [ft]", "Hours"]
GOOD = ["Ground", "101", 30, 2600]


def wrong_of(told: dict) -> str:
    assert told["state"] == "wrong", told
    return told["wrong"]["code"]


def rewritten(data: bytes, part: str, change: bytes) -> bytes:
    """A workbook with one part replaced."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, change if name == part else old.read(name))
    return out.getvalue()


def many_rows() -> bytes:
    return csv_text([HEADS, *[["G", n, 1, 1] for n in range(100_000)]]).encode()


def bomb() -> bytes:
    """A workbook whose sheet unzips to 300 MB."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts, zipfile.ZipFile(io.BytesIO(xlsx([HEADS]))) as good:
        for name in good.namelist():
            if name != "xl/worksheets/sheet1.xml":
                parts.writestr(name, good.read(name))
        with parts.open("xl/worksheets/sheet1.xml", "w") as sheet:
            for _ in range(300):
                sheet.write(b" " * 1_000_000)
    return out.getvalue()


FAR_CELL = (
    b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
    b'<row r="1"><c r="A1" t="inlineStr"><is><t>Floor</t></is></c></row>'
    b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData></worksheet>'
)
LAUGHS = (
    b'<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">'
    b'<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]>'
    b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
    b'<row r="1"><c r="A1" t="inlineStr"><is><t>&c;</t></is></c></row></sheetData></worksheet>'
)


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "files.locked"),
        (b"PK\x03\x04 this is no zip", "files.damaged"),
        (xlsx([HEADS, GOOD])[:2000], "files.damaged"),
        (b"%PDF-1.7\n\0\0\0\0\x01\x02", "files.not-a-table"),
        (b"  \r\n ", "files.empty"),
        (many_rows, "files.too-many-rows"),
        (csv_text([HEADS, GOOD, ["x"] * 300]).encode(), "files.too-many-columns"),
        (rewritten(xlsx([HEADS]), "xl/worksheets/sheet1.xml", FAR_CELL), "files.too-many-rows"),
        (rewritten(xlsx([HEADS]), "xl/worksheets/sheet1.xml", LAUGHS), "files.damaged"),
        (bomb, "files.too-much-inside"),
    ],
    ids=[
        "a password",
        "no zip",
        "cut",
        "a PDF",
        "empty",
        "100,000 rows",
        "300 columns",
        "a far cell",
        "entities",
        "a bomb",
    ],
)
def test_a_file_that_cannot_be_read_is_told_in_a_sentence(
    manager: Bringer, data: bytes | Callable[[], bytes], code: str
) -> None:
    told = manager.bring("rooms", data() if callable(data) else data)
    assert wrong_of(told) == code
    assert "{" not in say(code, told["wrong"]["facts"])
    assert manager.here.call("manager", "GET", "/api/health").json["status"] == "ok"


def test_a_zip_that_is_no_workbook_is_refused(manager: Bringer) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as parts:
        parts.writestr("readme.txt", "hello")
    assert wrong_of(manager.bring("rooms", out.getvalue())) == "files.not-a-workbook"


def test_100_000_rows_of_a_workbook_are_too_many(manager: Bringer) -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"constant_memory": True})
    sheet = book.add_worksheet()
    for row in range(100_000):
        sheet.write_row(row, 0, ["Ground", row])
    book.close()
    told = manager.bring("rooms", out.getvalue())
    assert (wrong_of(told), told["wrong"]["facts"]["most"]) == ("files.too-many-rows", 25_000)


def test_a_formula_is_refused_with_row_and_column_and_one_in_a_column_not_taken_is_not(manager: Bringer) -> None:
    told = manager.bring("rooms", xlsx([[*HEADS, "Area"], GOOD, ["Ground", "102", "=C2*2", 2600, "=C3*2"]]))
    assert codes(told) == [(3, "C", "files.cell-formula")]


def test_a_date_where_a_number_belongs_is_told(manager: Bringer) -> None:
    book = openpyxl.Workbook()
    book.active.append(HEADS)
    book.active.append(["Ground", datetime.date(2026, 3, 12), 30, 2600])
    book.active.append(["Ground", "102", 30, datetime.datetime(2026, 3, 12, 8)])
    out = io.BytesIO()
    book.save(out)
    told = manager.bring("rooms", out.getvalue())
    assert codes(told) == [(2, "B", "files.cell-date"), (3, "D", "files.cell-date")]


def test_merged_cells_are_told_with_their_range(manager: Bringer) -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out)
    sheet = book.add_worksheet()
    sheet.write_row(0, 0, HEADS)
    sheet.merge_range(1, 0, 2, 0, "Ground")
    sheet.write_row(1, 1, GOOD[1:])
    sheet.write_row(2, 1, ["102", 30, 2600])
    book.close()
    told = manager.bring("rooms", out.getvalue())
    assert codes(told) == [(2, "A", "files.merged")]
    assert told["problems"][0]["facts"]["value"] == "A2:A3"


def test_a_second_head_among_the_rows_is_told(manager: Bringer) -> None:
    told = manager.bring("rooms", csv_text([HEADS, GOOD, HEADS, ["Ground", "102", 30, 1]]))
    assert codes(told) == [(3, "", "files.head-again")]


def test_two_columns_of_one_meaning_are_told_and_one_can_be_left_out(manager: Bringer) -> None:
    told = manager.bring("rooms", csv_text([["Floor", "Room number", "Hours", "Hours"], ["Ground", "101", 1, 2]]))
    assert codes(told) == [(1, "D", "files.column-twice")]
    told = manager.do(told["id"], "answer", {"columns": {"Hours": {"column": ""}}})
    assert told["state"] == "ready"
    manager.do(told["id"], "accept")
    assert manager.records("room")[0]["hours"] == {"hours_year": 2}


def test_wrong_columns_are_told_by_name(manager: Bringer) -> None:
    told = manager.bring("rooms", csv_text([["Colour", "Weight"], ["red", 3]]))
    assert [each["code"] for each in told["problems"]] == ["files.column-lacking"]
    assert [each["head"] for each in told["columns"]] == ["Colour", "Weight"]


@pytest.mark.parametrize(
    ("row", "column", "code"),
    [
        (["Ground", "102", "wide", 2600], "C", "files.not-a-length"),
        (["Ground", "102", 30, "often"], "D", "files.not-a-number"),
        (["Ground", "102", 30, "12..5"], "D", "files.not-a-number"),
        (["Ground", "102", 30, 12.5], "D", "whole-wrong"),
        (["Ground", "102", 30, 9000], "D", "number-outside"),
        (["Ground", "102", 0.5, 2600], "C", "number-outside"),
        (["", "102", 30, 2600], "A", "files.cell-lacking"),
        (["Ground", "", 30, 2600], "B", "files.room-without-number"),
        (["Ground", "x" * 30, 30, 2600], "B", "text-long"),
    ],
)
def test_what_is_wrong_in_a_cell_is_told_where_it_stands_and_nothing_is_written(
    manager: Bringer, row: list, column: str, code: str
) -> None:
    told = manager.bring("rooms", csv_text([HEADS, GOOD, row]))
    assert (told["state"], codes(told)) == ("asking", [(3, column, code)])
    assert manager.here.call("manager", "POST", f"/api/sites/{{site}}/imports/{told['id']}/accept").status_code == 409
    assert manager.records("room") == []


def test_every_problem_is_told_not_only_the_first(manager: Bringer) -> None:
    rows = [["Ground", str(at), "wide", "often"] for at in range(200)]
    told = manager.bring("rooms", csv_text([HEADS, *rows]))
    assert (told["problems_in_all"], len(told["problems"])) == (400, 300)


def test_a_site_with_two_rooms_of_one_number_is_told(manager: Bringer) -> None:
    here, floor = manager.here, manager.here.floor()
    for _ in range(2):
        to = {"number": "101", "parent": floor}
        here.push("surveyor", here.operation("surveyor", _id(), "room", "identity", to))
    told = manager.bring("rooms", csv_text([HEADS, GOOD]))
    assert codes(told) == [(2, "", "files.two-of-a-key")]


def test_a_surveyor_brings_rooms_but_no_catalogue(manager: Bringer) -> None:
    surveyor = Bringer(manager.here, "surveyor")
    assert surveyor.bring("rooms", csv_text([HEADS, GOOD]))["state"] == "ready"
    told = surveyor.bring("catalogue", csv_text([["Item", "Code", "Purpose"], ["accessory", "EX-1", "other"]]))
    assert {each["code"] for each in told["problems"]} == {"files.no-right"}


def test_who_lost_the_right_meanwhile_writes_nothing(manager: Bringer) -> None:
    told = manager.bring("catalogue", csv_text([["Item", "Code", "Purpose"], ["accessory", "EX-1", "other"]]))
    assert told["state"] == "ready", told
    put = {"name": "manager", "role": "surveyor"}
    assert manager.here.call("owner", "PUT", "/api/sites/{site}/people", json=put).status_code == 200
    told = manager.do(told["id"], "accept")
    assert wrong_of(told) == "files.no-right"
    assert manager.records("catalogue_item") == []


def test_a_crew_brings_nothing(manager: Bringer) -> None:
    answer = Bringer(manager.here, "crew").begin("rooms", csv_text([HEADS, GOOD]))
    assert (answer.status_code, answer.json["code"]) == (403, "role-not-enough")


@pytest.mark.parametrize(("kind", "code"), [("pictures", "files.kind-unknown"), ("", "files.kind-unknown")])
def test_a_kind_of_file_that_there_is_not_is_refused(manager: Bringer, kind: str, code: str) -> None:
    answer = manager.begin(kind, csv_text([HEADS, GOOD]))
    assert (answer.status_code, answer.json["code"]) == (422, code)


def test_a_file_of_another_site_is_not_there(manager: Bringer) -> None:
    told = manager.bring("rooms", csv_text([HEADS, GOOD]))
    made = manager.here.call("owner", "POST", "/api/sites", json={"name": "Another"})
    assert made.status_code == 201, made.text
    answer = manager.here.call("owner", "GET", f"/api/sites/{made.json['id']}/imports/{told['id']}")
    assert (answer.status_code, answer.json["code"]) == (404, "files.import-unknown")


@pytest.mark.parametrize(
    "said",
    [{"Hours": {"column": "room.nothing.there"}}, {"Length [ft]": {"unit": "furlong"}}, {"Hours": 7}, []],
)
def test_an_answer_that_means_nothing_is_refused(manager: Bringer, said: object) -> None:
    told = manager.bring("rooms", csv_text([HEADS, GOOD]))
    answer = manager.here.call(
        "manager", "POST", f"/api/sites/{{site}}/imports/{told['id']}/answer", json={"columns": said}
    )
    assert answer.status_code == 422, answer.text
    assert answer.json["detail"]


def test_every_sentence_of_files_is_there() -> None:
    import re
    from pathlib import Path

    import spanwalk

    folder = Path(next(iter(spanwalk.__path__))) / "services" / "files"
    named = {code for path in folder.glob("*.py") for code in re.findall(r'"(files\.[a-z0-9-]+)"', path.read_text())}
    assert len(named) > 30
    assert named - set(words()) == set()


def _id() -> str:
    from tests.support.installation import new_id

    return new_id()
