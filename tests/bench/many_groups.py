"""A site of 20,000 invented groups planned from scratch by the server's own path, in a process of its own."""

from __future__ import annotations

import json
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from sqlalchemy import select, update

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.planning import plans as planning
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Record, Site
from tests.bench.figure import Figure, milliseconds
from tests.planning.invented_site import invented_site
from tests.planning.naive import enumerate_all
from tests.planning.stored_site import store
from tests.support.installation import installed

GROUPS = 20_000
SAMPLE = 60
"""Groups for which naive enumeration is timed; all of them would take an hour."""
MOST = 0.5
MOST_MB = 400
OWN = {"group": ("identity", "count", "supply", "duty"), "cavity_reading": ("identity",)}
"""Facets of which the distinct inputs are counted; panel and circuit do not count."""


def plan_of_20000_groups() -> Figure:
    """All plans of the site, read from its database and made in one fresh process; and that process's memory at its highest."""
    records = invented_site(GROUPS)
    with tempfile.TemporaryDirectory() as folder:
        with installed(Path(folder) / "data") as installation:
            store(installation, records)
        command = [sys.executable, "-m", "tests.bench.many_groups", str(Path(folder) / "data"), installation.site]
        told = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    notes = (
        f"{len(records):,} records; {distinct(records):,} groups differ in kind, room, count, duty, supply or readings",
        f"planned in {told['plan_ms'] / 1000:.1f} s, {told['plan_cpu_s']} s of processor time, records read from the database in it",
        f"after one count had changed: {told['made_again']} planned again in {told['again_ms'] / 1000:.1f} s, {told['again_cpu_s']} s of processor time",
        f"memory at its highest {told['plan_mb']} MB, {told['start_mb']} MB of it before; {told['again_mb']} MB after planning again; wanted ≤ {MOST_MB}",
        f"reference: {SAMPLE} groups drawn at random, each enumerated twice in the same process, the quicker time scaled to all",
    )
    met = told["plan_mb"] <= MOST_MB
    return Figure(
        f"plan of {told['groups']:,} groups from scratch",
        told["plan_ms"],
        "every combination tried afresh",
        told["naive_ms"],
        MOST,
        1,
        notes,
        met,
    )


def distinct(records: list[dict[str, Any]]) -> int:
    """How many groups would have an input that no other has: kind, room and what was said of and read in the group."""
    readings: dict[str, list[str]] = {}
    for each in records:
        if each["type"] == "cavity_reading":
            readings.setdefault(each["parent"], []).append(json.dumps(each["facets"], sort_keys=True))
    by_id = {each["id"]: each for each in records}
    found = set()
    for each in records:
        if each["type"] == "group":
            room = {
                name: value
                for name, value in by_id[each["parent"]]["facets"].items()
                if name not in ("identity", "walk")
            }
            supply = {
                name: value for name, value in each["facets"]["supply"].items() if name not in ("panel", "circuit")
            }
            said = [each["facets"] | {"supply": supply}, room, sorted(readings.get(each["id"], []))]
            found.add(json.dumps(said, sort_keys=True))
    return len(found)


def measure(folder: Path, site: str) -> dict[str, Any]:
    """Plan a site in this process, then again after one count has changed; times [ms] and memory at its highest [MB]."""
    app = create_app(read_settings({}, folder))
    with app.app_context():
        told: dict[str, Any] = {"start_mb": highest_mb()}
        told["plan_ms"], told["plan_cpu_s"] = _planned(site)
        told["plan_mb"] = highest_mb()
        told["groups"], told["naive_ms"], changed = _naive(site)
        _change(site, changed)
        told["again_ms"], told["again_cpu_s"] = _planned(site)
        with reading() as session:
            told["made_again"] = planning.site_plan(session, site).made
        return told | {"again_mb": highest_mb()}


def _naive(site: str) -> tuple[int, float, str]:
    """How many groups there are, how long naive enumeration of all would take [ms], and one of them."""
    with reading() as session:
        found = planning.site_plan(session, site)
    chosen = random.Random(1).sample(list(found.plans), SAMPLE)
    bodies = [found.body(group_id) for group_id in chosen]
    taken = min(milliseconds(lambda: [enumerate_all(body) for body in bodies]) for _ in range(2))
    return len(found.plans), taken / SAMPLE * len(found.plans), chosen[0]


def _change(site: str, group_id: str) -> None:
    """One fixture more in a group, as a push would leave it."""
    with writing() as session:
        head = session.execute(select(Site.head).where(Site.id == site)).scalar_one() + 1
        here = (Record.site == site, Record.id == group_id)
        facets = json.loads(session.execute(select(Record.facets).where(*here)).scalar_one())
        facets["count"]["value"]["count"] += 1
        session.execute(update(Record).where(*here).values(facets=json.dumps(facets), seq=head))
        session.execute(update(Site).where(Site.id == site).values(head=head))


def _planned(site: str) -> tuple[float, float]:
    """Milliseconds that the site's plan takes, and seconds of processor time."""

    def plan() -> None:
        with reading() as session:
            planning.site_plan(session, site)

    start_s = time.process_time()
    return milliseconds(plan), round(time.process_time() - start_s, 1)


def highest_mb() -> int:
    """The most memory that this process has held [MB], as Linux tells it."""
    line = next(each for each in Path("/proc/self/status").read_text().splitlines() if each.startswith("VmHWM:"))
    return int(line.split()[1]) // 1024


if __name__ == "__main__":
    print(json.dumps(measure(Path(sys.argv[1]), sys.argv[2])))
