"""A report, a workbook or a pack is made in the background: how far it is any process reads, and what goes wrong is a sentence."""

from __future__ import annotations

import hashlib
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session
from tests.handover.some_report import a_report
from tests.support.installation import Installation, background_ended, installed, new_id

from spanwalk.services.background import making as background
from spanwalk.services.doctor import examine_all
from spanwalk.services.handover.workbook import report_workbook
from spanwalk.services.handover_files import making
from spanwalk.services.handover_files.wanted import Wanted
from spanwalk.services.people.people import set_role
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import PhotoStore, StoreFull
from spanwalk.storage.tables import HandoverFile, Photo, Record

FILES = "/api/sites/{site}/handover/files"
PDF = "/api/sites/{site}/handover.pdf"
LONG_AGO = "2020-01-01T00:00:00.000000Z"
Write = Callable[[Path, background.Step], None]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Installation]:
    """An installation whose site has a release: of that alone it is seen whether there is something to hand over."""
    monkeypatch.setattr(background, "TELL_EACH_S", 0.0)
    with installed(tmp_path / "data") as made:
        with in_the_database(made) as session:
            row = {
                "site": made.site,
                "parent": made.site,
                "seq": 0,
                "removed": False,
                "facets": "{}",
                "conflicts": "[]",
            }
            session.execute(insert(Record), [{**row, "id": new_id(), "type": "release"}])
        yield made


@contextmanager
def in_the_database(here: Installation) -> Iterator[Session]:
    with here.app.app_context(), writing() as session:
        yield session


def writes(monkeypatch: pytest.MonkeyPatch, write: Write) -> None:
    """Let something else write the file: what it says is tested elsewhere."""

    def write_file(site_id: str, wanted: Wanted, store: PhotoStore, path: Path, step: background.Step) -> None:
        write(path, step)

    monkeypatch.setattr(making, "write_file", write_file)


def text(words: str) -> Write:
    return lambda path, step: path.write_bytes(words.encode()) and None


def ask(here: Installation, name: str = "manager", **more: Any) -> Any:
    answer = here.call(name, "POST", FILES, json={"form": "pdf", **more})
    assert answer.status_code == 200, answer.text
    return answer.json["files"]


def settled(here: Installation, name: str = "manager") -> Any:
    """The one file that somebody had made, once it is and older ones are gone."""
    end = time.monotonic() + 60
    while time.monotonic() < end:
        (told,) = here.call(name, "GET", FILES).json["files"]
        if told["state"] != "making":
            background_ended()
            return told
        time.sleep(0.01)
    raise AssertionError("not made in time")


def rows(here: Installation) -> list[tuple[str, int, int]]:
    """What another process reads in the database."""
    with closing(sqlite3.connect(here.app.extensions["spanwalk"].data / "spanwalk.db")) as database:
        return database.execute("SELECT state, done, total FROM handover_file").fetchall()


def parts_kept(here: Installation) -> int:
    """How many parts are in the store."""
    return sum(".archive-" in name for name in here.app.extensions["spanwalk-photos"].names())


