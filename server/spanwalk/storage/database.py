"""Connections and transactions: one snapshot to read, one ordered writer at a time to write."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager, nullcontext, suppress
from functools import cache
from operator import itemgetter
from typing import Literal
from typing import cast as typed

import orjson
from flask import Flask, current_app
from sqlalchemy import (
    ColumnElement,
    Connection,
    Dialect,
    Engine,
    FromClause,
    String,
    TableClause,
    bindparam,
    cast,
    event,
    func,
    insert,
    select,
)
from sqlalchemy.dialects.postgresql import JSON, JSONB
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.orm import Session
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.expression import SQLColumnExpression

from spanwalk.storage.tables import db
from spanwalk.storage.waiting_line import WaitedTooLong, line_of

WRITES = "spanwalk_writes"
"""The option by which a connection is known to be a writer's."""
IsolationLevel = Literal["REPEATABLE READ"]
Texts = SQLColumnExpression[str] | SQLColumnExpression[str | None]
"""A column of text."""
SQLITE_PRAGMAS = (
    "journal_mode=WAL",
    "synchronous=FULL",
    "foreign_keys=ON",
    "secure_delete=ON",  # what is deleted or written over is gone from the file, not only from the tables
    "temp_store=MEMORY",
    "cache_size=-8000",  # [-kB]: the pages that a push of 1,000 operations changes, which would be written and read twice
    "wal_autocheckpoint=4000",  # [pages of 4 kB]: of some such pushes, so that a page which each of them changes moves once
)


def engine_options(database_url: str, busy_timeout_s: float) -> dict[str, object]:
    """Options of the engine: how long a writer waits for another [s]; a pool for PostgreSQL; no values in errors."""
    if database_url.startswith("sqlite"):
        return {"connect_args": {"timeout": busy_timeout_s}, "hide_parameters": True}
    wait_ms = int(busy_timeout_s * 1000)
    options: dict[str, object] = {"connect_args": {"options": f"-c lock_timeout={wait_ms}"}}
    return options | {"pool_size": 8, "max_overflow": 8, "pool_pre_ping": True, "hide_parameters": True}


def bind(app: Flask) -> None:
    """Give the app its engine."""
    db.init_app(app)
    with app.app_context():
        if db.engine.dialect.name == "sqlite":
            prepare_sqlite(db.engine)


