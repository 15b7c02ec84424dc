"""The demo building on a running server, on each back end."""

from __future__ import annotations

import functools
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from spanwalk.storage.photos import PhotoStore, open_photo_store
from tests.support import back_ends, object_store, postgres
from tests.support.back_ends import ONE_MACHINE, SCALED_OUT
from tests.support.forked_server import planned
from tests.support.server import Client, Server


def started(back_end: str, demo_data: Path, folder: Path, env: Mapping[str, str] | None = None) -> Server:
    """A fresh demo building: a copy of one that was made on the same back end, planned by whoever forks its server."""
    page = env or {}
    if back_end == ONE_MACHINE:
        place = planned(page, demo_data)
        shutil.copytree(demo_data, folder)
        settings: Mapping[str, str] = {}
    else:
        place = planned({**page, **_scaled_out()}, folder)
        settings = _copy_of_scaled_out()
    return Server(folder, env={**settings, **page}, planned=place).start()


def make_demo(server: Server) -> None:
    """Make the demo building on a server, plan it, and stop the server."""
    server.start()
    manager = Client(server.url, "manager")
    manager.get(f"/api/sites/{manager.site_id()}/plan")
    server.stop()


@functools.cache
def _scaled_out() -> dict[str, str]:
    """Settings of a database and a bucket with the demo building in them, made once for the process: copy, never use."""
    settings = back_ends.settings(SCALED_OUT)
    with tempfile.TemporaryDirectory() as folder:
        make_demo(Server(Path(folder, "data"), env=settings))
    return settings


def _copy_of_scaled_out() -> dict[str, str]:
    """Settings of a new database and a new bucket, with what `_scaled_out` has."""
    made = _scaled_out()
    copied = {"SPANWALK_DATABASE_URL": postgres.cluster().copy_of(made["SPANWALK_DATABASE_URL"])}
    copied |= object_store.store().settings()
    into, out_of = _photos(copied), _photos(made)
    for name in out_of.names():
        data = out_of.get(name)
        assert data is not None
        into.put(name, data)
    return copied


def _photos(settings: Mapping[str, str]) -> PhotoStore:
    return open_photo_store(settings["SPANWALK_PHOTO_URL"], settings)


def on_both() -> Any:
    """A fixture `server` for a folder whose tests are to run on both; its fixture `back_end` must stand beside it."""

    @pytest.fixture(scope="module", name="server")
    def server(back_end: str, demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
        running = started(back_end, demo_data, tmp_path_factory.mktemp("server") / "data")
        yield running
        running.stop()

    return server
