"""Told to end, the server takes no more connections and answers what runs, within a bound."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import select
from tests.front.raw import Answer, Door, read_all, read_some
from tests.support.installation import installed
from tests.support.server import free_port

from spanwalk.services.planning.under_way import UNDER_WAY
from spanwalk.storage.database import reading
from spanwalk.storage.tables import KeptAnswer

WAIT_S = 60
ROOT = Path(__file__).resolve().parents[2]
SLOW = b"GET /api/slow HTTP/1.1\r\nHost: localhost\r\n\r\n"
READY = b"GET /api/ready HTTP/1.1\r\nHost: localhost\r\n\r\n"
Start = Callable[[float], tuple[subprocess.Popen[bytes], Door]]


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + WAIT_S
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)


def listens(door: Door) -> bool:
    try:
        door.connect("127.0.0.1").close()
    except OSError:
        return False
    return True


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Start]:
    running: list[subprocess.Popen[bytes]] = []

    def begin(drain_s: float) -> tuple[subprocess.Popen[bytes], Door]:
        (tmp_path / "data").mkdir(exist_ok=True)
        port = free_port()
        words = [str(tmp_path / "data"), str(port), str(tmp_path / "finish"), str(drain_s)]
        running.append(subprocess.Popen([sys.executable, "-m", "tests.front.slow_server", *words], cwd=ROOT))
        until(lambda: listens(Door(port)))
        return running[0], Door(port)

    yield begin
    for process in running:
        process.kill()
        process.wait()


def asked_slowly(door: Door, tmp_path: Path) -> socket.socket:
    to = door.connect()
    to.sendall(SLOW)
    until((tmp_path / "asked").exists)
    return to


def test_what_runs_is_answered_and_nothing_new_is_taken(start: Start, tmp_path: Path) -> None:
    process, door = start(WAIT_S)
    with closing(asked_slowly(door, tmp_path)) as to:
        process.send_signal(signal.SIGTERM)
        until(lambda: not listens(door))
        assert process.poll() is None, "it waits for what runs"
        (tmp_path / "finish").touch()
        answer = Answer.read(read_all(to, WAIT_S))
    assert (answer.status, answer.body) == (200, b"finished")
    assert answer.headers["connection"] == "close"
    assert process.wait(WAIT_S) == 0


def test_a_site_that_it_was_planning_is_free_for_the_next_server_at_once(start: Start, tmp_path: Path) -> None:
    def plans() -> list[str]:
        with installation.app.app_context(), reading() as session:
            return list(session.execute(select(KeptAnswer.site).where(KeptAnswer.what == UNDER_WAY)).scalars())

    (tmp_path / "plans").touch()
    with installed(tmp_path / "data") as installation:
        process, door = start(WAIT_S)
        with closing(asked_slowly(door, tmp_path)) as to:
            until(lambda: plans() == [installation.site])
            process.send_signal(signal.SIGTERM)
            (tmp_path / "finish").touch()
            read_all(to, WAIT_S)
        assert process.wait(WAIT_S) == 0
        assert plans() == []


def test_while_it_ends_it_says_on_connections_that_are_still_open_that_it_is_not_ready(
    start: Start, tmp_path: Path
) -> None:
    """A proxy keeps connections to it: what looks over one of them must hear that it is about to go."""
    process, door = start(WAIT_S)
    with closing(door.connect()) as kept, closing(asked_slowly(door, tmp_path)) as to:
        kept.sendall(READY)
        told_before = b""
        while not told_before.endswith(b"}"):
            told_before += read_some(kept) or b"closed }"
        assert b'"stopping":false' in told_before
        process.send_signal(signal.SIGTERM)
        until(lambda: not listens(door))
        kept.sendall(READY)
        told = Answer.read(read_all(kept, WAIT_S))
        (tmp_path / "finish").touch()
        assert Answer.read(read_all(to, WAIT_S)).status == 200
    assert (told.status, b'"stopping":true' in told.body, told.headers["connection"]) == (503, True, "close")
    assert process.wait(WAIT_S) == 0


def test_what_never_finishes_is_cut_off_after_the_bound(start: Start, tmp_path: Path) -> None:
    process, door = start(0.3)
    with closing(asked_slowly(door, tmp_path)) as to:
        process.send_signal(signal.SIGTERM)
        assert process.wait(WAIT_S) == 0
        assert read_all(to, 1) == b""


def test_told_twice_it_ends_at_once(start: Start, tmp_path: Path) -> None:
    process, door = start(WAIT_S)
    with closing(asked_slowly(door, tmp_path)):
        process.send_signal(signal.SIGTERM)
        until(lambda: not listens(door))
        process.send_signal(signal.SIGTERM)
        assert process.wait(WAIT_S) == 1
