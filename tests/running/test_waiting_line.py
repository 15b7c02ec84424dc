"""Writers of one SQLite database are served in the order in which they came; nobody who came later goes first."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest
from sqlalchemy.exc import OperationalError
from tests.support.installation import installed

from spanwalk.storage.database import writing
from spanwalk.storage.tables import db
from spanwalk.storage.waiting_line import Line, WaitedTooLong, line_of

LONG_S = 30.0


def until(line: Line, waiting: int) -> None:
    """Wait until so many stand in the line."""
    end = time.monotonic() + LONG_S
    while line.waiting() != waiting:
        assert time.monotonic() < end, f"{line.waiting()} wait"
        time.sleep(0.001)


def test_who_waits_longest_is_served_first_however_many_wait() -> None:
    line, served = Line(), []

    def serve(name: int) -> None:
        with line.turn(LONG_S):
            served.append(name)

    threads = [threading.Thread(target=serve, args=(name,)) for name in range(12)]
    with line.turn(LONG_S):
        for place, thread in enumerate(threads, 1):
            thread.start()
            until(line, place)
    for thread in threads:
        thread.join(LONG_S)
    assert served == list(range(12))


def test_who_has_just_written_stands_behind_those_who_wait() -> None:
    line, served = Line(), []

    def serve() -> None:
        with line.turn(LONG_S):
            served.append("who waited")

    waiting = threading.Thread(target=serve)
    with line.turn(LONG_S):
        waiting.start()
        until(line, 1)
    with line.turn(LONG_S):
        served.append("who wrote before")
    waiting.join(LONG_S)
    assert served == ["who waited", "who wrote before"]


def test_who_gives_up_leaves_the_line_and_the_next_is_served() -> None:
    line = Line()
    with line.turn(LONG_S):
        with pytest.raises(WaitedTooLong), line.turn(0.01):
            pytest.fail("two at once")
        assert line.waiting() == 0
    with line.turn(0.01):
        pass


def test_a_writer_that_fails_hands_its_turn_on() -> None:
    line = Line()
    with pytest.raises(ZeroDivisionError), line.turn(LONG_S):
        raise ZeroDivisionError
    with line.turn(0.01):
        pass


def test_a_writer_whose_turn_does_not_come_is_told_that_the_database_is_busy(tmp_path: Path) -> None:
    with installed(tmp_path / "data") as here, here.app.app_context():
        here.app.config["SQLALCHEMY_ENGINE_OPTIONS"]["connect_args"]["timeout"] = 0.01
        with line_of(str(db.engine.url)).turn(LONG_S), pytest.raises(OperationalError, match="locked"), writing():
            pytest.fail("two at once")
