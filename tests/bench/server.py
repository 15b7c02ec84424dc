"""The server's share: what a push costs beside the bare database."""

from __future__ import annotations

import gzip
import json
import os
import sqlite3
import statistics
import tempfile
import time
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from pathlib import Path
from threading import Barrier
from typing import Any

import psycopg
from psycopg import sql

from spanwalk.storage.database import SQLITE_PRAGMAS
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.support import postgres
from tests.support.server import Client, Server

OPERATIONS = 5000
BATCH = 1000
RUNS = 5


def _operations(person: str, floor: str, device: str | None = None, count: int = OPERATIONS) -> list[dict[str, Any]]:
    """New rooms of one floor, as a phone of its own would send them."""
    device = device or str(uuid.uuid4())
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
            "spec": 2,
        }
        for n in range(1, count + 1)
    ]


def _rows_of(database: Path, device: str) -> dict[str, list[tuple[Any, ...]]]:
    """What the push of a device left in the tables `operation` and `record`."""
    with sqlite3.connect(f"file:{database}?mode=ro", uri=True) as db:
        operations = db.execute("select * from operation where device = ?", (device,)).fetchall()
        names = [column[1] for column in db.execute("pragma table_info(operation)")]
        newest = {row[names.index("record")] for row in operations}
        records = [row for row in db.execute("select * from record") if newest.intersection(row[:2])]
    return {"operation": operations, "record": records}


def _bare_insert(database: Path, before: Path, device: str) -> tuple[float, float]:
    """Raw `sqlite3` executemany of the very rows of a push into the database as it stood before that push.

    The same tables, indexes and pragmas, 1,000 rows a commit: an empty database would flatter the reference,
    whose indexes would be small enough to stay shallow. Wall and processor time [ms].
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

        start = time.process_time()
        return milliseconds(insert), (time.process_time() - start) * 1000


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


def head_of(client: Client, site: str) -> int:
    """The newest sequence of a site."""
    _, told = client.call("GET", f"/api/sites/{site}/pull?since={2**52}")
    return int(told["head"])


def newest_rooms(client: Client, site: str, count: int) -> list[dict[str, Any]]:
    """The rooms that were pushed last, as pulled."""
    page = client.get(f"/api/sites/{site}/pull?since={head_of(client, site) - count}")
    return list(page["records"])


def rename(client: Client, site: str, rooms: list[dict[str, Any]]) -> None:
    """Give each room another name, as a phone of its own that has seen the last one; they are changed in place."""
    person, device = client.get("/api/session")["person"]["id"], str(uuid.uuid4())
    operations = []
    for number, room in enumerate(rooms, 1):
        held = room["facets"]["identity"]
        value = held["value"] | {"name": f"Named by {device[:8]}"}
        [made] = _operations(person, value["parent"], device, 1)
        made |= {"id": f"{device}.0badcafe.{number}", "record": room["id"], "seen": held["op"], "to": value}
        operations.append(made)
        room["facets"]["identity"] = {"op": made["id"], "value": value}
    push_batches(client, site, {"incarnation": None, "scope": None}, operations)


def push_of_5000_operations() -> list[Figure]:
    """Five pushes of 1,000 operations over HTTP, gzip, against raw inserts of the same rows; wall and processor time."""
    used: list[tuple[float, float]] = []
    with _serving() as (server, client, site):
        database = server.data / "spanwalk.db"
        assert server.process is not None
        pid = server.process.pid
        last: list[tuple[Path, str]] = []

        def push() -> float:
            before, start = _copy_of(database), _processor_ms(pid)
            device, took = push_rooms(client, site)
            used.append((_processor_ms(pid) - start, 0.0))
            last.append((before, device))
            return took

        def bare_insert() -> float:
            took, processor = _bare_insert(database, *last[-1])
            used[-1] = (used[-1][0], processor)
            return took

        ours, bare = in_turns(push, bare_insert, RUNS)
    reference = "raw sqlite3 executemany of the same rows, same database"
    ours_used, bare_used = (statistics.median(part) for part in zip(*used, strict=True))
    return [
        Figure("push of 5,000 operations", ours, reference, bare, 3.0, RUNS),
        Figure("push of 5,000, the server's processor time", ours_used, reference, bare_used, 3.0, RUNS),
    ]


def _processor_ms(pid: int) -> float:
    """Processor time that a process has used [ms]: what a busy machine cannot stretch."""
    after_name = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    user, system = int(after_name[11]), int(after_name[12])
    return (user + system) * 1000 / os.sysconf("SC_CLK_TCK")


@contextmanager
def _serving(**env: str) -> Iterator[tuple[Server, Client, str]]:
    """The demo's server, its manager signed in, and the site."""
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder) / "data", env=env).start()
        try:
            client = Client(server.url, "manager")
            yield server, client, client.site_id()
        finally:
            server.stop()


# -- PostgreSQL

TABLES = ("operation", "record")


