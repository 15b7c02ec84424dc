"""The two ways to keep what Spanwalk knows, and settings for a new, empty one of each."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.support import machine, object_store, postgres

ONE_MACHINE = "SQLite and a folder"
SCALED_OUT = "PostgreSQL and a bucket"
BOTH = (ONE_MACHINE, SCALED_OUT)


def settings(back_end: str, migrated: bool = False) -> dict[str, str]:
    """The environment of a server on a new back end; `migrated`: a database of its own has its tables already.

    Raises
    ------
    machine.MachineLacks
        It needs a server that is not on this machine; says what to install.
    """
    if back_end == ONE_MACHINE:
        return {}
    cluster = postgres.cluster()
    database = cluster.migrated_database() if migrated else cluster.new_database()
    return {"SPANWALK_DATABASE_URL": database, **object_store.store().settings()}


def on_both() -> Any:
    """A fixture `back_end` for a module or folder whose tests are to run on both."""

    @pytest.fixture(scope="module", params=BOTH, name="back_end")
    def back_end(request: pytest.FixtureRequest) -> str:
        if request.param == SCALED_OUT:
            there(postgres.cluster, object_store.store)
        return str(request.param)

    return back_end


def there(*servers: Callable[[], Any]) -> None:
    """Start what a test needs beside it; where it is not on this machine, say what to install, and skip."""
    try:
        for server in servers:
            server()
    except machine.MachineLacks as lacks:
        if machine.needs_everything():
            raise
        pytest.skip(str(lacks))
