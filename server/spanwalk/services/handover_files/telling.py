"""How the files of a hand-over stand, and the files themselves, part by part."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypedDict

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from spanwalk.services.background.making import MADE, pieces_kept, state_of
from spanwalk.services.handover_files.making import refuse_without_release
from spanwalk.services.handover_files.wanted import FILES, REPORTS, Wanted, newest_file, wanted_by
from spanwalk.services.people.members import Member
from spanwalk.services.refusals import NotThere
from spanwalk.storage import json_text
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import Attachment, HandoverFile, Photo, Site


class Kept(TypedDict):
    """A file that lies ready. `changes` of the site, and photos and attachments, have come since its records were read."""

    made_at: str
    bytes: int
    sha256: str
    changes: int


class FileTold(TypedDict):
    """How a file stands: the newest that was asked for, and the newest that lies ready, which may be an earlier one."""

    what: str
    with_money: bool
    state: str
    done: int
    total: int
    why: dict[str, object] | None
    kept: Kept | None


def files_told(session: Session, member: Member, among: tuple[str, ...], language: str) -> list[FileTold]:
    """How the files of a site stand that a member may take away, in their language.

    Parameters
    ----------
    session : Session
        An open transaction.
    member : Member
        Who asks.
    among : tuple of str
        What of them: `REPORTS` or `WHICH_PACK`.
    language : str
        In which they read.
    """
    found = []
    for what in among:
        for with_money in (False, True) if what in REPORTS else (False,):
            wanted = wanted_by(member, what, with_money, language)
            row = newest_file(session, wanted.where(member.site_id)) if wanted.with_money == with_money else None
            if row is not None:
                found.append(_told(session, row, wanted))
    return found


def _told(session: Session, row: HandoverFile, wanted: Wanted) -> FileTold:
    state, why = state_of(row, FILES.area)
    ready = newest_file(session, wanted.where(row.site), MADE)
    return {
        "what": row.what,
        "with_money": row.with_money,
        "state": state,
        "done": row.done,
        "total": row.total,
        "why": why,
        "kept": None if ready is None else _kept(session, ready),
    }


def _kept(session: Session, row: HandoverFile) -> Kept:
    head = session.execute(select(Site.head).where(Site.id == row.site)).scalar_one()
    read_at = json_text.loads(row.told).get("read_at", row.made_at)
    arrived = 0
    for table in (Photo, Attachment):
        since = select(func.count()).select_from(table).where(table.site == row.site, table.received_at > read_at)
        arrived += session.execute(since).scalar_one()
    return {
        "made_at": row.made_at,
        "bytes": row.bytes,
        "sha256": row.sha256 or "",
        "changes": int(head - row.head + arrived),
    }


def file_pieces(session: Session, store: PhotoStore, site_id: str, wanted: Wanted) -> tuple[int, Iterator[bytes]]:
    """The newest whole file of what is wanted: its length [bytes], and its parts one after another.

    Raises
    ------
    NotThere
        Nothing has been released, none was made, or a part of it is not in the store any more.
    """
    row = newest_file(session, wanted.where(site_id), MADE)
    if row is None:
        refuse_without_release(session, site_id)
        raise NotThere("handover.not-made")
    return row.bytes, pieces_kept(store, row, FILES.area)
