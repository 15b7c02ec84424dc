"""Plays a scenario of `scenarios.js` on a site of its own, and does for it what only the server's machine can."""

from __future__ import annotations

import base64
import json
import sqlite3
import subprocess
import tempfile
import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from tests.support import machine
from tests.support.commands import spanwalk
from tests.support.server import PASSWORD, Client, Server
from tests.sync.histories import SURVEYORS, new_sites, small_jpeg

from spanwalk.services.photos.kept import is_whole

PLAY = Path(__file__).parent / "play.js"

Json = Any


def canonical(value: Json) -> str:
    return json.dumps(value, sort_keys=True)


@dataclass
class Log:
    """The server's log of one site: what became of each operation."""

    rows: list[dict[str, Json]]

    def of(self, tick: Mapping[str, Json]) -> list[str]:
        """What became of the operations that say what was ticked."""
        return [
            row["result"]
            for row in self.rows
            if (row["record"], row["facet"]) == (tick["record"], tick["facet"])
            and canonical(row["to"]) == canonical(tick["value"])
        ]

    def not_once(self, ledger: Sequence[Mapping[str, Json]]) -> list[tuple[Mapping[str, Json], list[str]]]:
        """Ticks that were not applied exactly once."""
        found = [(tick, self.of(tick)) for tick in ledger]
        return [(tick, results) for tick, results in found if results != ["applied"]]


@dataclass
class Theatre:
    """A server, its machine, and the site on which the next scenario is played."""

    server: Server
    folder: Path
    site: str = ""
    backups: list[Path] = field(default_factory=list)

    def play(self, scenario: str, **arguments: Json) -> Json:
        """Play a scenario on a new site; what came of it."""
        machine.page_tools()
        (self.site,) = new_sites(self.server, 1)
        clients = {name: Client(self.server.url, name) for name in SURVEYORS}
        people = [
            {"name": name, "person": each.get("/api/session")["person"]["id"], "cookie": each.cookie}
            for name, each in clients.items()
        ]
        told = {
            "scenario": scenario,
            "arguments": arguments,
            "base": self.server.url,
            "site": self.site,
            "people": people,
            "owner": Client(self.server.url, "owner").cookie,
            "password": PASSWORD,
            "jpeg": base64.b64encode(small_jpeg()).decode(),
        }
        with tempfile.TemporaryFile("w+") as errors:
            with subprocess.Popen(
                [machine.node(), str(PLAY)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=errors,
                text=True,
            ) as run:
                result = self._talk(run, told)
            errors.seek(0)
            assert run.returncode == 0, errors.read()[-3000:]
        return result

    def _talk(self, run: subprocess.Popen[str], told: Json) -> Json:
        assert run.stdin is not None
        assert run.stdout is not None
        answer: Json = told
        while answer is not None:
            run.stdin.write(json.dumps(answer) + "\n")
            run.stdin.flush()
            line = run.stdout.readline()
            said = json.loads(line) if line else {}
            if "ask" not in said:
                return said.get("result")
            answer = self._do(said)
        return None

    def _do(self, asked: Mapping[str, Json]) -> Json:
        if asked["ask"] == "kill server":
            threading.Event().wait(asked["after_ms"] / 1000)
            self.server.kill()
        elif asked["ask"] == "start server":
            self.server.start()
        elif asked["ask"] == "backup":
            self.backups.append(self.folder / f"backup-{len(self.backups)}")
            self._command("backup", str(self.backups[-1]))
        elif asked["ask"] == "restore":
            self._command("restore", str(self.backups[-1]), "--replace")
        elif asked["ask"] == "half photos":
            return {"half": self.half_photos()}
        return {}

    def _command(self, *arguments: str) -> None:
        """`spanwalk` beside the running server."""
        done = spanwalk(*arguments, "--data", str(self.server.data), env=self.server.env)
        assert done.returncode == 0, done.stderr

    def photo_files(self) -> list[Path]:
        return [path for path in (self.server.data / "photos").rglob("*") if path.is_file()]

    def half_photos(self) -> list[str]:
        """Photos whose bytes are not those that were put there."""
        names = [path for path in self.photo_files() if not path.name.startswith(".")]
        whole = [path for path in names if path.suffix != ".thumbnail"]
        return [path.name for path in whole if not is_whole(path.name, path.read_bytes())]

    def has_photos(self, wanted: Sequence[str]) -> bool:
        return set(wanted) <= {path.name for path in self.photo_files()}

    def log(self) -> Log:
        """The log of the site on which the last scenario was played."""
        with closing(sqlite3.connect(self.server.data / "spanwalk.db", timeout=30)) as database:
            rows = database.execute(
                "SELECT id, record, facet, result, body FROM operation WHERE site = ?", (self.site,)
            ).fetchall()
        names = ("id", "record", "facet", "result")
        return Log([dict(zip(names, row[:4], strict=True)) | {"to": json.loads(row[4])["to"]} for row in rows])


@pytest.fixture
def theatre(server: Server, tmp_path: Path) -> Theatre:
    """The module's server; each scenario has a site of its own on it."""
    return Theatre(server, tmp_path)


Play = Callable[..., Json]
