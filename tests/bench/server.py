"""The server's share: what a push costs beside the bare database."""

from __future__ import annotations

import gzip
import json
import sqlite3
import tempfile
import uuid
from contextlib import closing
from pathlib import Path
from typing import Any

from spanwalk.storage.database import SQLITE_PRAGMAS
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.support.server import Client, Server

OPERATIONS = 5000
BATCH = 1000
RUNS = 5


def _operations(person: str, floor: str) -> list[dict[str, Any]]:
    """5,000 new rooms of one floor, as a phone of its own would send them."""
    device = str(uuid.uuid4())
    return [
        {
            "id": f"{device}.0badcafe.{n}",
            "by": person,
            "record": str(uuid.uuid4()),
            "type": "room",
            "facet": "identity",
            "kind": "set",
            "seen": None,
            "from": None,
            "to": {"parent": floor, "number": f"B{n}", "name": "Room of a measurement"},
            "settles": [],
            "device_time": "2026-01-01T00:00:00Z",
            "spec": 1,
        }
        for n in range(1, OPERATIONS + 1)
    ]


def _rows_of(database: Path, device: str) -> dict[str, list[tuple[Any, ...]]]:
    """What the push of a device left in the tables `operation` and `record`."""
    with sqlite3.connect(f"file:{database}?mode=ro", uri=True) as db:
        operations = db.execute("select * from operation where device = ?", (device,)).fetchall()
        names = [column[1] for column in db.execute("pragma table_info(operation)")]
        newest = {row[names.index("record")] for row in operations}
        records = [row for row in db.execute("select * from record") if newest.intersection(row[:2])]
    return {"operation": operations, "record": records}


def _bare_insert(database: Path, before: Path, device: str) -> float:
    """Raw `sqlite3` executemany of the very rows of a push into the database as it stood before that push.

    The same tables, indexes and pragmas, 1,000 rows a commit: an empty database would flatter the reference,
    whose indexes would be small enough to stay shallow.
    """
    rows = _rows_of(database, device)
    assert all(len(found) == OPERATIONS for found in rows.values()), {name: len(found) for name, found in rows.items()}
    with closing(sqlite3.connect(before, isolation_level=None)) as bare:
        for pragma in SQLITE_PRAGMAS:
            bare.execute("pragma " + pragma)

        def insert() -> None:
            for start in range(0, OPERATIONS, BATCH):
                bare.execute("begin immediate")
                for table, found in rows.items():
                    places = ", ".join("?" * len(found[0]))
                    bare.executemany(f"insert into {table} values ({places})", found[start : start + BATCH])
                bare.execute("commit")

        return milliseconds(insert)


def _copy_of(database: Path) -> Path:
    copy = database.parent / f"{uuid.uuid4()}.db"
    with closing(sqlite3.connect(database)) as live, closing(sqlite3.connect(copy)) as other:
        live.backup(other)
    return copy


def push_batches(client: Client, site: str, pulled: dict[str, Any], operations: list[dict[str, Any]]) -> float:
    """Send the operations, 1,000 a push, gzip; milliseconds from the first byte to the last answer."""
    envelope = {
        "device": operations[0]["id"].split(".")[0],
        "epoch": "0badcafe",
        "incarnation": pulled["incarnation"],
        "scope": pulled["scope"],
        "unsent": {"operations": 0, "photos": 0},
    }
    batches = [operations[start : start + BATCH] for start in range(0, len(operations), BATCH)]
    bodies = [gzip.compress(json.dumps({**envelope, "operations": batch}).encode(), 1) for batch in batches]

    def send() -> None:
        for body in bodies:
            status, answer = client.call(
                "POST", f"/api/sites/{site}/push", raw=body, Content_Type="application/json", Content_Encoding="gzip"
            )
            assert status == 200, answer
            assert all(a["result"] == "applied" for a in answer["answers"]), answer["answers"][0]

    return milliseconds(send)


def push_rooms(client: Client, site: str) -> tuple[str, float]:
    """Push 5,000 new rooms into the site's first floor; the device and the milliseconds."""
    person = client.get("/api/session")["person"]["id"]
    pulled = client.get(f"/api/sites/{site}/pull?since=0&limit=1000")
    floor = next(r["id"] for r in pulled["records"] if r["type"] == "floor")
    operations = _operations(person, floor)
    return operations[0]["id"].split(".")[0], push_batches(client, site, pulled, operations)


def push_of_5000_operations() -> Figure:
    """Five pushes of 1,000 operations over HTTP, gzip, against raw inserts of the same rows."""
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder) / "data").start()
        try:
            client = Client(server.url, "manager")
            site = client.site_id()
            database = server.data / "spanwalk.db"
            last: list[tuple[Path, str]] = []

            def push() -> float:
                before = _copy_of(database)
                device, took = push_rooms(client, site)
                last.append((before, device))
                return took

            ours, bare = in_turns(push, lambda: _bare_insert(database, *last[-1]), RUNS)
        finally:
            server.stop()
    return Figure("push of 5,000 operations", ours, "raw sqlite3 executemany of the same rows, same database", bare, 3.0, RUNS)
