"""The archive of a site of 400 rooms, 1,600 groups and 1,200 photos beside hashing and packing the same files alone; its memory."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path
from typing import Any

from sqlalchemy import insert

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.archives.verifying import verify_archive
from spanwalk.services.archives.writing import write_archive
from spanwalk.services.clock import now
from spanwalk.services.photos.kept import Kept, sealed
from spanwalk.services.photos.photos import THUMBNAIL
from spanwalk.services.planning.plans import site_plan
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Photo
from tests.archives import other_reader
from tests.bench.figure import Figure, highest_mb, milliseconds
from tests.handover.some_report import CountedStore
from tests.planning.demo_records import SITE
from tests.planning.invented_site import invented_site
from tests.support.installation import Installation, installed, new_id

ROOMS, GROUPS, PHOTOS = 400, 1600, 1200
MOST, MEMORY_MB_MOST = 12.0, 400
"""Most of the work is the reports, whose own ratio is that of the figure `handover`."""
BATCH = 1000
Record = dict[str, Any]


class WholePhotos(CountedStore):
    """A store in which every photo is there whole, 60 kB each, as well as small."""

    whole = sealed(Kept(os.urandom(60_000)))

    def get(self, name: str) -> bytes | None:
        return super().get(name) if name.endswith(THUMBNAIL) else self.whole


def archive_of_400_rooms() -> Figure:
    """One archive made in a process of its own, verified by us and by the other reader; against its files packed again."""
    with tempfile.TemporaryDirectory() as folder:
        with installed(Path(folder) / "data") as here:
            operations = _filled(here)
            site = here.site
        archive = Path(folder) / "archive.zip"
        command = [sys.executable, "-m", "tests.bench.archive", str(Path(folder) / "data"), site, str(archive)]
        told = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
        bare_ms = milliseconds(lambda: _packed_again(archive, Path(folder) / "again.zip"))
        verdict: list[Any] = []
        verify_ms = milliseconds(lambda: verdict.append(verify_archive(archive)))
        with zipfile.ZipFile(archive) as parts:
            parts.extractall(Path(folder) / "bag")
        (bag,) = (Path(folder) / "bag").iterdir()
        wrong = other_reader.check(bag, told["last"])
        size = archive.stat().st_size
    flaws = len(verdict[0].flaws) + len(wrong)
    return Figure(
        name=f"archive of {ROOMS} rooms",
        ours=told["ms"],
        reference="its files hashed and packed alone",
        of_reference=bare_ms,
        most=MOST,
        runs=1,
        notes=(
            f"{operations:,} operations, {told['photos']:,} photos, {size / 1e6:.0f} MB; reports not made: {told['not_made']}",
            f"{told['mb']:.0f} MB at most in a process of its own, of {MEMORY_MB_MOST} MB ({told['before_mb']:.0f} MB before)",
            f"the plan of its {GROUPS} groups, made before: {told['plan_ms'] / 1000:.1f} s",
            f"verified in {verify_ms / 1000:.1f} s, {flaws} flaws by ours and by the other reader",
        ),
        within=told["mb"] < MEMORY_MB_MOST and flaws == 0 and told["not_made"] == [],
    )


def _filled(here: Installation) -> int:
    """Fill the installation's site as phones would, and release it; how many operations that took."""
    records = invented_site(GROUPS)
    rooms = [each["id"] for each in records if each["type"] == "room"]
    photos = [hashlib.sha256(str(number).encode()).hexdigest() for number in range(PHOTOS)]
    operations = [each for record in records for each in _operations(here, record)]
    operations += [
        here.operation(
            "manager", new_id(), "photo", "identity",
            {"parent": here.site, "subject": rooms[place % len(rooms)], "purpose": "room", "sha256": sha256},
        )
        for place, sha256 in enumerate(photos)
    ]  # fmt: skip
    for start in range(0, len(operations), BATCH):
        for answer in here.push("manager", *operations[start : start + BATCH]):
            assert answer["result"] in ("applied", "same"), answer
    rows = [
        {"site": here.site, "sha256": sha256, "bytes": 60_000, "width_px": 320, "height_px": 240,
         "person": here.people["manager"], "received_at": now()}
        for sha256 in photos
    ]  # fmt: skip
    with here.app.app_context(), writing() as session:
        session.execute(insert(Photo), rows)
    released = _release(here, {"note": ""})
    if released.status_code == 422:
        released = _release(here, {"note": "", "from_memory_seen": released.json["figures"]})
    assert released.status_code == 201, released.text
    return len(operations)


def _release(here: Installation, body: Record) -> Any:
    return here.call("manager", "POST", "/api/sites/{site}/releases", json=body)


def _operations(here: Installation, record: Record) -> list[Record]:
    """What makes a record: its identity first, then its other facets."""
    is_site = record["type"] == "site"
    site = here.site if is_site else record["id"]
    there = (
        next(each for each in here.pull("manager")["records"] if each["type"] == "site") if is_site else {"facets": {}}
    )
    made = []
    for name in sorted(record["facets"], key=lambda each: each != "identity"):
        value = dict(record["facets"][name])
        if name == "identity":
            if is_site:
                continue
            value["parent"] = here.site if record["parent"] == SITE else record["parent"]
        seen = there["facets"].get(name, {}).get("op")
        made.append(here.operation("manager", site, record["type"], name, value, spec=99, seen=seen))
    return made


def _packed_again(archive: Path, target: Path) -> None:
    with zipfile.ZipFile(archive) as old, zipfile.ZipFile(target, "w") as new:
        for each in old.infolist():
            data = old.read(each)
            hashlib.sha256(data).hexdigest()
            new.writestr(each.filename, data, each.compress_type, 6)


def main(folder: Path, site: str, archive: Path) -> None:
    """Make the archive once and say how long that took [ms], and the most memory [MB]."""
    app = create_app(read_settings({}, folder))
    told: Record = {"before_mb": highest_mb()}
    with app.app_context(), reading() as session:
        about: list[Any] = []
        # A server that has been asked for the plan since the last change has it; the archive's table of it makes it else.
        told["plan_ms"] = milliseconds(lambda: site_plan(session, site))
        told["ms"] = milliseconds(lambda: about.append(write_archive(session, WholePhotos(), site, archive)))
    told |= {"mb": highest_mb(), "photos": about[0]["counts"]["photos"], "last": about[0]["audit"]["hash"]}
    print(json.dumps(told | {"not_made": list(about[0]["not_made"].values())}))


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], Path(sys.argv[3]))
