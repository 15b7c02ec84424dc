"""The history of the tables: up, down, and equal to what the code says."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, NullPool, create_engine, inspect, text
from tests.support import postgres
from tests.support.back_ends import there

from spanwalk.storage.database import prepare_sqlite
from spanwalk.storage.migrating import check, downgrade, upgrade
from spanwalk.storage.tables import Base


@pytest.fixture(params=["SQLite", "PostgreSQL"])
def engine(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    """An empty database."""
    if request.param == "PostgreSQL":
        there(postgres.cluster)
        made = create_engine(postgres.cluster().new_database())
    else:
        made = create_engine(f"sqlite:///{tmp_path / 'history.db'}")
    if made.dialect.name == "sqlite":
        prepare_sqlite(made)
    yield made
    made.dispose()


def test_the_history_ends_at_the_tables_of_the_code(engine: Engine) -> None:
    upgrade(engine)
    check(engine)
    assert set(inspect(engine).get_table_names()) == {*Base.metadata.tables, "alembic_version"}


def test_the_history_runs_down_and_up_again(engine: Engine) -> None:
    upgrade(engine)
    downgrade(engine, "base")
    assert inspect(engine).get_table_names() == ["alembic_version"]
    upgrade(engine)
    check(engine)


def test_running_it_again_changes_nothing(engine: Engine) -> None:
    upgrade(engine)
    upgrade(engine)
    check(engine)


def test_every_constraint_has_a_name() -> None:
    for table in Base.metadata.tables.values():
        assert all(constraint.name for constraint in table.constraints), table.name


def test_sqlite_is_durable(tmp_path: Path) -> None:
    engine = create_engine(f"sqlite:///{tmp_path / 'durable.db'}", poolclass=NullPool)
    prepare_sqlite(engine)
    with engine.connect() as connection:
        assert connection.execute(text("PRAGMA journal_mode")).scalar() == "wal"
        assert connection.execute(text("PRAGMA synchronous")).scalar() == 2  # FULL
        assert connection.execute(text("PRAGMA foreign_keys")).scalar() == 1
