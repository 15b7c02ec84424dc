"""Runs random histories of phones (`support/run_histories.js`) against a server, and does for them what only its machine can."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image
from tests.support import machine
from tests.support.server import PASSWORD, Client, Server

from spanwalk.app import create_app
from spanwalk.config import Settings, read_settings
from spanwalk.services.backups.backing_up import back_up
from spanwalk.services.backups.restoring import put_back
from spanwalk.storage.tables import db

SURVEYORS = ("surveyor", "second surveyor", "manager")
SUPPORT = Path(__file__).parent / "support"
RUNNER = SUPPORT / "run_histories.js"
STEPS = 120
AT_ONCE = 20


def small_jpeg() -> bytes:
    """A photo of a few bytes; phones number it to make it unlike the others."""
    out = BytesIO()
    Image.new("RGB", (16, 12), (90, 120, 60)).save(out, "JPEG")
    return out.getvalue()


def new_sites(server: Server, count: int) -> list[str]:
    """Sites with nothing in them, and the surveyors on each."""
    owner = Client(server.url, "owner")
    sites = []
    for number in range(count):
        status, site = owner.call("POST", "/api/sites", {"name": f"History {number}"})
        assert status == 201, site
        for name in SURVEYORS:
            role = "manager" if name == "manager" else "surveyor"
            status, answer = owner.call("PUT", f"/api/sites/{site['id']}/people", {"name": name, "role": role})
            assert status == 200, answer
        sites.append(site["id"])
    return sites


@dataclass
class Machine:
    """The server's machine: where backups of it are made and put back, as `spanwalk backup` and `restore` do."""

    settings: Settings
    folder: Path
    backups: list[Path] = field(default_factory=list)

    def do(self, asked: str) -> None:
        if asked == "backup":
            self.backups.append(self.folder / f"backup-{len(self.backups)}")
            back_up(self.settings, self.backups[-1])
        else:
            put_back(self.settings, self.backups[-1], replace=True)


@contextmanager
def machine_of(server: Server) -> Iterator[Machine]:
    """The server's machine, for commands that run beside it."""
    settings = read_settings(os.environ, server.data)
    folder = Path(tempfile.mkdtemp(prefix="backups-", dir=server.data.parent))
    app = create_app(settings)
    with app.app_context():
        try:
            yield Machine(settings, folder)
        finally:
            db.engine.dispose()
            shutil.rmtree(folder)


def run_histories(
    server: Server,
    seed: int,
    count: int,
    steps: int = STEPS,
    kinds: Sequence[str] | None = None,
    plant: Sequence[Mapping[str, str]] = (),
) -> list[dict[str, Any]]:
    """Run histories, each on a site of its own; what each found.

    Parameters
    ----------
    seed, count, steps : int
        First seed, how many seeds, steps of each.
    kinds : sequence of str, optional
        ``alone``, ``plain``, ``office``, ``everything``, ``careful``; a seed takes the one at its place.
    plant : sequence of mapping
        Faults for the phone's modules, ``{"file", "from", "to"}``.
    """
    machine.page_tools()
    clients = {name: Client(server.url, name) for name in SURVEYORS}
    told = {
        "base": server.url,
        "phones": [
            {
                "name": name,
                "person": client.get("/api/session")["person"]["id"],
                "cookie": client.cookie,
            }
            for name, client in clients.items()
        ],
        "owner": Client(server.url, "owner").cookie,
        "password": PASSWORD,
        "sites": new_sites(server, count),
        "seed": seed,
        "steps": steps,
        "kinds": kinds,
        "jpeg": base64.b64encode(small_jpeg()).decode(),
    }
    command = [machine.node(), "--import", str(SUPPORT / "plant.js"), str(RUNNER)]
    environment = {**os.environ, "PLANT": json.dumps(list(plant))}
    with (
        tempfile.TemporaryFile("w+") as errors,
        machine_of(server) as beside,
        subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=errors,
            text=True,
            env=environment,
        ) as run,
    ):
        found = _talk(run, told, beside)
        run.wait()
        errors.seek(0)
        assert run.returncode == 0, errors.read()[-3000:]
    return found


def _talk(run: subprocess.Popen[str], told: Mapping[str, Any], beside: Machine) -> list[dict[str, Any]]:
    assert run.stdin is not None
    assert run.stdout is not None
    run.stdin.write(json.dumps(told) + "\n")
    run.stdin.flush()
    found: list[dict[str, Any]] = []
    for line in run.stdout:
        said = json.loads(line)
        if "ask" not in said:
            found.append(said)
            continue
        beside.do(said["ask"])
        run.stdin.write("{}\n")
        run.stdin.flush()
    return found


def run_many(many: int, first: int) -> int:
    """Run many histories on a server of their own, print what is wrong and the counts; 1 when something was wrong."""
    wrong = 0
    totals: dict[str, int] = {}
    for start in range(first, first + many, AT_ONCE):
        # a server for each lot: what is set back stays small
        with tempfile.TemporaryDirectory() as folder:
            running = Server(Path(folder) / "data").start()
            try:
                for one in run_histories(running, start, min(AT_ONCE, first + many - start)):
                    counted = {**one["counts"], "conflicts": one["conflicts"], "histories": 1}
                    for name, number in counted.items():
                        totals[name] = totals.get(name, 0) + number
                    if one["wrong"]:
                        wrong += 1
                        print("seed", one["seed"], one["kind"], *one["wrong"][:4], sep="\n  ", flush=True)
            finally:
                running.stop()
        if (start - first) % (AT_ONCE * 10) == 0:
            print(totals, flush=True)
    print(totals)
    return 1 if wrong else 0


def per_thousand_edits(found: Sequence[Mapping[str, Any]]) -> float:
    """Conflicts that histories have opened, for each thousand edits."""
    opened = sum(one["counts"]["opened"] for one in found)
    return 1000 * opened / sum(one["counts"]["edits"] for one in found)
