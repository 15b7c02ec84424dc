"""Archives made in the background, one for a site at a time; only the newest of a site is kept: see `background.making`."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TypedDict

from flask import Flask
from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from spanwalk.services.archives.writing import write_archive
from spanwalk.services.background.making import (
    MADE,
    MAKING,
    Sort,
    Step,
    is_left,
    let_go,
    make_in_background,
    pieces_kept,
    state_of,
)
from spanwalk.services.clock import now
from spanwalk.services.refusals import NotThere
from spanwalk.storage import json_text
from spanwalk.storage.database import reading
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import Site, SiteArchive

ARCHIVE = Sort(SiteArchive, "archive")


class Told(TypedDict):
    """How an archive stands; `why` is a sentence's code and facts where it could not be made.

    `earlier`: it was begun before the site was last closed, and lacks what came between.
    """

    state: str
    made_at: str | None
    earlier: bool
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
    "state": "none", "made_at": None, "earlier": False, "done": 0, "total": 0, "bytes": 0, "sha256": None,
    "last_entry": None, "not_made": {}, "photos_missing": 0, "attachments_missing": 0, "why": None,
}  # fmt: skip


def begin_archive(session: Session, site_id: str, person_id: str) -> str | None:
    """Note that an archive is to be made, in a writing transaction; None: one is being made already, and is what is wanted.

    Raises
    ------
    NotThere
        There is no such site.
    """
    query = select(Site.archived_at).where(Site.id == site_id).with_for_update()
    site = session.execute(query).first()
    if site is None:
        raise NotThere("site-unknown")
    newest = _newest(session, site_id)
    if newest is not None and newest.state == MAKING and not is_left(newest) and not _is_earlier(newest, site[0]):
        return None
    made, at = str(uuid.uuid4()), now()
    values = {"state": MAKING, "made_at": at, "changed_at": at}
    session.execute(insert(SiteArchive).values(id=made, site=site_id, person=person_id, told="{}", **values))
    return made


def make_archive(app: Flask, site_id: str, archive_id: str) -> None:
    """Make an archive that was begun, on a thread of this process."""
    store: PhotoStore = app.extensions["spanwalk-photos"]

    def make(path: Path, step: Step) -> Mapping[str, object]:
        with reading() as session:
            about = write_archive(session, store, site_id, path, step)
        return {
            "last_entry": about["audit"]["hash"],
            "not_made": about["not_made"],
            "photos_missing": len(about["photos_missing"]),
            "attachments_missing": len(about["attachments_missing"]),
        }

    make_in_background(app, ARCHIVE, archive_id, make, lambda: _let_go_older(store, site_id, archive_id))


def _newest(session: Session, site_id: str, state: str | None = None) -> SiteArchive | None:
    query = select(SiteArchive).where(SiteArchive.site == site_id)
    if state is not None:
        query = query.where(SiteArchive.state == state)
    row: SiteArchive | None = (
        session.execute(query.order_by(SiteArchive.made_at.desc(), SiteArchive.id).limit(1)).scalars().first()
    )
    return row


def _is_earlier(row: SiteArchive, closed_at: str | None) -> bool:
    return closed_at is not None and row.made_at < closed_at


def archive_told(session: Session, site_id: str) -> Told:
    """How the newest archive of a site stands."""
    row = _newest(session, site_id)
    if row is None:
        return NOTHING
    more = json_text.loads(row.told)
    state, why = state_of(row, ARCHIVE.area)
    closed_at = session.execute(select(Site.archived_at).where(Site.id == site_id)).scalar_one()
    return {
        "state": state,
        "made_at": row.made_at,
        "earlier": _is_earlier(row, closed_at),
        "done": row.done,
        "total": row.total,
        "bytes": row.bytes,
        "sha256": row.sha256,
        "last_entry": more.get("last_entry"),
        "not_made": more.get("not_made", {}),
        "photos_missing": more.get("photos_missing", 0),
        "attachments_missing": more.get("attachments_missing", 0),
        "why": why,
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
    return row.bytes, pieces_kept(store, row, ARCHIVE.area)


def _let_go_older(store: PhotoStore, site_id: str, archive_id: str) -> None:
    """Let older archives of a site go; one that was begun since stays."""
    with reading() as session:
        made_at = select(SiteArchive.made_at).where(SiteArchive.id == archive_id).scalar_subquery()
        older = select(SiteArchive.id, SiteArchive.parts).where(
            SiteArchive.site == site_id, SiteArchive.id != archive_id, SiteArchive.made_at <= made_at
        )
        rows = [(row.id, row.parts) for row in session.execute(older).all()]
    let_go(store, ARCHIVE, rows)
