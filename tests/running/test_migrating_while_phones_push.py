"""Tables are changed by a command while a server runs and phones push: none is refused for it, nothing is lost or twice."""

from __future__ import annotations

import shutil
import threading
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.exc import DBAPIError
from tests.support import postgres
from tests.support.back_ends import there
from tests.support.installation import installed
from tests.support.server import Client, Server

from spanwalk.cli import main
from spanwalk.services.sync import pushing
from spanwalk.storage import migrating
from spanwalk.storage.database import prepare_sqlite, writing

PHONES, PUSHES_BEFORE, PUSHES_AFTER = 4, 3, 5
CHANGE = '''
"""A column more, another type, an index, and every row written again, in the tables that each push uses"""
import sqlalchemy as sa
from alembic import op

revision, down_revision, branch_labels, depends_on = "9998", "{newest}", None, None


def upgrade() -> None:
    with op.batch_alter_table("record") as batch:
        batch.add_column(sa.Column("planted", sa.Text(), nullable=False, server_default="x"))
    with op.batch_alter_table("operation") as batch:
        batch.alter_column("place", existing_type=sa.Integer(), type_=sa.BigInteger())
    op.execute("UPDATE record SET planted = id")
    op.create_index("ix_record_planted", "record", ["planted"])
'''


@pytest.fixture(params=["SQLite", "PostgreSQL"])
def server(request: pytest.FixtureRequest, demo_data: Path, tmp_path: Path) -> Iterator[Server]:
    """A running server whose site is the demo's."""
    env = {}
    if request.param == "PostgreSQL":
        there(postgres.cluster)
        env = {"SPANWALK_DATABASE_URL": postgres.cluster().new_database()}
    else:
        shutil.copytree(demo_data, tmp_path / "data")
    running = Server(tmp_path / "data", env=env).start()
    yield running
    running.stop()


