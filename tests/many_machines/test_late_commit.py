"""A sequence that was given out earlier and committed later: a reader whose cursor has passed it never sees it again.

The pitfall of a bare database sequence; shown beside our log, by the same reader and the same two writers.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import orjson
import pytest
from sqlalchemy import Engine, create_engine, select, text
from sqlalchemy.orm import Session
from tests.support import postgres
from tests.support.back_ends import on_both, there
from tests.support.installation import Installation, installed, new_id

from spanwalk.services import pushing
from spanwalk.storage.tables import Site

back_end = on_both()
A_MOMENT_S = 1.0
"""So long the second writer may try while the first has not committed; the outcome does not hang on it."""


class Log(Protocol):
    """Something that two write to and one reads with a cursor."""

    def write(self, before_commit: Callable[[], None]) -> str:
        """Write one entry; its name."""

    def read(self, cursor: int) -> tuple[set[str], int]:
        """Entries after the cursor, and where it stands now."""


def skipped(log: Log) -> set[str]:
    """What a reader misses when the first writer commits after the second had the chance to."""
    written: list[str] = []
    first_may_commit, first_waits = threading.Event(), threading.Event()

    def late() -> None:
        first_waits.set()
        first_may_commit.wait(60)

    first = threading.Thread(target=lambda: written.append(log.write(late)))
    second = threading.Thread(target=lambda: written.append(log.write(lambda: None)))
    first.start()
    assert first_waits.wait(60)
    second.start()
    second.join(A_MOMENT_S)
    seen, cursor = log.read(0)
    first_may_commit.set()
    first.join(60)
    second.join(60)
    more, _ = log.read(cursor)
    assert len(written) == 2
    return set(written) - seen - more


@dataclass
class BareSequence:
    """An ordered log as one is tempted to build it: `bigserial`, and a cursor that follows it."""

    engine: Engine

    def __post_init__(self) -> None:
        with self.engine.begin() as connection:
            connection.execute(text("CREATE TABLE entry (seq bigserial PRIMARY KEY, name text NOT NULL)"))

    def write(self, before_commit: Callable[[], None]) -> str:
        name = new_id()
        with self.engine.begin() as connection:
            connection.execute(text("INSERT INTO entry (name) VALUES (:name)"), {"name": name})
            before_commit()
        return name

    def read(self, cursor: int) -> tuple[set[str], int]:
        query = text("SELECT seq, name FROM entry WHERE seq > :cursor ORDER BY seq")
        with self.engine.begin() as connection:
            rows = connection.execute(query, {"cursor": cursor}).all()
        return {row.name for row in rows}, max((row.seq for row in rows), default=cursor)


@dataclass
class OurLog:
    """Push and pull, with a pause between what is written and its commit."""

    here: Installation
    monkeypatch: pytest.MonkeyPatch

    def __post_init__(self) -> None:
        self.pauses: dict[str, Callable[[], None]] = {}
        self.sequences: list[int] = []
        write = pushing.write

        def pausing(session: Any, member: Any, decision: Any) -> None:
            write(session, member, decision)
            for row in decision.log:
                self.pauses.get(row.operation.record, lambda: None)()

        self.monkeypatch.setattr(pushing, "write", pausing)
        self.cookie = self.here.client("surveyor").get_cookie("spanwalk_session")

    def _call(self, method: str, path: str, **more: Any) -> Any:
        client = self.here.app.test_client()
        client.set_cookie("spanwalk_session", self.cookie.value if self.cookie else "")
        answer = client.open(f"/api/sites/{self.here.site}/{path}", method=method, **more)
        assert answer.status_code == 200, answer.text
        return answer.json

    def write(self, before_commit: Callable[[], None]) -> str:
        record, device = new_id(), new_id()
        to = {"name": "Loft", "parent": self.here.site}
        operation = self.here.operation(
            "surveyor", record, "floor", "identity", to, id=f"{device}.0000000e.1"
        )
        self.pauses[record] = before_commit
        body = orjson.dumps({"device": device, "operations": [operation]})
        told = self._call("POST", "push", data=body, headers={"Sec-Fetch-Site": "same-origin"})
        assert told["answers"][0]["result"] == "applied"
        self.sequences.append(told["answers"][0]["seq"])
        return record

    def read(self, cursor: int) -> tuple[set[str], int]:
        page = self._call("GET", f"pull?since={cursor}")
        return {record["id"] for record in page["records"]}, page["next"]


def without_lock(session: Session, site_id: str) -> int:
    """The head, read and not locked."""
    return session.execute(select(Site.head).where(Site.id == site_id)).scalar_one()


@pytest.fixture
def bare() -> Iterator[Engine]:
    there(postgres.cluster)
    engine = create_engine(postgres.cluster().new_database())
    yield engine
    engine.dispose()


@pytest.fixture
def here(tmp_path: Path, back_end: str) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end) as made:
        yield made


def test_with_a_bare_database_sequence_the_late_one_is_never_seen(bare: Engine) -> None:
    assert len(skipped(BareSequence(bare))) == 1


def test_ours_gives_sequences_out_in_the_order_of_commits(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    log = OurLog(here, monkeypatch)
    assert skipped(log) == set()
    assert len(set(log.sequences)) == 2


def test_without_the_lock_on_the_site_two_writers_get_one_sequence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The negative control, on PostgreSQL: our own log, with the one lock taken away. (SQLite has one writer anyway.)"""
    there(postgres.cluster)
    monkeypatch.setattr(pushing, "lock_site", without_lock)
    with installed(tmp_path / "data", SPANWALK_DATABASE_URL=postgres.cluster().new_database()) as here:
        log = OurLog(here, monkeypatch)
        skipped(log)
        assert len(set(log.sequences)) == 1
