"""An archive of a site written into one zip: the copy of the site, and beside it all that is read without us.

Memory holds one photo, the records of one type, or one report at a time; what grows with the site goes to the disk.
"""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Callable, Iterator, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import IO

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.rules.survey import Survey
from spanwalk.services.archives import layout
from spanwalk.services.archives.layout import About, Counts, LastEntry, ReleaseSums
from spanwalk.services.archives.plain import Row, cells_of, heads_of, release_rows, rows_of_type, sums_of
from spanwalk.services.audit.reading import audit_csv
from spanwalk.services.clock import now
from spanwalk.services.files.site_copy import LINES_AT_ONCE, Missing, Writing, write_copy
from spanwalk.services.handover.gathering import report_of
from spanwalk.services.handover.pages import report_pdf
from spanwalk.services.handover.workbook import report_workbook
from spanwalk.services.people.people import site_name
from spanwalk.services.refusals import NotThere, Refusal
from spanwalk.services.releases.emergency_tests import tests_csv
from spanwalk.services.releases.sums import releases_of
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.neutral import Out, csv_text
from spanwalk.storage import json_text
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import Attachment, AuditEntry, AuditHead, Membership, Operation, Photo, Record, Site
from spanwalk.words import say

OWNER = "owner"
PARTS_BESIDE_PHOTOS = 6
"""Steps of the work that are counted beside photos: copy, plain records, who did what, releases, reports, the bag's own files."""
OnStep = Callable[[int, int], None]
"""Is told how far the work is: steps done, of how many."""


class Steps:
    """Counts what is done, and tells."""

    def __init__(self, total: int, tell: OnStep) -> None:
        self.done, self.total, self.tell = 0, total, tell

    def step(self) -> None:
        """One more is done."""
        self.done += 1
        self.tell(self.done, self.total)


def write_archive(
    session: Session,
    store: PhotoStore,
    site_id: str,
    file: Path | IO[bytes],
    on_step: OnStep = lambda done, total: None,
) -> About:
    """Write an archive of a site to a file; what its `archive.json` says.

    Parameters
    ----------
    session : Session
        One snapshot of the database.
    store : PhotoStore
        Where photos lie.
    site_id : str
        The site.
    file : Path or binary file
        The zip to be written.
    on_step : callable
        Is told how far it is.

    Raises
    ------
    NotThere
        There is no such site.
    """
    site = session.execute(select(Site).where(Site.id == site_id)).scalar_one_or_none()
    if site is None:
        raise NotThere("site-unknown")
    photos = session.execute(select(func.count()).select_from(Photo).where(Photo.site == site_id)).scalar_one()
    steps = Steps(int(photos) + PARTS_BESIDE_PHOTOS, on_step)
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as parts:
        folder = f"spanwalk-archive-{site_id[:8]}/"
        data = Writing(parts, folder + layout.DATA)
        missing = write_copy(session, store, site, data, steps.step)
        steps.step()
        _write_plain(session, site_id, data)
        steps.step()
        last = _write_audit(session, site_id, data)
        steps.step()
        releases = _write_releases(session, site_id, data)
        steps.step()
        reports, not_made = _write_reports(session, store, site_id, data)
        steps.step()
        about: About = {
            "archive": layout.VERSION,
            "site": site_id,
            "name": site_name(session, site_id),
            "made_at": now(),
            "closed_at": site.archived_at,
            "version": version("spanwalk"),
            "spec": records.spec().number,
            "counts": _counts(session, site_id, missing),
            "photos_missing": missing.photos,
            "attachments_missing": missing.attachments,
            "audit": last,
            "releases": releases,
            "reports": reports,
            "not_made": not_made,
        }
        data.whole(layout.ABOUT, json_text.dumps(about).encode())
        data.manifest(session, site)
        _write_bag(parts, folder, data, about)
        steps.step()
    return about


def _write_plain(session: Session, site_id: str, data: Writing) -> None:
    for type_name in records.spec().types:
        rows = rows_of_type(session, site_id, type_name)
        if rows:
            data.pieces(f"{layout.PLAIN}/{type_name}.json", _json_array(rows))
            heads = heads_of(type_name, rows)
            table: list[Sequence[Out]] = [heads, *(cells_of(heads, row) for row in rows)]
            data.whole(f"{layout.PLAIN}/{type_name}.csv", csv_text(table).encode())


def _json_array(rows: list[Row]) -> Iterator[bytes]:
    """Rows as a JSON array, one a line."""
    for place, row in enumerate(rows):
        yield (b"[\n" if place == 0 else b",\n") + json_text.dumps(row).encode()
    yield b"\n]\n"


ENTRY = tuple(column.name for column in AuditEntry.__table__.columns if column.name != "scope")