@pytest.fixture
def next_version(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """This version's migrations and one more, as the next version would bring it."""
    newest, folder = migrating.newest_revision(), tmp_path / "migrations"
    shutil.copytree(migrating.FOLDER, folder)
    (folder / "versions" / "9998_planted.py").write_text(CHANGE.format(newest=newest))
    monkeypatch.setattr(migrating, "FOLDER", folder)


class Pusher(threading.Thread):
    """A phone that pushes one floor after another until it is told to end, and so many more after the change."""

    def __init__(self, client: Client, site: str, person: str) -> None:
        super().__init__()
        self.client, self.site, self.person, self.device = client, site, person, str(uuid.uuid4())
        self.statuses: list[int] = []
        self.answers: dict[str, str] = {}
        self.warm, self.changed = threading.Event(), threading.Event()

    def run(self) -> None:
        number, left = 0, PUSHES_AFTER
        while left:
            left -= self.changed.is_set()
            number += 1
            self.push(number)
            if number >= PUSHES_BEFORE:
                self.warm.set()

    def push(self, number: int) -> None:
        """Push one floor, again as long as the server says 'not now', as a phone does."""
        id = f"{self.device}.0000000e.{number}"
        to = {"name": f"F{number}", "parent": self.site}
        operation = {
            "id": id, "by": self.person, "record": str(uuid.uuid4()), "type": "floor", "facet": "identity", "kind": "set",
            "seen": None, "from": None, "to": to, "settles": [], "device_time": "2026-03-01T09:00:00Z", "spec": 2,
        }  # fmt: skip
        body = {"device": self.device, "epoch": "0000000e", "operations": [operation]}
        for _again in range(100):
            status, told = self.client.call("POST", f"/api/sites/{self.site}/push", body)
            self.statuses.append(status)
            if status == 200:
                self.answers[id] = told["answers"][0]["result"]
                return


def test_phones_go_on_pushing_while_the_tables_change_under_a_running_server(
    server: Server, next_version: None
) -> None:
    manager = Client(server.url, "manager")
    site, person = manager.site_id(), manager.get("/api/session")["person"]["id"]
    phones = []
    for _ in range(PHONES):
        client = Client(server.url)
        client.cookie = manager.cookie
        phones.append(Pusher(client, site, person))
    for phone in phones:
        phone.start()
    assert all(phone.warm.wait(60) for phone in phones)
    engine = create_engine(server.env.get("SPANWALK_DATABASE_URL") or f"sqlite:///{server.data / 'spanwalk.db'}")
    if engine.dialect.name == "sqlite":
        prepare_sqlite(engine)
    try:
        migrating.upgrade(engine)
    finally:
        for phone in phones:
            phone.changed.set()
    for phone in phones:
        phone.join(120)
    assert not any(phone.is_alive() for phone in phones)
    assert {status for phone in phones for status in phone.statuses} <= {200, 503}
    assert {result for phone in phones for result in phone.answers.values()} == {"applied"}
    sent = [id for phone in phones for id in phone.answers]
    assert len(sent) >= PHONES * (PUSHES_BEFORE + PUSHES_AFTER)
    with engine.connect() as connection:
        found = connection.execute(text("SELECT id, seq FROM operation WHERE id LIKE '%.0000000e.%'")).all()
        revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one()
    engine.dispose()
    assert revision == "9998"
    assert sorted(row.id for row in found) == sorted(sent), "each once, none lost"
    sequences = sorted(row.seq for row in found)
    assert sequences == list(range(sequences[0], sequences[0] + len(sequences)))
    assert manager.call("GET", "/api/ready")[1]["tables"] == "newer"
    assert manager.get(f"/api/sites/{site}/pull?since=0&limit=2000")["head"] == sequences[-1]


@pytest.fixture
def of_this_version() -> str:
    """A database with the tables of this version: asked for before there is a next one."""
    there(postgres.cluster)
    return str(postgres.cluster().migrated_database())


def test_a_migration_steps_back_before_who_uses_a_table_and_comes_again(
    of_this_version: str, next_version: None
) -> None:
    """Whoever reads for long must not make all who push wait behind a migration that waits for them."""
    engine = create_engine(of_this_version)
    told = threading.Event()
    with engine.connect() as long_reader:
        long_reader.execute(text("SELECT count(*) FROM record")).scalar()
        migration = threading.Thread(target=lambda: (migrating.upgrade(engine), told.set()))
        migration.start()
        with engine.connect() as other:
            other.execute(text("SET lock_timeout = '20s'"))
            other.execute(text("SELECT count(*) FROM record")).scalar()
            assert not told.is_set()
    migration.join(60)
    assert told.is_set()
    assert migrating.revision_of(engine) == "9998"
    engine.dispose()


@pytest.mark.parametrize(("state", "refused"), [("22P05", True), ("23502", True), ("0A000", False), ("42703", False)])
def test_an_operation_is_refused_only_for_its_own_values_never_because_tables_change(state: str, refused: bool) -> None:
    problem = type("Driver", (Exception,), {"sqlstate": state})()
    told = DBAPIError("INSERT", None, problem)
    assert pushing._about_values(told) is refused  # type: ignore[arg-type]


def test_the_command_brings_an_old_database_up_and_says_how_it_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    there(postgres.cluster)
    url = postgres.cluster().new_database()
    monkeypatch.setenv("SPANWALK_DATABASE_URL", url)
    engine, where = create_engine(url), ["--data", str(tmp_path)]
    migrating.upgrade(engine, "0007")
    assert main(["migrate", "--check", *where]) == 1
    assert "0007" in capsys.readouterr().out
    assert migrating.revision_of(engine) == "0007", "to look changes nothing"
    assert main(["migrate", *where]) == 0
    assert f"0007 → {migrating.newest_revision()}" in capsys.readouterr().out
    assert migrating.tables_state(engine) == "ok"
    assert main(["migrate", "--check", *where]) == 0
    engine.dispose()


def test_the_command_leaves_the_tables_of_a_newer_version_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with installed(tmp_path / "data") as here, here.app.app_context(), writing() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '9998'"))
    assert main(["migrate", "--data", str(tmp_path / "data")]) == 1
    assert "newer" in capsys.readouterr().out
