"""Bring a database up to the tables of this version, while other servers go on taking pushes in."""

from __future__ import annotations

import logging
import time
from functools import cache
from pathlib import Path
from typing import Literal

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError

FOLDER = Path(__file__).parent / "migrations"
PAUSE_S = 0.5
TRIES = 40
LOCKED_OUT, DEADLOCK = "55P03", "40P01"
"""PostgreSQL's codes: a lock did not come in time; two waited for each other."""
TablesState = Literal["ok", "older", "newer", "none"]
log = logging.getLogger("spanwalk.migrating")


def migrations_config(engine: Engine | None = None, url: str | None = None) -> Config:
    """Alembic's configuration for this package's history."""
    config = Config()
    config.set_main_option("script_location", str(FOLDER))
    config.attributes["engine"] = engine
    config.attributes["url"] = url
    return config


def upgrade(engine: Engine, revision: str = "head") -> None:
    """Run the migrations that the database has not seen, each in a transaction of its own.

    A migration that must lock a table waits a few seconds for it and then steps back: whoever pushes meanwhile would
    stand behind it in the line. It tries again until nobody is in its way. Where the database has seen them all, it is
    asked nothing but that.

    Raises
    ------
    OperationalError
        Somebody was in its way the whole time, or the database does not answer.
    """
    if revision == "head" and is_current(engine):
        return
    for left in reversed(range(TRIES)):
        try:
            command.upgrade(migrations_config(engine), revision)
            return
        except OperationalError as error:
            if getattr(error.orig, "sqlstate", None) not in (LOCKED_OUT, DEADLOCK) or not left:
                raise
            log.warning("a migration stepped back before others who use its tables; it is tried again")
            time.sleep(PAUSE_S)


def revision_of(engine: Engine) -> str | None:
    """The last migration that a database has seen."""
    with engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def tables_state(engine: Engine) -> TablesState:
    """How the database's tables stand to this version: its own, older, those of a newer one, or none yet."""
    revision = revision_of(engine)
    if revision is None:
        return "none"
    newest, known = _history(FOLDER)
    if revision == newest:
        return "ok"
    return "older" if revision in known else "newer"


def newest_revision() -> str:
    """The last migration of this version."""
    return _history(FOLDER)[0]


@cache
def _history(folder: Path) -> tuple[str, frozenset[str]]:
    """The last revision of a folder of migrations, and all of them."""
    script = ScriptDirectory(str(folder))
    newest = script.get_current_head()
    assert newest is not None
    return newest, frozenset(each.revision for each in script.walk_revisions())


def is_known(revision: str) -> bool:
    """Whether this version has a migration; not, if a newer version made it."""
    return revision in _history(FOLDER)[1]


def is_current(engine: Engine) -> bool:
    """Whether the database has seen all migrations of this version."""
    return tables_state(engine) == "ok"


def downgrade(engine: Engine, revision: str) -> None:
    """Run migrations backwards to a revision."""
    command.downgrade(migrations_config(engine), revision)


def check(engine: Engine) -> None:
    """Raise if the tables in code and in the migrated database differ."""
    command.check(migrations_config(engine))
