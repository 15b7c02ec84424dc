"""The workbook of a large site is written by a process of its own, and is the one that is written here."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest
from python_calamine import CalamineWorkbook
from tests.planning.demo_records import demo_records
from tests.planning.stored_site import store, store_changes
from tests.support.installation import Installation, installed

from spanwalk.services.files import sheets_apart, tables_out
from spanwalk.services.files.sheets_apart import MODULE, WRITERS, workbook_apart
from spanwalk.services.files.sheets_out import OutTable, as_workbook
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading

DAY = "2026-03-01"
ODD = OutTable(
    "odd",
    "A title: with [signs] / that no sheet may have",
    ["Text", "Number", "Said", "Nothing"],
    [["=1+1", 1.0, True, None], ["Línea\nsegunda — ＝1", 1 / 3, False, ""], ["'", -7, None, "x" * 300], ["short"]],
    ["A note", "=another"],
    ("sí", "no"),
)
EMPTY = OutTable("empty", "Empty", [], [])


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("site")) as installation:
        store(installation, demo_records())
        yield installation


@pytest.fixture
def is_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables_out, "AT_ONCE_MOST", 0)


def asked(here: Installation, name: str = "all") -> Any:
    return here.call("manager", "GET", f"/api/sites/{{site}}/tables/{name}.xlsx")


def sheets(data: bytes) -> dict[str, list[list[Any]]]:
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    return {name: book.get_sheet_by_name(name).to_python() for name in book.sheet_names}


def test_what_is_written_apart_is_byte_for_byte_what_is_written_here() -> None:
    with workbook_apart(DAY) as book:
        for each in (ODD, EMPTY):
            book.add(each)
        assert book.written() == as_workbook([ODD, EMPTY], DAY)


@pytest.mark.parametrize("name", ["all", "walk"])
def test_a_large_site_gets_the_same_sheets_from_another_process(
    here: Installation, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    expected = sheets(asked(here, name).data)
    begun: list[str] = []

    def counted(module: str, *arguments: str, **more: Any) -> bytes:
        begun.append(module)
        return done_apart(module, *arguments, **more)

    done_apart = sheets_apart.done_apart
    monkeypatch.setattr(sheets_apart, "done_apart", counted)
    monkeypatch.setattr(tables_out, "AT_ONCE_MOST", 0)
    assert sheets(asked(here, name).data) == expected
    assert len(expected) == (1 if name == "walk" else len(tables_out.TABLES))
    assert begun == [MODULE]


def test_a_small_site_starts_no_process(here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(sheets_apart, "done_apart")
    assert asked(here).status_code == 200


@pytest.mark.usefixtures("is_large")
def test_who_comes_while_another_is_written_is_told_when_to_ask_again(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheets_apart, "WAIT_S", 0.0)
    with WRITERS:
        answer = asked(here)
    assert (answer.status_code, answer.json["code"]) == (503, "files.workbook-busy")
    assert answer.headers["Retry-After"] == str(sheets_apart.AGAIN_S)
    assert asked(here).status_code == 200


@pytest.mark.usefixtures("is_large")
def test_a_table_that_there_is_not_is_refused_there_too_and_keeps_nobody_waiting(here: Installation) -> None:
    assert asked(here, "secrets").json["code"] == "files.table-unknown"
    assert WRITERS.acquire(blocking=False)
    WRITERS.release()


def test_work_is_counted_without_reading_records_whole_as_whole_records_tell_it(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    with here.app.app_context(), reading() as session:
        records = site_records(session, here.site, types=tables_out.WORK, who=True)
    noted = [each for each in records if each["type"] == "cavity_reading"][:5]
    store_changes(here, [{**each, "removed": True} for each in noted])
    with here.app.app_context(), reading() as session:
        records = site_records(session, here.site, types=tables_out.WORK, who=True)
        expected = Counter(
            (each["at"]["identity"][: len("2026-03-01")], each["type"]) for each in records if not each["removed"]
        )
        monkeypatch.delattr(tables_out, "site_records")
        table = tables_out.table_of(session, here.site, "work")
    told: Counter[tuple[str, str]] = Counter()
    for day, _, *counts in table.rows:
        told.update({(str(day), name): int(str(n)) for name, n in zip(tables_out.WORK, counts, strict=True) if n})
    assert told == expected
    assert noted
