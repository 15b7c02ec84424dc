"""The histories would notice: a fault planted in the shipped phone or server is caught, each at the seed that found it.

`python -m tests.sync.test_planted_faults` looks for seeds anew and prints them.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tests.support.server import Server
from tests.sync.histories import run_histories

MOST_SEEDS, AT_ONCE = 60, 4


@dataclass(frozen=True)
class Fault:
    """What goes wrong, by texts of the shipped modules and what stands in their place, and the seed that catches it.

    `phone` are `(file, from, to)`, `server` are `(module, from, to)`.
    """

    name: str
    seed: int
    phone: tuple[tuple[str, str, str], ...] = ()
    server: tuple[tuple[str, str, str], ...] = ()


FAULTS = [
    Fault(
        "naive cursor",
        17,
        phone=(
            (
                "storage/pulls.js",
                "cursor: page.next,\n    firstHead: page.more ? first : 0,",
                "cursor: page.head,\n    firstHead: 0,",
            ),
        ),
    ),
    Fault(
        "ack clears the record",
        1,
        phone=(
            (
                "storage/answers.js",
                "    if (each.length > 0) plainStore(tx, 'answers').put(",
                "    for (const { n, record } of each.length > 0 ? await waitingIn(tx) : [])\n"
                "      if (batch.some((sent) => sent.record === record) && !batch.some((sent) => sent.n === n))\n"
                "        each.push({ ...each[0], n });\n"
                "    if (each.length > 0) plainStore(tx, 'answers').put(",
            ),
        ),
    ),
    Fault("coalesce after send", 4, phone=(("storage/saving.js", "    n > phone.sentTo &&\n", ""),)),
    Fault(
        "retry without id",
        8,
        phone=(
            (
                "sync/push.js",
                "    if (!oldest) return false;\n",
                "    if (!oldest) return false;\n"
                "    if (oldest.n <= (await this.storage.phone()).sentTo) await takeNewName(this.storage);\n",
            ),
            (
                "storage/outbox.js",
                "id: names[op.id], seen, formerly: op.formerly ?? { id: op.id, hash } };",
                "id: names[op.id], seen };",
            ),
        ),
    ),
    Fault(
        "tombstone dropped",
        1,
        server=(
            (
                "spanwalk.services.sync.pulling",
                "floor = head if asked.since == 0 else asked.first_head",
                "floor = head",
            ),
        ),
    ),
    Fault(
        "conflict closed unseen",
        1,
        server=(
            (
                "spanwalk.sync.decide",
                "named = self._close(state, operation.settles)\n"
                "        own = self._close_own(state, operation.facet, lost)\n"
                "        kept = _complete",
                'named = self._close(state, [each["id"] for each in state.conflicts])\n'
                "        own = self._close_own(state, operation.facet, lost)\n"
                "        kept = _complete",
            ),
        ),
    ),
    Fault(
        "sum kept without conflicts",
        1,
        server=(
            (
                "spanwalk.services.sync.sums",
                "(state.id, state.removed, facets, conflicts)",
                "(state.id, state.removed, facets, [])",
            ),
        ),
    ),
]


@contextmanager
def planted_server(fault: Fault, demo_data: Path, folder: Path) -> Iterator[Server]:
    """A server with the fault in it, over a copy of the demo's data."""
    shutil.copytree(demo_data, folder / "data")
    plants = [dict(zip(("module", "from", "to"), each, strict=True)) for each in fault.server]
    server = Server(
        folder / "data", module="tests.support.planted", env={"SPANWALK_TEST_PLANT": json.dumps(plants)}
    ).start()
    try:
        yield server
    finally:
        server.stop()


def run_with(fault: Fault, server: Server, seed: int, count: int) -> list[dict[str, Any]]:
    plants = [dict(zip(("file", "from", "to"), each, strict=True)) for each in fault.phone]
    return run_histories(server, seed, count, plant=plants)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_a_planted_fault_is_caught(fault: Fault, server: Server, demo_data: Path, tmp_path: Path) -> None:
    if not fault.server:
        found = run_with(fault, server, fault.seed, 1)
    else:
        with planted_server(fault, demo_data, tmp_path) as planted:
            found = run_with(fault, planted, fault.seed, 1)
    assert found[0]["wrong"], "the planted fault went unnoticed"
    assert not found[0]["wrong"][0].startswith("it broke"), found[0]["wrong"]


def test_a_planted_fault_whose_place_is_gone_is_an_error(server: Server) -> None:
    gone = Fault("gone", 1, phone=(("storage/saving.js", "no such text", ""),))
    with pytest.raises(AssertionError, match=r"not once in storage/saving\.js"):
        run_with(gone, server, 1, 1)


def hunt() -> None:
    """Print the first seed that catches each fault."""
    with tempfile.TemporaryDirectory() as folder:
        demo = Path(folder) / "demo"
        Server(demo).start().stop()
        for number, fault in enumerate(FAULTS):
            with planted_server(fault, demo, Path(folder) / str(number)) as server:
                caught = next(_caught(fault, server), None)
            print(fault.name, *(caught or ("not caught",)), flush=True)


def _caught(fault: Fault, server: Server) -> Iterator[tuple[int, str, str]]:
    for first in range(1, MOST_SEEDS, AT_ONCE):
        for one in run_with(fault, server, first, AT_ONCE):
            if one["wrong"]:
                yield one["seed"], one["kind"], one["wrong"][0][:160]


if __name__ == "__main__":
    hunt()
