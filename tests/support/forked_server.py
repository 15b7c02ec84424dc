"""Servers that start in a moment: forked, one after another, from a process that has loaded Spanwalk but connected to nothing.

`python -m tests.support.forked_server PLANT ARGUMENT…` forks a `spanwalk ARGUMENT…` for each line it reads and prints
its process id. PLANT names a fault of `PLANTS` to put in, or is `none`.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.support.server import Server

LATE_S = 0.25


class ForkedServer(Server):
    """A `spanwalk serve` that can be killed and started again a hundred times."""

    parent: subprocess.Popen[str] | None = None
    child: int | None = None
    plant: str = "none"

    def start(self) -> ForkedServer:
        if self.parent is None:
            self.data.parent.mkdir(parents=True, exist_ok=True)
            words = ["serve", "--port", str(self.port), "--data", str(self.data)]
            command = [sys.executable, "-m", "tests.support.forked_server", self.plant, *words]
            with (self.data.parent / f"{self.data.name}.log").open("ab") as log:
                self.parent = subprocess.Popen(
                    command,
                    env={**os.environ, **self.env},
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=log,
                    text=True,
                )
            self.process = self.parent  # type: ignore[assignment]
        assert self.parent.stdin is not None
        assert self.parent.stdout is not None
        self.parent.stdin.write("start\n")
        self.parent.stdin.flush()
        self.child = int(self.parent.stdout.readline())
        self.wait_until_healthy()
        return self

    def kill(self) -> None:
        """kill -9 the server itself; what it was forked from stays."""
        assert self.child is not None
        os.kill(self.child, signal.SIGKILL)

    def stop(self) -> None:
        if self.parent is None:
            return
        if self.child is not None and Path(f"/proc/{self.child}").exists():
            self.kill()
        assert self.parent.stdin is not None
        assert self.parent.stdout is not None
        self.parent.stdin.close()
        self.parent.wait(10)
        self.parent.stdout.close()


def _answer_before_commit() -> None:
    """The phone is told 'applied' before the database has it."""
    from sqlalchemy.orm import Session

    from spanwalk.services.sync import pushing
    from spanwalk.storage.tables import db

    assert pushing.writing is not None

    @contextmanager
    def late() -> Iterator[Session]:
        session = Session(db.engine.execution_options(sqlite_begin="BEGIN IMMEDIATE"))
        session.begin()
        try:
            yield session
        except BaseException:
            session.rollback()
            raise
        threading.Timer(LATE_S, lambda: (session.commit(), session.close())).start()

    pushing.writing = late


def _log_and_records_apart() -> None:
    """The log is committed before the records are written."""
    from spanwalk.services.sync import writing
    from spanwalk.storage.tables import Operation

    whole = writing.insert_many

    def apart(connection: Any, table: Any, rows: Any) -> None:
        whole(connection, table, rows)
        if table is Operation.__table__:
            connection.exec_driver_sql("COMMIT")
            time.sleep(LATE_S)
            connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.dialect.name == "sqlite" else "BEGIN")

    writing.insert_many = apart


def _photo_after_its_receipt() -> None:
    """The receipt goes out before the photo is in the store."""
    from spanwalk.storage.photos import BucketStore, FolderStore

    def later(store: type) -> None:
        put = store.put  # type: ignore[attr-defined]
        store.put = lambda self, name, data: threading.Timer(LATE_S, put, (self, name, data)).start()  # type: ignore[attr-defined]

    later(FolderStore)
    later(BucketStore)


PLANTS = {
    "none": lambda: None,
    "answer-before-commit": _answer_before_commit,
    "log-and-records-apart": _log_and_records_apart,
    "photo-after-its-receipt": _photo_after_its_receipt,
}


def main(plant: str, arguments: list[str]) -> None:
    """Fork a server for each line read, until there is no more."""
    import PIL.Image  # noqa: F401 - loaded once, for all of them
    import waitress  # noqa: F401

    import spanwalk.app
    from spanwalk.cli import main as spanwalk

    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    told = os.dup(1)
    os.dup2(2, 1)
    for _line in sys.stdin:
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            PLANTS[plant]()
            os._exit(spanwalk(arguments))
        os.write(told, f"{child}\n".encode())


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