def push_to_postgres() -> Figure:
    """The same push on PostgreSQL that flushes each commit, against psycopg executemany of the same rows."""
    cluster = postgres.cluster()
    cluster.execute("ALTER SYSTEM SET fsync = on")
    cluster.execute("SELECT pg_reload_conf()")
    url = cluster.new_database()
    with _serving(SPANWALK_DATABASE_URL=url) as (_, client, site):
        devices: list[str] = []
        with psycopg.connect(url.replace("+psycopg", ""), autocommit=True) as connection:

            def push() -> float:
                _copy_tables(connection)
                device, took = push_rooms(client, site)
                devices.append(device)
                return took

            ours, bare = in_turns(push, lambda: _bare_insert_postgres(connection, devices[-1]), RUNS)
    return Figure(
        "push of 5,000 operations, PostgreSQL", ours, "raw psycopg executemany of the same rows", bare, 4.0, RUNS
    )


def _copy_tables(connection: psycopg.Connection[Any]) -> None:
    """The tables of a push as they stand, with their rows, indexes and references, in a schema of their own."""
    connection.execute("DROP SCHEMA IF EXISTS bare CASCADE")
    connection.execute("CREATE SCHEMA bare")
    for table in TABLES:
        name = sql.Identifier(table)
        for statement in (
            "CREATE TABLE bare.{} (LIKE public.{} INCLUDING ALL)",
            "INSERT INTO bare.{} SELECT * FROM public.{}",
        ):
            connection.execute(sql.SQL(statement).format(name, name))
        connection.execute(
            sql.SQL("ALTER TABLE bare.{} ADD FOREIGN KEY (site) REFERENCES public.site (id)").format(name)
        )


def _bare_insert_postgres(connection: psycopg.Connection[Any], device: str) -> float:
    """psycopg executemany of the very rows of a push into the copied tables, 1,000 a commit."""
    operations = connection.execute("SELECT * FROM operation WHERE device = %s", (device,)).fetchall()
    records = connection.execute(
        "SELECT * FROM record WHERE id IN (SELECT record FROM operation WHERE device = %s)", (device,)
    ).fetchall()
    rows = dict(zip(TABLES, (operations, records), strict=True))
    assert all(len(found) == OPERATIONS for found in rows.values()), {name: len(found) for name, found in rows.items()}

    def insert() -> None:
        for start in range(0, OPERATIONS, BATCH):
            with connection.transaction(), connection.cursor() as cursor:
                for table, found in rows.items():
                    places = sql.SQL(", ").join([sql.Placeholder()] * len(found[0]))
                    statement = sql.SQL("INSERT INTO bare.{} VALUES ({})").format(sql.Identifier(table), places)
                    cursor.executemany(statement, found[start : start + BATCH])

    return milliseconds(insert)


# -- many phones

WITHOUT_PAUSE, PLAY_S = 12, 10.0


def slowest_push_without_pause() -> Figure:
    """12 phones push ten operations each to one site for 10 s without any pause: the slowest push against the median."""
    with _serving() as (server, client, site):
        person = client.get("/api/session")["person"]["id"]
        pulled = client.get(f"/api/sites/{site}/pull?since=0&limit=1000")
        floor = next(r["id"] for r in pulled["records"] if r["type"] == "floor")
        taken: list[float] = []
        end = time.monotonic() + PLAY_S

        def one(_number: int) -> None:
            phone = Client(server.url)
            phone.cookie = client.cookie
            while time.monotonic() < end:
                taken.append(push_batches(phone, site, pulled, _operations(person, floor, count=10)))

        with ThreadPoolExecutor(WITHOUT_PAUSE) as pool:
            list(pool.map(one, range(WITHOUT_PAUSE)))
    notes = (f"{len(taken)} pushes; 19 of 20 under {sorted(taken)[int(len(taken) * 0.95)]:.0f} ms",)
    median = statistics.median(taken)
    return Figure(
        f"{WITHOUT_PAUSE} phones without pause, slowest push", max(taken), "the median push", median, 10.0, 1, notes
    )


PHONES = 20
OF_EACH = 50


def slowest_of_20_phones() -> Figure:
    """20 phones push 50 operations each in the same moment: the slowest against the median; any error ends it."""
    with _serving() as (server, client, site):
        person = client.get("/api/session")["person"]["id"]
        pulled = client.get(f"/api/sites/{site}/pull?since=0&limit=1000")
        floor = next(r["id"] for r in pulled["records"] if r["type"] == "floor")
        phones = [Client(server.url) for _ in range(PHONES)]
        for phone in phones:
            phone.cookie = client.cookie

        def all_at_once() -> tuple[float, float]:
            together = Barrier(PHONES)

            def one(phone: Client) -> float:
                operations = _operations(person, floor)[:OF_EACH]
                together.wait()
                return push_batches(phone, site, pulled, operations)

            with ThreadPoolExecutor(PHONES) as pool:
                taken = list(pool.map(one, phones))
            return max(taken), statistics.median(taken)

        runs = [all_at_once() for _ in range(RUNS)]
    slowest, median = (statistics.median(part) for part in zip(*runs, strict=True))
    return Figure(
        f"{PHONES} phones at once, the slowest", slowest, "the median phone of the same moment", median, 5.0, RUNS
    )
