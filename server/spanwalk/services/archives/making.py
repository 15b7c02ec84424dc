"""Archives made in the background: one for a site at a time, kept in the photo store in parts, so that any server hands it out.

What is being made lies in a file of this machine's temporary folder until it is whole. Only the newest of a site is kept.
"""

from __future__ import annotations

import hashlib
import tempfile
import threading
import time
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import TypedDict

from flask import Flask
from sqlalchemy import delete, insert, select, update
from sqlalchemy.orm import Session

from spanwalk.services.archives.parts import PART_BYTES, part_name
from spanwalk.services.archives.writing import write_archive
from spanwalk.services.clock import later, now
from spanwalk.services.refusals import NotThere, Refusal
from spanwalk.storage import json_text
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import PhotoStore, StoreFails
from spanwalk.storage.tables import Site, SiteArchive

MAKING, MADE, WRONG = "making", "made", "wrong"
STOPPED_AFTER_S = 600
"""An archive on which nobody has worked for so long was left by a server that stopped."""
TELL_EACH_S = 1.0
MAKERS = threading.BoundedSemaphore(1)
"""One at a time in a process of the server; the next waits its turn."""


class Told(TypedDict):
    """How an archive stands; `why` is a sentence's code and facts where it could not be made."""

    state: str
    made_at: str | None
    done: int
    total: int
    bytes: int
    sha256: str | None
    last_entry: str | None
    not_made: dict[str, str]
    photos_missing: int
    attachments_missing: int
    why: dict[str, object] | None


NOTHING: Told = {
    "state": "none", "made_at": None, "done": 0, "total": 0, "bytes": 0, "sha256": None, "last_entry": None,
    "not_made": {}, "photos_missing": 0, "attachments_missing": 0, "why": None,
}  # fmt: skip


def begin_archive(session: Session, site_id: str, person_id: str) -> str | None:
    """Note that an archive is to be made, in a writing transaction; None: one is being made already, and is what is wanted.

    Raises
    ------
    NotThere
        There is no such site.
    """
    query = select(Site.id).where(Site.id == site_id).with_for_update()
    if session.execute(query).first() is None:
        raise NotThere("site-unknown")
    newest = _newest(session, site_id)
    if newest is not None and newest.state == MAKING and not _is_left(newest):
        return None
    made = str(uuid.uuid4())
    at = now()
    values = {"state": MAKING, "made_at": at, "changed_at": at, "done": 0, "total": 0, "parts": 0, "bytes": 0}
    session.execute(insert(SiteArchive).values(id=made, site=site_id, person=person_id, told="{}", **values))
    return made


def make_in_background(app: Flask, archive_id: str) -> None:
    """Make an archive on a thread of this process; whatever goes wrong becomes its state."""

    def run() -> None:
        with app.app_context(), MAKERS:
            try:
                _make(app.extensions["spanwalk-photos"], archive_id)
            except Refusal as refusal:
                _failed(archive_id, refusal.code, dict(refusal.facts))
            except (StoreFails, OSError) as failed:
                app.logger.warning("archive %s: %s", archive_id, failed)
                _failed(archive_id, "archive.no-room", {})
            except Exception:
                app.logger.exception("archive %s failed", archive_id)
                _failed(archive_id, "archive.failed", {})

    threading.Thread(target=run, name=f"archive-{archive_id[:8]}", daemon=True).start()


def _make(store: PhotoStore, archive_id: str) -> None:
    site_id = _row(archive_id).site
    with tempfile.TemporaryDirectory(prefix="spanwalk-") as folder:
        path = Path(folder) / "archive.zip"
        with reading() as session:
            about = write_archive(session, store, site_id, path, _teller(archive_id))
        hashed, parts = hashlib.sha256(), 0
        for piece in _pieces(path):
            parts += 1
            hashed.update(piece)
            store.put(part_name(archive_id, parts), piece)
            _set(archive_id, parts=parts)
        told = {
            "last_entry": about["audit"]["hash"],
            "not_made": about["not_made"],
            "photos_missing": len(about["photos_missing"]),
            "attachments_missing": len(about["attachments_missing"]),
        }
        size = path.stat().st_size
    _set(archive_id, state=MADE, parts=parts, bytes=size, sha256=hashed.hexdigest(), told=json_text.dumps(told))
    _let_go_older(store, site_id, archive_id)


