"""What the audit costs a push: whole pushes of 1,000 with it and without it, in turns, in one process without HTTP."""

from __future__ import annotations

import tempfile
import uuid
from pathlib import Path
from unittest import mock

import orjson

from spanwalk.services.people.members import Member
from spanwalk.services.sync import writing
from spanwalk.services.sync.incoming import parse_push
from spanwalk.services.sync.pushing import push
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.bench.server import _operations
from tests.support.installation import Installation, installed

BATCH = 1000
RUNS = 15
MOST = 1.15


def push_with_and_without() -> Figure:
    """Milliseconds of a push of new rooms, with its entry in the audit, against the same without."""
    with tempfile.TemporaryDirectory() as folder, installed(Path(folder) / "data") as here:
        floor = here.floor()
        member = Member(here.people["surveyor"], "surveyor", here.site, "surveyor")

        def whole() -> float:
            body = _body(here, floor)
            return milliseconds(lambda: push(member, parse_push(body)))

        def without() -> float:
            with mock.patch.object(writing, "vouch", _no_entry):
                return whole()

        with here.app.app_context():
            for _ in range(3):
                whole()
            ours, reference = in_turns(whole, without, RUNS)
    return Figure("a push of 1,000 with its audit", ours, "the same without", reference, MOST, RUNS)


def _no_entry(_session: object, _site: str, rows: list[dict[str, object]], *_more: object) -> None:
    for row in rows:
        row["entry"] = None


def _body(here: Installation, floor: str) -> bytes:
    device = str(uuid.uuid4())
    operations = _operations(here.people["surveyor"], floor, device, BATCH)
    return orjson.dumps({"device": device, "epoch": "0badcafe", "operations": operations})
