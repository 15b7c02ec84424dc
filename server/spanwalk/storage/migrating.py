"""Bring a database up to the tables of this version."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine

FOLDER = Path(__file__).parent / "migrations"


def migrations_config(engine: Engine | None = None, url: str | None = None) -> Config:
    """Alembic's configuration for this package's history."""
    config = Config()
    config.set_main_option("script_location", str(FOLDER))
    config.attributes["engine"] = engine
    config.attributes["url"] = url
    return config


def upgrade(engine: Engine, revision: str = "head") -> None:
    """Run the migrations that the database has not seen."""
    command.upgrade(migrations_config(engine), revision)


def newest_revision() -> str:
    """The newest migration of this version."""
    return str(ScriptDirectory.from_config(migrations_config()).get_current_head())


def is_known(revision: str) -> bool:
    """Whether this version has a migration; not, if a newer version made it."""
    return revision in {each.revision for each in ScriptDirectory.from_config(migrations_config()).walk_revisions()}


def is_current(engine: Engine) -> bool:
    """Whether the database has seen all migrations of this version."""
    with engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision() == newest_revision()


def downgrade(engine: Engine, revision: str) -> None:
    """Run migrations backwards to a revision."""
    command.downgrade(migrations_config(engine), revision)


def check(engine: Engine) -> None:
    """Raise if the tables in code and in the migrated database differ."""
    command.check(migrations_config(engine))