def _pieces(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(PART_BYTES):
            yield piece


class _teller:
    """Writes down how far the work is, about once a second."""

    def __init__(self, archive_id: str) -> None:
        self.archive_id, self.at = archive_id, 0.0

    def __call__(self, done: int, total: int) -> None:
        if time.monotonic() - self.at >= TELL_EACH_S or done == total:
            self.at = time.monotonic()
            _set(self.archive_id, done=done, total=total)


def _row(archive_id: str) -> SiteArchive:
    with reading() as session:
        row: SiteArchive = session.execute(select(SiteArchive).where(SiteArchive.id == archive_id)).scalar_one()
        return row


def _set(archive_id: str, **values: object) -> None:
    with writing() as session:
        session.execute(update(SiteArchive).where(SiteArchive.id == archive_id).values(changed_at=now(), **values))


def _failed(archive_id: str, code: str, facts: dict[str, object]) -> None:
    why = {"why": {"code": code, "facts": facts}}
    _set(archive_id, state=WRONG, told=json_text.dumps(why))


def _newest(session: Session, site_id: str, state: str | None = None) -> SiteArchive | None:
    query = select(SiteArchive).where(SiteArchive.site == site_id)
    if state is not None:
        query = query.where(SiteArchive.state == state)
    row: SiteArchive | None = (
        session.execute(query.order_by(SiteArchive.made_at.desc(), SiteArchive.id).limit(1)).scalars().first()
    )
    return row


def _is_left(row: SiteArchive) -> bool:
    return row.state == MAKING and row.changed_at < later(-STOPPED_AFTER_S)


def archive_told(session: Session, site_id: str) -> Told:
    """How the newest archive of a site stands."""
    row = _newest(session, site_id)
    if row is None:
        return NOTHING
    more = json_text.loads(row.told)
    left = _is_left(row)
    return {
        "state": WRONG if left else row.state,
        "made_at": row.made_at,
        "done": row.done,
        "total": row.total,
        "bytes": row.bytes,
        "sha256": row.sha256,
        "last_entry": more.get("last_entry"),
        "not_made": more.get("not_made", {}),
        "photos_missing": more.get("photos_missing", 0),
        "attachments_missing": more.get("attachments_missing", 0),
        "why": {"code": "archive.stopped", "facts": {}} if left else more.get("why"),
    }


def archive_pieces(session: Session, store: PhotoStore, site_id: str) -> tuple[int, Iterator[bytes]]:
    """The newest whole archive of a site: its length [bytes], and its parts one after another.

    Raises
    ------
    NotThere
        None was made, or a part of it is not in the store any more: it is to be made again.
    """
    row = _newest(session, site_id, MADE)
    if row is None:
        raise NotThere("archive.none")
    names = [part_name(row.id, number) for number in range(1, row.parts + 1)]
    if not all(store.has(name) for name in names):
        raise NotThere("archive.gone")
    return row.bytes, (store.get(name) or b"" for name in names)


def _let_go_older(store: PhotoStore, site_id: str, archive_id: str) -> None:
    """Let older archives of a site go: parts first, so that a server killed between leaves rows that say what is left."""
    with reading() as session:
        made_at = select(SiteArchive.made_at).where(SiteArchive.id == archive_id).scalar_subquery()
        older = select(SiteArchive.id, SiteArchive.parts).where(
            SiteArchive.site == site_id, SiteArchive.id != archive_id, SiteArchive.made_at <= made_at
        )
        rows = session.execute(older).all()
    for row in rows:
        for number in range(1, row.parts + 1):
            store.drop(part_name(row.id, number))
    with writing() as session:
        session.execute(delete(SiteArchive).where(SiteArchive.id.in_([row.id for row in rows])))
