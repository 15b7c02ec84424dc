"""The server's share: what a push costs beside the bare database."""

from __future__ import annotations

import gzip
import json
import sqlite3
import tempfile
import uuid
from pathlib import Path
from typing import Any

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


def _bare_insert(folder: Path, operations: list[dict[str, Any]]) -> float:
    """Raw `sqlite3` executemany of the same operations and of one record row each, WAL, synchronous=FULL, 1,000 a commit."""
    bodies = [(op["id"], n, json.dumps(op), "{}") for n, op in enumerate(operations)]
    records = [(op["record"], op["type"], n, json.dumps({"identity": op["to"]})) for n, op in enumerate(operations)]
    path = folder / f"{uuid.uuid4()}.db"
    with sqlite3.connect(path, isolation_level=None) as db:
        db.execute("pragma journal_mode=WAL")
        db.execute("pragma synchronous=FULL")
        db.execute("create table operation (id text primary key, seq int, body text, answer text)")
        db.execute("create table record (id text primary key, type text, seq int, facets text)")

        def insert() -> None:
            for start in range(0, len(bodies), BATCH):
                db.execute("begin immediate")
                db.executemany("insert into operation values (?, ?, ?, ?)", bodies[start : start + BATCH])
                db.executemany("insert into record values (?, ?, ?, ?)", records[start : start + BATCH])
                db.execute("commit")

        return milliseconds(insert)


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


def push_rooms(client: Client, site: str) -> float:
    """Push 5,000 new rooms into the site's first floor."""
    person = client.get("/api/session")["person"]["id"]
    pulled = client.get(f"/api/sites/{site}/pull?since=0&limit=1000")
    floor = next(r["id"] for r in pulled["records"] if r["type"] == "floor")
    return push_batches(client, site, pulled, _operations(person, floor))


def push_of_5000_operations() -> Figure:
    """Five pushes of 1,000 operations over HTTP, gzip, against raw inserts of the same rows."""
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder) / "data").start()
        try:
            client = Client(server.url, "manager")
            site = client.site_id()
            rows = _operations(str(uuid.uuid4()), str(uuid.uuid4()))
            ours, bare = in_turns(lambda: push_rooms(client, site), lambda: _bare_insert(Path(folder), rows), RUNS)
        finally:
            server.stop()
    return Figure("push of 5,000 operations", ours, "raw sqlite3 executemany of the same rows", bare, 3.0, RUNS)
