"""A database of the first landed version, with data, brought to the tables of today: every operation untouched, same answers."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import Engine, MetaData, create_engine, insert, select, update
from tests.support import postgres
from tests.support.back_ends import SCALED_OUT

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.bootstrap import prepare_database
from spanwalk.services.doctor import examine_all
from spanwalk.services.people.members import Member
from spanwalk.services.sync.pulling import Question, pull
from spanwalk.spec_1 import in_codes
from spanwalk.storage import json_text, migrating
from spanwalk.storage.database import reading
from spanwalk.storage.tables import Membership, db
from spanwalk.sync.canonical import sha256_of
from spanwalk.sync.digest import digest, digest_line

DUMP = Path(__file__).with_name("first_landed.sql")
FIRST = "0001"
TOLD_THEN = json.loads(DUMP.read_text().splitlines()[1].partition(": ")[2])
"""Head, count and digest (SHA-256 of the sorted lines) of a manager's full pull, as that version answered it."""


def rows_of(engine: Engine) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table that the first version had, in its columns."""
    with closing(sqlite3.connect(":memory:")) as first:
        first.executescript(DUMP.read_text())
        names = [row[0] for row in first.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        columns = {name: [row[1] for row in first.execute(f"PRAGMA table_info({name})")] for name in names}
    metadata = MetaData()
    metadata.reflect(engine)
    found = {}
    with engine.connect() as connection:
        for name in sorted(set(names) - {"alembic_version"}):
            table = metadata.tables[name]
            rows = connection.execute(select(*(table.c[column] for column in columns[name])))
            found[name] = sorted((tuple(row) for row in rows), key=repr)
    return found


@pytest.fixture
def old(back_end: str, tmp_path: Path) -> Iterator[Flask]:
    """An app over the old database, not yet migrated."""
    file = tmp_path / "data" / "spanwalk.db"
    file.parent.mkdir()
    with closing(sqlite3.connect(file)) as made:
        made.executescript(DUMP.read_text())
    where = {}
    if back_end == SCALED_OUT:
        where = {"SPANWALK_DATABASE_URL": postgres.cluster().new_database()}
        copy_to(where["SPANWALK_DATABASE_URL"], file)
    app = create_app(read_settings(where, file.parent))
    yield app
    with app.app_context():
        db.engine.dispose()


def copy_to(url: str, file: Path) -> None:
    """The same rows in PostgreSQL, in the tables of the first migration."""
    target, source = create_engine(url), create_engine(f"sqlite:///{file}")
    migrating.upgrade(target, FIRST)
    metadata = MetaData()
    metadata.reflect(target)
    with source.connect() as old, target.begin() as new:
        for table in metadata.sorted_tables:
            rows = [dict(row) for row in old.execute(select(table)).mappings()]
            if rows and table.name != "alembic_version":
                new.execute(insert(table), rows)
    target.dispose()
    source.dispose()


def test_the_old_database_has_something_of_everything(old: Flask) -> None:
    with old.app_context():
        rows = rows_of(db.engine)
    assert {name for name, found in rows.items() if not found} == {"session", "sign_in_attempt"}
    with old.app_context(), db.engine.connect() as connection:
        results = set(connection.exec_driver_sql("SELECT result FROM operation").scalars())
    assert results == {"applied", "conflict", "refused"}


def test_brought_to_today_it_has_every_row_and_answers_as_it_did(old: Flask) -> None:
    with old.app_context():
        before = rows_of(db.engine)
        prepare_database()
        migrating.check(db.engine)
        assert rows_of(db.engine) == before
        with reading() as session:
            site, person = session.execute(
                select(Membership.site, Membership.person).where(Membership.role == "manager")
            ).one()
            found = examine_all(session, old.extensions["spanwalk-photos"]).findings
        page = json.loads(pull(Member(person, "manager", site, "manager"), Question(limit=2000)))
    assert page["head"] == TOLD_THEN["head"]
    assert {each.code for each in found} == {"doctor.photo-missing"}, "only the photo's file is not in the dump"
    lines = [line for each in page["records"] if (line := digest_line(each)) is not None]
    assert (len(lines), sha256_of("\n".join(sorted(lines)))) == (TOLD_THEN["count"], TOLD_THEN["digest"])
    assert (page["count"], page["sum"]) == digest(lines), "the sums were filled from the records"


def test_brought_to_today_records_tell_in_codes_what_spec_1_wrote_as_text(old: Flask) -> None:
    with old.app_context():
        plant(db.engine)
        before = rows_of(db.engine)
        prepare_database()
        after = rows_of(db.engine)
    assert [name for name in before if before[name] != after[name]] == ["record"]
    assert after["record"] == sorted((in_codes_of(row) for row in before["record"]), key=repr)
    assert sum(in_codes_of(row) != row for row in before["record"]) == 1


def plant(engine: Engine) -> None:
    """Texts of spec 1 in the value and in an open conflict of one room."""
    table = MetaData()
    table.reflect(engine)
    record = table.tables["record"]
    value = {"moisture": "not seen", "hottest_c": 30}
    facets = {"surroundings": {"op": "d.e.1", "seq": 1, "by": "p", "at": "", "value": value}}
    conflicts = [{"id": "d.e.2", "facet": "surroundings", "by": "q", "at": "", "value": value}]
    with engine.begin() as connection:
        room = connection.execute(select(record.c.id).where(record.c.type == "room")).scalars().first()
        told = {"facets": json_text.dumps(facets), "conflicts": json_text.dumps(conflicts)}
        assert connection.execute(update(record).where(record.c.id == room).values(**told)).rowcount == 1


def in_codes_of(row: tuple[Any, ...]) -> tuple[Any, ...]:
    """A row of `record` as it is to be: what spec 1 wrote as text in codes."""
    site, record, type_name, parent, seq, removed, facets, conflicts = row
    told = {
        name: {**held, "value": in_codes(type_name, name, held["value"])} for name, held in json.loads(facets).items()
    }
    lost = [{**each, "value": in_codes(type_name, each["facet"], each["value"])} for each in json.loads(conflicts)]
    return (site, record, type_name, parent, seq, removed, *(json_text.dumps(each) for each in (told, lost)))


BAD = '''
"""A migration that touches what was written"""
from alembic import op

revision, down_revision, branch_labels, depends_on = "9999", "{newest}", None, None


def upgrade() -> None:
    op.execute("UPDATE operation SET {change}")
'''


@pytest.mark.parametrize("change", ["body = '{}'", "seq = seq + 1", "result = 'applied'"])
def test_a_migration_that_touches_an_operation_is_noticed(
    old: Flask, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, change: str
) -> None:
    folder = tmp_path / "migrations"
    shutil.copytree(migrating.FOLDER, folder)
    newest = max(path.name.split("_")[0] for path in (folder / "versions").glob("*.py"))
    (folder / "versions" / "9999_bad.py").write_text(BAD.format(newest=newest, change=change))
    monkeypatch.setattr(migrating, "FOLDER", folder)
    with old.app_context():
        before = rows_of(db.engine)
        prepare_database()
        after = rows_of(db.engine)
    assert [name for name in before if before[name] != after[name]] == ["operation"]
