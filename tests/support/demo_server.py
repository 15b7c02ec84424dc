"""The demo building on a running server, on each back end."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.support import back_ends
from tests.support.back_ends import ONE_MACHINE
from tests.support.server import Server


def started(back_end: str, demo_data: Path, folder: Path, env: Mapping[str, str] | None = None) -> Server:
    """A fresh demo building: copied where it is a folder, made where it is a database of its own."""
    if back_end == ONE_MACHINE:
        shutil.copytree(demo_data, folder)
    return Server(folder, env={**back_ends.settings(back_end), **(env or {})}).start()


def on_both() -> Any:
    """A fixture `server` for a folder whose tests are to run on both; its fixture `back_end` must stand beside it."""

    @pytest.fixture(scope="module", name="server")
    def server(back_end: str, demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
        running = started(back_end, demo_data, tmp_path_factory.mktemp("server") / "data")
        yield running
        running.stop()

    return server
