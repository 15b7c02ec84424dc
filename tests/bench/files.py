"""What bringing in a table of 20,000 rows costs beside reading the file and pushing the same operations."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import Any

import orjson

from spanwalk.services.files import imports
from spanwalk.services.files.reading import read_file
from spanwalk.storage.database import reading
from spanwalk.storage.tables import FileImport
from tests.bench.figure import Figure
from tests.files.bringing import Bringer, xlsx
from tests.support.installation import Installation, installed

ROWS = 20_000
BATCH = 1000
MOST = 3.0


def import_of_20000_rows() -> Figure:
    """A workbook of 20,000 rooms, from sending it to the last room written, against its reading and a push in 1,000s."""
    heads = ["Floor", "Room number", "Room name", "Length [ft]", "Width [ft]", "Hours lit a year"]
    rows = [[f"Level {n // 500}", f"R{n}", f"Room {n}", 20 + n % 30, 15, 2000 + n % 900] for n in range(ROWS)]
    data = xlsx([heads, *rows])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "rooms.xlsx"
        path.write_bytes(data)
        began = time.perf_counter()
        read_file(path)
        read_s = time.perf_counter() - began
        with installed(Path(folder) / "brought") as here:
            began = time.perf_counter()
            brought = Bringer(here)
            told = brought.bring("rooms", data)
            assert told["state"] == "ready", told
            changes = _changes(here, told["id"])
            assert brought.do(told["id"], "accept")["state"] == "done"
            ours_s = time.perf_counter() - began
        with installed(Path(folder) / "pushed") as here:
            push_s = _pushed(here, changes)
    notes = (f"read {read_s:.1f} s, pushed {push_s:.1f} s; {len(changes)} operations",)
    reference, wanted = "reading the file alone, and a push of the same operations", (read_s + push_s) * 1000
    return Figure("import of 20,000 rows", ours_s * 1000, reference, wanted, MOST, 1, notes)


def _changes(here: Installation, job: str) -> list[dict[str, Any]]:
    with here.app.app_context(), reading() as session:
        row = session.get(FileImport, job)
        assert row is not None
        found: list[dict[str, Any]] = imports.unpacked(row.changes)
    return found


def _pushed(here: Installation, changes: list[dict[str, Any]]) -> float:
    """The same operations as a phone pushes them, each body made beforehand; seconds."""
    made = [here.operation("manager", each["record"], each["type"], each["facet"], each["to"]) for each in changes]
    for each in made:
        if "parent" in each["to"] and each["type"] == "floor":
            each["to"] = each["to"] | {"parent": here.site}
    some = [made[start : start + BATCH] for start in range(0, len(made), BATCH)]
    device = made[0]["id"].split(".")[0]
    bodies = [orjson.dumps({"device": device, "epoch": "0000000e", "operations": each}) for each in some]
    began = time.perf_counter()
    for body in bodies:
        answer = here.call("manager", "POST", "/api/sites/{site}/push", data=body)
        assert answer.status_code == 200
        assert {each["result"] for each in answer.json["answers"]} == {"applied"}
    return time.perf_counter() - began
