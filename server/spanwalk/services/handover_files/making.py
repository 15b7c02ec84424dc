"""Hand-over reports, their workbooks and proof packs, made in the background: see `background.making`.

Of a site the newest of each is kept: of what it is, with or without money, for who reads sums and for who does not, in a
language. Who asks while one is being made gets that one. What was not asked for again for a month goes.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from pathlib import Path

from flask import Flask
from sqlalchemy import and_, func, insert, or_, select
from sqlalchemy.orm import Session

from spanwalk.services.background.making import (
    MAKING,
    STOPPED_AFTER_S,
    Step,
    is_left,
    let_go,
    make_in_background,
)
from spanwalk.services.clock import later, now
from spanwalk.services.handover.gathering import report_of
from spanwalk.services.handover.pages import report_pdf
from spanwalk.services.handover.workbook import report_workbook
from spanwalk.services.handover_files.wanted import ALL_PACKS, FILES, PDF, REPORTS, Wanted, newest_file
from spanwalk.services.proof.packs import PACKS, write_packs
from spanwalk.services.refusals import NotThere, Unavailable
from spanwalk.storage.database import reading
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import HandoverFile, Record, Site
from spanwalk.words import reading_in

AT_ONCE_MOST = 12
"""So many are being made or wait their turn on all servers together; who comes then is told to come again."""
KEPT_DAYS = 30


def begin_file(session: Session, site_id: str, person_id: str, wanted: Wanted) -> str | None:
    """Note that a file is to be made, in a writing transaction; None: it is being made already.

    Raises
    ------
    NotThere
        Nothing has been released.
    Unavailable
        Too many are being made.
    """
    session.execute(select(Site.id).where(Site.id == site_id).with_for_update())
    refuse_without_release(session, site_id)
    newest = newest_file(session, wanted.where(site_id))
    if newest is not None and newest.state == MAKING and not is_left(newest):
        return None
    at_work = (HandoverFile.state == MAKING, HandoverFile.changed_at >= later(-STOPPED_AFTER_S))
    if session.execute(select(func.count()).select_from(HandoverFile).where(*at_work)).scalar_one() >= AT_ONCE_MOST:
        raise Unavailable("handover.busy")
    made, at = str(uuid.uuid4()), now()
    values = {
        "site": site_id,
        "person": person_id,
        "state": MAKING,
        "made_at": at,
        "changed_at": at,
        "told": "{}",
        "what": wanted.what,
        "with_sums": wanted.with_sums,
        "with_money": wanted.with_money,
        "language": wanted.language,
    }
    session.execute(insert(HandoverFile).values(id=made, **values))
    return made


def make_file(app: Flask, site_id: str, file_id: str, wanted: Wanted) -> None:
    """Make a file that was begun, on a thread of this process."""
    store: PhotoStore = app.extensions["spanwalk-photos"]

    def make(path: Path, step: Step) -> Mapping[str, object]:
        read_at = now()
        with reading() as session:
            head = session.execute(select(Site.head).where(Site.id == site_id)).scalar_one_or_none()
        FILES.set(file_id, head=head or 0)
        with reading_in(wanted.language):
            write_file(site_id, wanted, store, path, step)
        return {"read_at": read_at}

    make_in_background(app, FILES, file_id, make, lambda: _let_go_older(store, site_id, file_id, wanted))


def write_file(site_id: str, wanted: Wanted, store: PhotoStore, path: Path, step: Step) -> None:
    """Write a report, a workbook or packs to a file.

    Raises
    ------
    NotThere
        Nothing has been released.
    """
    if wanted.what in REPORTS:
        with reading() as session:
            report = report_of(session, site_id, wanted.role, wanted.with_money)
        data = report_pdf(report, store, step) if wanted.what == PDF else report_workbook(report, step)
        path.write_bytes(data)
    else:
        names = tuple(PACKS) if wanted.what == ALL_PACKS else (wanted.what,)
        write_packs(site_id, wanted.role, names, store, path, step)


def refuse_without_release(session: Session, site_id: str) -> None:
    """Refuse where nothing has been released, so that there is nothing to hand over.

    Raises
    ------
    NotThere
        Nothing has been released.
    """
    where = (Record.site == site_id, Record.type == "release", Record.removed.is_(False))
    if session.execute(select(Record.id).where(*where).limit(1)).first() is None:
        raise NotThere("handover.nothing-released")


def _let_go_older(store: PhotoStore, site_id: str, file_id: str, wanted: Wanted) -> None:
    """Let go what this file takes the place of, and what lay there for a month: of any site, and whoever left it half made."""
    with reading() as session:
        made_at = select(HandoverFile.made_at).where(HandoverFile.id == file_id).scalar_subquery()
        older = and_(wanted.where(site_id), HandoverFile.made_at <= made_at)
        old = HandoverFile.changed_at < later(-KEPT_DAYS * 86_400)
        query = select(HandoverFile.id, HandoverFile.parts).where(HandoverFile.id != file_id, or_(older, old))
        rows = [(row.id, row.parts) for row in session.execute(query).all()]
    let_go(store, FILES, rows)