def _write_audit(session: Session, site_id: str, data: Writing) -> LastEntry:
    data.lines(layout.AUDIT, _entries(session, site_id))
    head = session.execute(select(AuditHead.number, AuditHead.hash).where(AuditHead.scope == site_id)).one_or_none()
    return {"number": head.number, "hash": head.hash} if head is not None else {"number": 0, "hash": ""}


def _entries(session: Session, site_id: str) -> Iterator[dict[str, object]]:
    columns = [getattr(AuditEntry, name) for name in ENTRY]
    query = select(*columns).where(AuditEntry.scope == site_id).order_by(AuditEntry.number)
    for row in session.execute(query, execution_options={"yield_per": LINES_AT_ONCE}):
        entry = dict(zip(ENTRY, row, strict=True))
        leaves = entry["leaves"]
        ids = select(Operation.id).where(Operation.site == site_id, Operation.entry == entry["number"])
        told = session.execute(ids.order_by(Operation.place)).scalars().all() if leaves else []
        yield entry | {"leaves": leaves.hex() if isinstance(leaves, bytes) else None, "operations": list(told)}


def _write_releases(session: Session, site_id: str, data: Writing) -> list[ReleaseSums]:
    survey = Survey(site_records(session, site_id, types=("site", "group", "release", "conversion", "release_sums")))
    found: list[ReleaseSums] = []
    for release in releases_of(survey):
        rows = release_rows(release)
        name = f"{layout.RELEASES}/release-{release.number}"
        data.whole(f"{name}.json", json_text.dumps(rows).encode())
        heads = list(rows[0]) if rows else []
        data.whole(f"{name}.csv", csv_text([heads, *(cells_of(heads, row) for row in rows)]).encode())
        found.append(sums_of(release.number, rows))
    return found


def _write_reports(
    session: Session, store: PhotoStore, site_id: str, data: Writing
) -> tuple[list[str], dict[str, str]]:
    """Reports, each by itself: one that cannot be made is told with the reason, and the archive is made without it."""
    made, not_made = [], {}
    wanted: dict[str, Callable[[], bytes]] = {
        "hand-over.pdf": lambda: report_pdf(report_of(session, site_id, OWNER, with_money=True), store),
        "hand-over.xlsx": lambda: report_workbook(report_of(session, site_id, OWNER, with_money=True)),
        "emergency-tests.csv": lambda: tests_csv(session, site_id).encode(),
        "who-did-what.csv": lambda: audit_csv(session, site_id).encode(),
    }
    for name, make in wanted.items():
        try:
            data.whole(f"{layout.REPORTS}/{name}", make())
            made.append(name)
        except Refusal as refusal:
            not_made[name] = say(refusal.code, refusal.facts)
    return made, not_made


def _counts(session: Session, site_id: str, missing: Missing) -> Counts:
    def count(table: type, *where: object) -> int:
        return int(session.execute(select(func.count()).select_from(table).where(*where)).scalar_one())  # type: ignore[arg-type]

    live = (Record.site == site_id, Record.removed.is_(False))
    by_type = dict(session.execute(select(Record.type, func.count()).where(*live).group_by(Record.type)).all())
    return {
        "records": {str(name): int(each) for name, each in sorted(by_type.items())},
        "records_removed": count(Record, Record.site == site_id, Record.removed.is_(True)),
        "operations": count(Operation, Operation.site == site_id),
        "photos": count(Photo, Photo.site == site_id) - len(missing.photos),
        "photos_missing": len(missing.photos),
        "attachments": count(Attachment, Attachment.site == site_id) - len(missing.attachments),
        "attachments_missing": len(missing.attachments),
        "people": count(Membership, Membership.site == site_id),
        "audit_entries": count(AuditEntry, AuditEntry.scope == site_id),
    }


def _write_bag(parts: zipfile.ZipFile, folder: str, data: Writing, about: About) -> None:
    """The files that make it a bag, and the README."""
    size = sum(each["bytes"] for each in data.files.values())
    info = {
        "External-Identifier": about["site"],
        "External-Description": " ".join(about["name"].split()),
        "Bagging-Date": about["made_at"][:10],
        "Bag-Software-Agent": f"spanwalk {about['version']}",
        "Payload-Oxum": f"{size}.{len(data.files)}",
        "Last-Entry": f"{about['audit']['number']} {about['audit']['hash']}",
    }
    tags = {
        layout.BAGIT: layout.BAGIT_TEXT,
        layout.BAG_INFO: "".join(f"{name}: {value}\n" for name, value in info.items()),
        layout.MANIFEST: "".join(
            f"{told['sha256']}  {layout.DATA}{name}\n" for name, told in sorted(data.files.items())
        ),
        layout.README: layout.README_TEXT,
    }
    for name, text in tags.items():
        parts.writestr(folder + name, text)
    hashes = (f"{hashlib.sha256(text.encode()).hexdigest()}  {name}\n" for name, text in sorted(tags.items()))
    parts.writestr(folder + layout.TAG_MANIFEST, "".join(hashes))
