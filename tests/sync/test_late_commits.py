"""The late commit: a writer numbered first that commits last. A cursor over a bare database sequence skips it; ours cannot.

Two writers and a reader, in an order that the test forces: the first writer has its number and has not committed, the
second wants to write, the reader reads, the first commits.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Protocol

import orjson
import pytest
from sqlalchemy import Engine, create_engine, text
from tests.support import postgres
from tests.support.back_ends import there
from tests.support.installation import DEVICES, Installation, installed, new_id

from spanwalk.services.people.members import Member
from spanwalk.services.sync import pushing
from spanwalk.services.sync.incoming import parse_push
from spanwalk.storage.database import writing
from spanwalk.storage.tables import db

WAIT_S = 30


class Log(Protocol):
    """Something that orders what is written, and a reader that follows it by a cursor."""

    def write(self, name: str) -> ExitStack:
        """Write a name in a transaction that stays open until the stack is closed."""

    def read(self) -> set[str]:
        """What is new behind the cursor."""

    def second_waits(self) -> bool:
        """Whether some writer waits for another."""


class BareSequence:
    """The naive way: PostgreSQL numbers each row by itself, and a reader asks for what is above the last it saw."""

    def __init__(self, engine: Engine) -> None:
        self.engine, self.cursor = engine, 0
        with engine.begin() as connection:
            connection.execute(text("CREATE TABLE log (seq bigint GENERATED ALWAYS AS IDENTITY, name text)"))

    def write(self, name: str) -> ExitStack:
        stack = ExitStack()
        connection = stack.enter_context(self.engine.begin())
        connection.execute(text("INSERT INTO log (name) VALUES (:name)"), {"name": name})
        return stack

    def read(self) -> set[str]:
        with self.engine.connect() as connection:
            rows = connection.execute(text("SELECT seq, name FROM log WHERE seq > :c"), {"c": self.cursor}).all()
        self.cursor = max((row.seq for row in rows), default=self.cursor)
        return {row.name for row in rows}

    def second_waits(self) -> bool:
        return False


class Spanwalk:
    """Ours: the services themselves, with the transaction held open after everything is written."""

    def __init__(self, here: Installation) -> None:
        self.here, self.cursor = here, here.pull("surveyor")["head"]

    def write(self, name: str) -> ExitStack:
        operation = self.here.operation(
            "surveyor", new_id(), "floor", "identity", {"name": name, "parent": self.here.site}
        )
        sent = parse_push(orjson.dumps({"device": DEVICES["surveyor"], "operations": [operation]}))
        member = Member(self.here.people["surveyor"], "surveyor", self.here.site, "surveyor")
        stack = ExitStack()
        stack.enter_context(self.here.app.app_context())
        session = stack.enter_context(writing())
        pushing.take(session, member, sent.operations, pushing.lock_site(session, self.here.site))
        session.flush()
        return stack

    def read(self) -> set[str]:
        page = self.here.pull("surveyor", f"since={self.cursor}")
        self.cursor = page["next"]
        return {record["facets"]["identity"]["value"]["name"] for record in page["records"]}

    def second_waits(self) -> bool:
        with self.here.app.app_context():
            if db.engine.dialect.name == "sqlite":
                return True  # cannot be asked; that it is not through is what counts
            with db.engine.connect() as connection:
                return connection.execute(text("SELECT count(*) FROM pg_locks WHERE NOT granted")).scalar_one() > 0


def seen_by_a_reader(log: Log) -> set[str]:
    """What a reader that follows the log has seen after both writers are through."""
    first = log.write("first")
    through = threading.Event()

    def second() -> None:
        log.write("second").close()
        through.set()

    writer = threading.Thread(target=second)
    writer.start()
    end = time.monotonic() + WAIT_S
    while not through.is_set() and not log.second_waits() and time.monotonic() < end:
        time.sleep(0.01)
    seen = log.read()
    first.close()
    writer.join()
    return seen | log.read()


@contextmanager
def naive() -> Iterator[BareSequence]:
    there(postgres.cluster)
    engine = create_engine(postgres.cluster().new_database())
    yield BareSequence(engine)
    engine.dispose()


def test_a_cursor_over_a_bare_database_sequence_skips_the_late_commit() -> None:
    with naive() as log:
        assert seen_by_a_reader(log) == {"second"}, "the first is never seen: this is the pitfall"


@pytest.mark.parametrize("database", ["SQLite", "PostgreSQL"])
def test_a_reader_of_ours_sees_both(database: str, tmp_path: Path) -> None:
    where = {}
    if database == "PostgreSQL":
        there(postgres.cluster)
        where = {"SPANWALK_DATABASE_URL": postgres.cluster().new_database()}
    with installed(tmp_path / "data", **where) as here:
        assert seen_by_a_reader(Spanwalk(here)) == {"first", "second"}
