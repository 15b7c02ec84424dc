"""Alembic's entry: runs the history on the engine it is handed."""

from collections.abc import Iterator
from contextlib import contextmanager

from alembic import context
from sqlalchemy import Connection, create_engine, text

from spanwalk.storage.tables import Base

attributes = context.config.attributes
engine = attributes.get("engine") or create_engine(attributes["url"])

LOCK = 5017  # any number, as long as it is always this one
WAIT_FOR_OTHERS = "10min"
WAIT_FOR_A_TABLE = "3s"


@contextmanager
def one_at_a_time(connection: Connection) -> Iterator[None]:
    """Several servers may start in the same moment: one of them migrates. A table that is in use is waited for briefly."""
    if connection.dialect.name != "postgresql":
        yield
        return
    _run(connection, f"SET lock_timeout = '{WAIT_FOR_OTHERS}'", f"SELECT pg_advisory_lock({LOCK})")
    _run(connection, f"SET lock_timeout = '{WAIT_FOR_A_TABLE}'")
    try:
        yield
    finally:
        connection.rollback()
        _run(connection, "RESET lock_timeout", f"SELECT pg_advisory_unlock({LOCK})")


def _run(connection: Connection, *statements: str) -> None:
    for statement in statements:
        connection.execute(text(statement))
    connection.commit()


with engine.execution_options(sqlite_begin="BEGIN IMMEDIATE").connect() as connection, one_at_a_time(connection):
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_as_batch=connection.dialect.name == "sqlite",
        transaction_per_migration=True,
    )
    with context.begin_transaction():
        context.run_migrations()
    connection.commit()
