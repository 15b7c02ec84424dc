"""The shipped page code, several phones of it in Node, against a real server over HTTP.

Messages are lost, doubled and cut; phones crash between any two durable writes, are copied, and have wrong clocks.
The ledger of what was ticked is kept by the test. `python -m tests.sync.test_phones_on_a_real_server 500` runs more.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from tests.support import machine
from tests.support.server import Client, Server

SURVEYORS = ("surveyor", "second surveyor", "manager")
RUNNER = Path(__file__).parent / "support" / "run_histories.js"


def new_sites(server: Server, count: int) -> list[str]:
    """Sites with nothing in them, and the surveyors on each."""
    owner = Client(server.url, "owner")
    sites = []
    for number in range(count):
        status, site = owner.call("POST", "/api/sites", {"name": f"History {number}"})
        assert status == 201, site
        for name in SURVEYORS:
            role = "manager" if name == "manager" else "surveyor"
            status, answer = owner.call(
                "PUT", f"/api/sites/{site['id']}/people", {"name": name, "role": role}
            )
            assert status == 200, answer
        sites.append(site["id"])
    return sites


def run_histories(server: Server, seed: int, count: int, steps: int = 120) -> list[dict[str, Any]]:
    """Run histories, each on a site of its own; what each found."""
    machine.page_tools()
    clients = [Client(server.url, name) for name in SURVEYORS]
    told = {
        "base": server.url,
        "phones": [
            {"person": client.get("/api/session")["person"]["id"], "cookie": client.cookie}
            for client in clients
        ],
        "sites": new_sites(server, count),
        "seed": seed,
        "steps": steps,
        "faults": True,
    }
    run = subprocess.run(
        [machine.node(), str(RUNNER)],
        input=json.dumps(told),
        capture_output=True,
        text=True,
        timeout=60 + 30 * count,
    )
    assert run.returncode == 0, run.stderr[-3000:]
    found: list[dict[str, Any]] = json.loads(run.stdout.splitlines()[-1])
    return found


@pytest.mark.parametrize("seed", [1, 101, 201])
def test_no_ticked_value_is_lost_whatever_happens_on_the_way(server: Server, seed: int) -> None:
    """Every value ticked is current, or superseded by one who had seen it, or in an open conflict; digests are equal."""
    found = run_histories(server, seed, count=4)
    assert [one for one in found if one["wrong"]] == []
    assert sum(one["counts"]["ticks"] for one in found) > 100
    assert sum(one["counts"]["faults"] for one in found) > 20, "a run without faults shows nothing"


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        running = Server(Path(folder) / "data").start()
        try:
            many, first = int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1000
            totals: dict[str, int] = {}
            for start in range(first, first + many, 20):
                for one in run_histories(running, start, min(20, first + many - start)):
                    for name, number in {
                        **one["counts"],
                        "conflicts": one["conflicts"],
                        "histories": 1,
                    }.items():
                        totals[name] = totals.get(name, 0) + number
                    if one["wrong"]:
                        print("seed", one["seed"], one["wrong"])
            print(totals)
        finally:
            running.stop()
