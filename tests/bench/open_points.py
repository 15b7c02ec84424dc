"""How complete a site of 20,000 groups in 200 rooms is, asked of a server that has just started; beside 60 groups and the bare rows."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.planning import completeness, kept_answers
from spanwalk.services.planning.completeness import site_in_short
from spanwalk.services.sync.state import COLUMNS, site_records
from spanwalk.storage.database import reading
from spanwalk.storage.tables import Record
from tests.bench.figure import Figure, milliseconds
from tests.bench.many_groups import _change, highest_mb
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import store
from tests.support.installation import installed

GROUPS, IN_A_ROOM = 20_000, 100
FEW = 60
FIRST_MOST, AGAIN_MOST, CHANGED_MOST = 3.0, 1.5, 3.0
Told = dict[str, Any]


def completeness_of_20000_groups(groups: int = GROUPS) -> list[Figure]:
    """Three figures: the first answer of a server that has just started, the next one, and the one after a change."""
    with tempfile.TemporaryDirectory() as folder:
        few, many = (
            _site(Path(folder) / str(number), number, room) for number, room in ((FEW, 4), (groups, IN_A_ROOM))
        )
        small = _in_a_process(*few)["first_ms"]
        nothing = _in_a_process(*many)
        told = _in_a_process(*many)
        changed = _in_a_process(*many, "changed-before")
    wanted = small + told["read_ms"]
    beside = f"{FEW} groups {small:.0f} ms + one read of the rows {told['read_ms']:.0f} ms"
    notes = (
        f"{told['rows']:,} rows, {told['points']:,} points; the rows with their JSON made values {told['decoded_ms']:.0f} ms",
        f"from nothing, once for a site: {nothing['first_ms'] / 1000:.1f} s, memory at its highest {nothing['mb']} MB",
        f"a server started after a change: {changed['first_ms'] / 1000:.1f} s; memory at its highest {told['mb']} MB",
    )
    name = f"completeness of {groups:,} groups"
    return [
        Figure(f"{name}, first", told["first_ms"], beside, wanted, FIRST_MOST, 1, notes),
        Figure(f"{name}, again", told["again_ms"], beside, wanted, AGAIN_MOST, 1, ()),
        Figure(f"{name}, after a count changed", told["changed_ms"], beside, wanted, CHANGED_MOST, 1, ()),
    ]


def _site(folder: Path, groups: int, in_a_room: int) -> tuple[Path, str]:
    with installed(folder) as installation:
        store(installation, invented_site(groups, in_a_room=in_a_room))
        return folder, installation.site


def _in_a_process(folder: Path, site: str, *how: str) -> Told:
    command = [sys.executable, "-m", "tests.bench.open_points", str(folder), site, *how]
    told: Told = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    return told


def measure(folder: Path, site: str, *how: str) -> Told:
    """Ask as a page does, in this process: first, again, and after one count has changed; times [ms]."""
    with create_app(read_settings({}, folder)).app_context():
        if how:
            _change(site, _a_group(site))
        kept_answers.program_fingerprint()
        told: Told = {"first_ms": _asked(site), "again_ms": _asked(site)}
        with reading() as session:
            told["read_ms"] = milliseconds(lambda: told.update(rows=len(_rows(session, site))))
            told["decoded_ms"] = milliseconds(lambda: site_records(session, site))
            told["points"] = completeness.site_in_short(session, site)["points"]
        _change(site, _a_group(site))
        told["changed_ms"] = _asked(site)
        return told | {"mb": highest_mb()}


def _a_group(site: str) -> str:
    with reading() as session:
        query = select(Record.id).where(Record.site == site, Record.type == "group").order_by(Record.id)
        return session.execute(query.limit(1)).scalar_one()


def _rows(session: Session, site: str) -> list[Any]:
    return list(session.execute(select(*COLUMNS).where(Record.site == site).order_by(Record.seq)))


def _asked(site: str) -> float:
    def ask() -> None:
        with reading() as session:
            site_in_short(session, site)

    return milliseconds(ask)


if __name__ == "__main__":
    print(json.dumps(measure(Path(sys.argv[1]), *sys.argv[2:])))