def test_any_process_reads_how_far_it_is_and_who_asks_meanwhile_gets_the_same_one(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def write(path: Path, step: background.Step) -> None:
        step(2, 9)
        begun.set()
        assert go_on.wait(30)
        path.write_bytes(b"the report")

    writes(monkeypatch, write)
    ask(here)
    assert begun.wait(30)
    assert rows(here) == [("making", 2, 9)]
    (told,) = ask(here, "owner")
    assert (told["state"], told["done"], told["total"], told["kept"]) == ("making", 2, 9, None)
    assert len(rows(here)) == 1
    go_on.set()
    kept = settled(here)["kept"]
    data = here.call("owner", "GET", PDF).data
    assert (data, kept["bytes"]) == (b"the report", 10)
    assert kept["sha256"] == hashlib.sha256(data).hexdigest()


def test_what_was_made_before_something_changed_says_so_and_made_anew_it_has_it(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    writes(monkeypatch, text("one"))
    ask(here)
    assert settled(here)["kept"]["changes"] == 0
    here.floor()
    assert settled(here)["kept"]["changes"] == 1
    with in_the_database(here) as session:
        photo = {"site": here.site, "sha256": "ab" * 32, "bytes": 9, "width_px": 1, "height_px": 1}
        session.execute(insert(Photo).values(**photo, person=here.people["owner"], received_at=background.now()))
    assert settled(here)["kept"]["changes"] == 2
    ask(here)
    assert settled(here)["kept"]["changes"] == 0
    assert (len(rows(here)), parts_kept(here)) == (1, 1)


def test_a_store_without_room_is_a_sentence_and_the_earlier_file_stays(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    writes(monkeypatch, text("earlier"))
    ask(here)
    settled(here)
    store = here.app.extensions["spanwalk-photos"]

    def full(name: str, data: bytes) -> None:
        raise StoreFull("no room")

    monkeypatch.setattr(store, "put", full)
    ask(here)
    told = settled(here)
    assert (told["state"], told["why"]["code"]) == ("wrong", "handover.no-room")
    assert told["kept"]["bytes"] == len("earlier")
    assert here.call("manager", "GET", PDF).data == b"earlier"


def test_what_fails_unforeseen_is_a_sentence_too(here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    def write(path: Path, step: background.Step) -> None:
        raise KeyError("unforeseen")

    writes(monkeypatch, write)
    ask(here)
    assert settled(here)["why"]["code"] == "handover.failed"


def test_one_that_a_stopped_server_left_is_told_and_can_be_made_again(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    with in_the_database(here) as session:
        making.begin_file(session, here.site, here.people["manager"], Wanted("pdf", True, False, "en"))
        session.execute(update(HandoverFile).values(changed_at=LONG_AGO))
    told = settled(here)
    assert (told["state"], told["why"]["code"]) == ("wrong", "handover.stopped")
    writes(monkeypatch, text("again"))
    ask(here)
    assert settled(here)["state"] == "made"


def test_who_waits_for_its_turn_is_touched_so_that_nobody_thinks_its_server_stopped(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(background, "TOUCH_EACH_S", 0.01)
    writes(monkeypatch, text("late"))
    with background.MAKERS:
        ask(here)
        with in_the_database(here) as session:
            session.execute(update(HandoverFile).values(changed_at=LONG_AGO))
        end = time.monotonic() + 30
        while settled_at(here) == LONG_AGO and time.monotonic() < end:
            time.sleep(0.01)
        assert rows(here) == [("making", 0, 0)]
        assert settled_at(here) > LONG_AGO
    assert settled(here)["state"] == "made"


def settled_at(here: Installation) -> str:
    with in_the_database(here) as session:
        return str(session.execute(select(HandoverFile.changed_at)).scalar_one())


def test_money_and_sums_stay_with_those_who_read_them(here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    writes(monkeypatch, text("with money"))
    ask(here, money=True)
    assert settled(here)["with_money"] is True
    assert here.call("manager", "GET", f"{PDF}?money=yes").data == b"with money"
    for path in (PDF, f"{PDF}?money=yes"):
        refused = here.call("crew", "GET", path)
        assert (refused.status_code, refused.json["code"]) == (404, "handover.not-made")
    writes(monkeypatch, text("without"))
    assert [each["with_money"] for each in ask(here, "crew", money=True)] == [False]
    assert settled(here, "crew")["with_money"] is False
    assert here.call("crew", "GET", f"{PDF}?money=yes").data == b"without"
    assert here.call("manager", "GET", PDF).json["code"] == "handover.not-made"


def test_a_reader_of_another_language_has_a_file_of_their_own(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    writes(monkeypatch, text("english"))
    ask(here)
    settled(here)
    in_spanish = {"Accept-Language": "es"}
    assert here.call("manager", "GET", FILES, headers=in_spanish).json["files"] == []
    assert here.call("manager", "GET", PDF, headers=in_spanish).json["code"] == "handover.not-made"


def test_too_many_at_once_are_refused_in_a_sentence(here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "AT_ONCE_MOST", 1)
    with in_the_database(here) as session:
        making.begin_file(session, here.site, here.people["manager"], Wanted("xlsx", True, False, "en"))
    refused = here.call("manager", "POST", FILES, json={"form": "pdf"})
    assert (refused.status_code, refused.json["code"]) == (503, "handover.busy")


def test_parts_that_lie_in_the_store_are_no_strangers_to_the_doctor(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    writes(monkeypatch, text("a report"))
    ask(here)
    settled(here)
    here.app.extensions["spanwalk-photos"].put(f"{'c' * 32}.archive-00001", b"of a row that is gone")
    with here.app.app_context(), reading() as session:
        found = examine_all(session, here.app.extensions["spanwalk-photos"]).findings
    strangers = [each.facts["photo"] for each in found if each.code == "doctor.photo-unreferenced"]
    assert strangers == [f"{'c' * 32}.archive-00001"]


def test_what_lay_there_for_a_month_goes_when_another_is_made(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    writes(monkeypatch, text("old"))
    ask(here, money=True)
    settled(here)
    with in_the_database(here) as session:
        session.execute(update(HandoverFile).values(changed_at=LONG_AGO))
    ask(here, "crew")
    settled(here, "crew")
    assert parts_kept(here) == 1
    assert here.call("manager", "GET", FILES).json["files"] == []


def test_a_deleted_site_leaves_no_file_not_even_one_that_is_being_made(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    writes(monkeypatch, text("first"))
    ask(here)
    settled(here)
    begun, go_on = threading.Event(), threading.Event()

    def write(path: Path, step: background.Step) -> None:
        begun.set()
        assert go_on.wait(30)
        path.write_bytes(b"too late")

    writes(monkeypatch, write)
    ask(here)
    assert begun.wait(30)
    assert parts_kept(here) == 1
    assert here.call("owner", "DELETE", "/api/sites/{site}", json={"name": "Test building"}).status_code == 204
    go_on.set()
    background_ended()
    assert parts_kept(here) == 0
    assert rows(here) == []


def test_the_customers_facility_manager_and_a_wrong_form_are_refused(here: Installation) -> None:
    with in_the_database(here) as session:
        set_role(session, here.site, here.people["stranger"], "facility")
    for method, path in (("POST", FILES), ("GET", FILES), ("GET", PDF)):
        body = {"json": {"form": "pdf"}} if method == "POST" else {}
        assert here.call("stranger", method, path, **body).status_code == 403, path
    refused = here.call("manager", "POST", FILES, json={"form": "docx"})
    assert (refused.status_code, refused.json["value"]) == (422, "docx")


def test_a_workbook_tells_each_sheet() -> None:
    told: list[tuple[int, int]] = []
    report_workbook(a_report(), lambda done, of: told.append((done, of)))
    assert len(told) > 8
    assert told == [(done, len(told) + 1) for done in range(1, len(told) + 1)]
