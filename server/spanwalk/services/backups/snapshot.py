"""A whole database as one SQLite file, whichever database it is; and such a file put in the place of a database."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, Integer, Table, create_engine, func, select, text
from sqlalchemy.orm import Session

from spanwalk.storage.database import insert_many, prepare_sqlite, reading
from spanwalk.storage.migrating import upgrade
from spanwalk.storage.tables import Base, db

ROWS_AT_ONCE = 2000
LEFT_OUT = ("enrolment", "kept_answer", "passkey_challenge", "session", "sign_in_attempt", "sign_in_try")
"""Tables that no backup has rows of; those of which `carried.TABLES` says that a restore brings none back."""


def is_sqlite() -> bool:
    """Whether the live database is SQLite."""
    return db.engine.dialect.name == "sqlite"


@contextmanager
def opened(file: Path) -> Iterator[Engine]:
    """A SQLite file as the server would open it; one file again when it is closed."""
    engine = create_engine(f"sqlite:///{file}")
    prepare_sqlite(engine)
    try:
        yield engine
    finally:
        engine.dispose()
        as_one_file(file)


def as_one_file(file: Path) -> None:
    """Bring what stands in the log beside a SQLite file into it, and flush it to the disk."""
    with closing(sqlite3.connect(file)) as database:
        database.execute("PRAGMA journal_mode=DELETE").fetchall()
    with file.open("rb") as kept:
        os.fsync(kept.fileno())


def take_snapshot(file: Path) -> None:
    """Write the live database, as it stands at one moment, to a new SQLite file; who is signed in is left out.

    Hashes of sign-ins, open codes and guesses only hold for as long as the server runs: a restore brings none of them
    back, so a backup need not have them.
    """
    _copy_live(file)
    _leave_out(file)


def _leave_out(file: Path) -> None:
    with closing(sqlite3.connect(file)) as database:
        database.execute("PRAGMA secure_delete=ON").fetchall()
        for name in LEFT_OUT:
            database.execute(f'DELETE FROM "{name}"')
        database.commit()
    as_one_file(file)


def _copy_live(file: Path) -> None:
    if is_sqlite():
        with closing(sqlite3.connect(str(db.engine.url.database))) as live, closing(sqlite3.connect(file)) as copy:
            live.backup(copy)
        as_one_file(file)
        return
    with opened(file) as engine:
        upgrade(engine)
        with reading() as session, engine.begin() as connection:
            copy_rows(session.connection(), connection)


def copy_rows(source: Connection, target: Connection) -> None:
    """Copy the rows of all tables; the target's are empty."""
    for table in Base.metadata.sorted_tables:
        rows = source.execution_options(yield_per=ROWS_AT_ONCE).execute(select(table)).mappings()
        for some in rows.partitions(ROWS_AT_ONCE):
            _insert(target, table, [dict(row) for row in some])
    source.execution_options(yield_per=None)


def _insert(target: Connection, table: Table, rows: list[dict[str, object]]) -> None:
    if any(isinstance(value, bytes) for value in rows[0].values()):
        target.execute(table.insert(), rows)
    else:
        insert_many(target, table, rows)


def replace_live(file: Path, busy_timeout_s: float) -> None:
    """Put a SQLite file in the place of the live database, in one transaction: who has it open sees one state or the other."""
    if is_sqlite():
        db.engine.dispose()
        with (
            closing(sqlite3.connect(file)) as made,
            closing(sqlite3.connect(str(db.engine.url.database), timeout=busy_timeout_s)) as live,
        ):
            made.backup(live)
        return
    with opened(file) as engine, engine.connect() as source, Session(db.engine) as session, session.begin():
        connection = session.connection()
        names = ", ".join(table.name for table in Base.metadata.sorted_tables)
        connection.execute(text(f"TRUNCATE {names}"))
        copy_rows(source, connection)
        for table in Base.metadata.sorted_tables:
            _count_on(connection, table)


def _count_on(connection: Connection, table: Table) -> None:
    """Numbers that PostgreSQL gives go on after those that were copied."""
    for column in table.primary_key:
        if column is table.autoincrement_column and isinstance(column.type, Integer):
            sequence = connection.execute(select(func.pg_get_serial_sequence(table.name, column.name))).scalar()
            if sequence is not None:
                newest = connection.execute(select(func.max(column))).scalar()
                connection.execute(select(func.setval(sequence, newest or 1, newest is not None)))


def counts(connection: Connection) -> dict[str, int]:
    """Rows by table."""
    return {
        str(table.name): int(connection.execute(select(func.count()).select_from(table)).scalar_one())
        for table in Base.metadata.sorted_tables
    }
