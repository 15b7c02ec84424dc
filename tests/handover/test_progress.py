"""How far a report, a workbook or a pack is stands in the database, where any process of the server reads it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from uuid import uuid4

import pytest
from sqlalchemy.exc import OperationalError
from tests.handover.some_report import a_report
from tests.support.installation import Installation, installed

from spanwalk.services.handover import progress
from spanwalk.services.handover.progress import progress_of, told_steps
from spanwalk.services.handover.workbook import report_workbook


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Installation]:
    monkeypatch.setattr(progress, "TELL_EACH_S", 0.0)
    with installed(tmp_path / "data") as made, made.app.app_context():
        yield made


def read_elsewhere(here: Installation) -> list[tuple[int, int]]:
    """What another process reads in the database."""
    with closing(sqlite3.connect(here.app.extensions["spanwalk"].data / "spanwalk.db")) as database:
        return database.execute("SELECT done, total FROM report_progress").fetchall()


def test_it_is_read_by_another_process_while_the_report_is_made_and_gone_after_it(here: Installation) -> None:
    asked = str(uuid4())
    with told_steps(here.site, asked) as step:
        for done in (1, 2):
            step(done, 9)
            assert read_elsewhere(here) == [(done, 9)]
            path = f"/api/sites/{{site}}/handover/progress?asked={asked}"
            assert here.call("manager", "GET", path).json == {"done": done, "of": 9}
            assert progress_of(here.site, str(uuid4())) == (0, 0)
    assert read_elsewhere(here) == []


def test_what_a_process_left_that_died_is_taken_away_by_the_next(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as long_ago:
        long_ago.setattr(progress, "now", lambda: "2020-01-01T00:00:00Z")
        progress._tell(here.site, "left", 3, 9)
    assert read_elsewhere(here) == [(3, 9)]
    with told_steps(here.site, str(uuid4())):
        pass
    assert read_elsewhere(here) == []


def test_a_database_that_takes_nothing_now_keeps_no_report_from_being_made(
    here: Installation, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def refuses() -> None:
        raise OperationalError("INSERT", {}, Exception("locked"))

    monkeypatch.setattr(progress, "writing", refuses)
    with told_steps(here.site, str(uuid4())) as step:
        step(1, 2)
    assert "progress of a report was not written: OperationalError" in caplog.text


def test_it_is_written_twice_a_second_at_most(here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "TELL_EACH_S", 60.0)
    with told_steps(here.site, str(uuid4())) as step:
        for done in range(1, 100):
            step(done, 100)
        assert read_elsewhere(here) == [(1, 100)]


def test_a_workbook_tells_each_sheet() -> None:
    told: list[tuple[int, int]] = []
    report_workbook(a_report(), lambda done, of: told.append((done, of)))
    assert len(told) > 8
    assert told == [(done, len(told) + 1) for done in range(1, len(told) + 1)]