def prepare_sqlite(engine: Engine) -> None:
    """Make SQLite durable, and let the server say when a transaction begins and of which sort.

    Left to itself the driver begins a deferred transaction, and a reader that goes on to write then
    fails at once with 'database is locked', whatever the time-out.
    """

    @event.listens_for(engine, "connect")
    def _connect(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None
        for pragma in SQLITE_PRAGMAS:
            connection.execute("pragma " + pragma)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql(connection.get_execution_options().get("sqlite_begin", "BEGIN"))


POSTGRES_DISK_FULL = "53100"


def is_full(error: DBAPIError) -> bool:
    """Whether the database could not write for want of room on its disk."""
    if isinstance(error.orig, sqlite3.Error):
        return error.orig.sqlite_errorcode & 0xFF == sqlite3.SQLITE_FULL
    return getattr(error.orig, "sqlstate", None) == POSTGRES_DISK_FULL


def really_gone() -> None:
    """After a deletion: bring the log beside a SQLite file into it and empty it, so that nothing deleted stands there.

    Best done, never waited for: while somebody reads, a part stays until the next time. SQLite would keep every writer out
    while it waits for readers, and a reader that tells how far it is (an archive) writes. PostgreSQL clears rows by itself.
    """
    if db.engine.dialect.name == "sqlite":
        with suppress(OperationalError), _in_turn(db.engine), db.engine.connect() as connection:
            raw = connection.connection.driver_connection
            assert isinstance(raw, sqlite3.Connection)
            connection.rollback()
            _empty_log(raw)


def _empty_log(raw: sqlite3.Connection) -> None:
    """Bring SQLite's log into the file as far as that goes at once."""
    (wait_ms,) = raw.execute("PRAGMA busy_timeout").fetchone()
    raw.execute("PRAGMA busy_timeout = 0")
    try:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    finally:
        raw.execute(f"PRAGMA busy_timeout = {wait_ms:d}")


@contextmanager
def reading() -> Iterator[Session]:
    """A session whose every query sees the database at one moment."""
    options: dict[str, IsolationLevel] = {}
    if db.engine.dialect.name == "postgresql":
        options["isolation_level"] = "REPEATABLE READ"
    with Session(db.engine.execution_options(**options)) as session:
        yield session


@contextmanager
def writing() -> Iterator[Session]:
    """A session that commits at its end, or leaves nothing behind if something is raised."""
    engine = db.engine.execution_options(sqlite_begin="BEGIN IMMEDIATE", **{WRITES: True})
    with _in_turn(engine), Session(engine) as session, session.begin():
        yield session


def is_writing(session: Session) -> bool:
    """Whether a session is one of `writing`: who waited in it for another of them would wait for itself."""
    return WRITES in session.connection().get_execution_options()


def _in_turn(engine: Engine) -> AbstractContextManager[None]:
    """The place of a writer among those of this process; PostgreSQL keeps such a line itself, for each row."""
    return _sqlite_turn(str(engine.url)) if engine.dialect.name == "sqlite" else nullcontext()


@contextmanager
def _sqlite_turn(database: str) -> Iterator[None]:
    wait_s: float = current_app.config["SQLALCHEMY_ENGINE_OPTIONS"]["connect_args"]["timeout"]
    with ExitStack() as stack:
        try:
            stack.enter_context(line_of(database).turn(wait_s))
        except WaitedTooLong:
            raise _busy() from None
        yield


def _busy() -> OperationalError:
    """What SQLite itself says to a writer that has waited too long."""
    locked = sqlite3.OperationalError("database is locked")
    locked.sqlite_errorcode, locked.sqlite_errorname = sqlite3.SQLITE_BUSY, "SQLITE_BUSY"
    return OperationalError("BEGIN IMMEDIATE", None, locked)


def among(column: Texts, values: Iterable[str]) -> ColumnElement[bool]:
    """The condition that a column is one of many values, told as one JSON list: a thousand parameters cost more than the query.

    Parameters
    ----------
    column : column of text
        What is compared.
    values : iterable of str
        Any number of them.
    """
    listed = bindparam(None, orjson.dumps(list(values)).decode(), String)
    if db.engine.dialect.name == "postgresql":
        told = func.jsonb_array_elements_text(cast(listed, JSONB)).table_valued("value")
    else:
        told = func.json_each(listed).table_valued("value")
    return column.in_(select(told.c.value))


def values_within(column: Texts, paths: Sequence[Sequence[str]]) -> ColumnElement[str]:
    """Some values within a column of JSON text, as one JSON list: the database looks for them, the rest is neither sent nor made values.

    Parameters
    ----------
    column : column of text
        JSON text, of an object.
    paths : sequence of sequence of str
        The names that lead to each value; where there is none, null stands in the list.
    """
    if db.engine.dialect.name == "postgresql":
        json = cast(column, JSON)
        return cast(func.json_build_array(*(func.json_extract_path(json, *path) for path in paths)), String)
    named = ["$" + "".join(f'."{name}"' for name in path) for path in paths]
    # Of a single path SQLite gives the bare value, of several a list with each as it was written.
    return func.json_extract(column, *named, *(named if len(named) == 1 else ()))


def insert_many(connection: Connection, table: FromClause, rows: Sequence[Mapping[str, object]]) -> None:
    """Insert plain rows, past what SQLAlchemy does for each of them; all have the keys of the first.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    table : Table
        Its columns must need no conversion.
    rows : list of dict
        At least one, by column name.
    """
    compiled = _insert(table, connection.dialect, tuple(rows[0]))
    if compiled.positional:
        values = itemgetter(*(compiled.positiontup or []))
        connection.exec_driver_sql(compiled.string, [values(row) for row in rows])
    else:
        connection.exec_driver_sql(compiled.string, rows)


@cache
def _insert(table: FromClause, dialect: Dialect, columns: tuple[str, ...]) -> SQLCompiler:
    """The statement as the dialect writes it, made once."""
    return insert(typed("TableClause", table)).compile(dialect=dialect, column_keys=list(columns))
