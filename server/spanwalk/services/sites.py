"""Sites: made by an owner, kept, archived, brought back, deleted. Each begins with its own record, so that it syncs like all else."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypedDict, cast
from uuid import uuid4

from sqlalchemy import ColumnElement, delete, func, insert, select, update
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.rules.record_types import facet
from spanwalk.services.background.parts import parts_of_site
from spanwalk.services.clock import now
from spanwalk.services.learning.kept import forget_numbers, keep_numbers
from spanwalk.services.people.people import set_role, site_name
from spanwalk.services.refusals import NotThere, WrongInput
from spanwalk.services.sync.server_operations import server_push
from spanwalk.services.sync.state import site_records
from spanwalk.storage.tables import (
    Attachment,
    AuditEntry,
    AuditHead,
    Base,
    Device,
    Membership,
    Operation,
    Photo,
    Record,
    Site,
)
from spanwalk.sync.model import HELD

SETTINGS = {"units": "inches"}
BUILDING = "building"
CATALOGUE = "catalogue"
"""Kinds of site."""
SURVEYED = frozenset({"surveyed", "nothing-to-convert", "no-access"})
"""A room with one of these needs no further visit."""


class SiteListed(TypedDict):
    """A site in a list: how far its survey is, how many people are on it, when a phone of it was last heard of."""

    id: str
    name: str
    kind: str
    role: str
    archived_at: str | None
    rooms: int
    rooms_done: int
    fixtures: int
    people: int
    heard_at: str | None
    unsent: int


class SiteContents(TypedDict):
    """What goes when a site is deleted, and what would be lost unseen: work that phones have not sent."""

    name: str
    records: dict[str, int]
    operations: int
    held: int
    photos: int
    photo_bytes: int
    people: int
    phones: int
    unsent: int


@dataclass(frozen=True)
class Deleted:
    """What a deletion leaves to be done: photos that no other site shows, and parts of archives and hand-over files."""

    photos: tuple[str, ...]
    archives: tuple[str, ...] = ()


def add_site(
    session: Session,
    name: str,
    by: str,
    role: str = "owner",
    settings: Mapping[str, object] | None = None,
    kind: str = BUILDING,
) -> str:
    """Make a site and put its maker on it; its id.

    Parameters
    ----------
    session : Session
        A writing transaction.
    name : str
        The site's name.
    by : str
        The person who makes it.
    role : str
        Their role on it.
    settings : dict, optional
        The `settings` facet of the site's record.
    kind : str
        `BUILDING`, or `CATALOGUE`.

    Raises
    ------
    WrongInput
        A name or settings that the spec does not allow.
    """
    site_id = str(uuid4())
    session.execute(insert(Site).values(id=site_id, head=0, created_at=now(), kind=kind))
    set_role(session, site_id, by, role)
    answers = server_push(
        session,
        site_id,
        [
            {"record": site_id, "type": "site", "facet": "identity", "to": {"name": name}},
            {"record": site_id, "type": "site", "facet": "settings", "to": settings or SETTINGS},
        ],
        by=by,
    )
    for answer in answers:
        if answer["result"] == "refused":
            raise WrongInput(cast("str", answer["code"]), **answer["facts"])
    return site_id


def list_sites(session: Session, person_id: str) -> list[SiteListed]:
    """The sites that a person is on, those in work first and of these the buildings, each with how it stands."""
    query = (
        select(Membership.site, Site.kind, Membership.role, Site.archived_at)
        .join(Site, Site.id == Membership.site)
        .where(Membership.person == person_id, Membership.ended_at.is_(None))
        .order_by(Site.archived_at.is_not(None), Site.kind, Membership.since, Membership.site)
    )
    return [_listed(session, *row) for row in session.execute(query)]


def _listed(session: Session, site_id: str, kind: str, role: str, archived_at: str | None) -> SiteListed:
    live = [each for each in site_records(session, site_id, types=("room", "group")) if not each["removed"]]
    rooms = [facet(each, "progress").get("progress") for each in live if each["type"] == "room"]
    counts = [facet(each, "count").get("count") or 0 for each in live if each["type"] == "group"]
    heard, unsent = _phones(session, site_id)
    return {
        "id": site_id,
        "name": site_name(session, site_id),
        "kind": kind,
        "role": role,
        "archived_at": archived_at,
        "rooms": len(rooms),
        "rooms_done": sum(each in SURVEYED for each in rooms),
        "fixtures": sum(counts),
        "people": _count(session, Membership, Membership.site == site_id, Membership.ended_at.is_(None)),
        "heard_at": heard,
        "unsent": unsent,
    }


def _phones(session: Session, site_id: str) -> tuple[str | None, int]:
    """When a phone of the site was last heard of, and how much all of them said they have not sent."""
    waiting = func.coalesce(func.sum(Device.unsent_operations + Device.unsent_photos), 0)
    row = session.execute(select(func.max(Device.seen_at), waiting).where(Device.site == site_id)).one()
    return row[0], int(row[1])


def _count(session: Session, table: type[Base], *where: ColumnElement[bool]) -> int:
    return int(session.execute(select(func.count()).select_from(table).where(*where)).scalar_one())


def close_site(session: Session, site_id: str, by: str) -> None:
    """Close a site, which is then only read, but for failures that are reported. Held work stays held.

    Where its owner chose so, its numbers by kind are kept for the firm's other sites; reopening forgets them.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    by : str
        Who closes it.

    Raises
    ------
    NotThere
        No such site.
    """
    if _closed_at(session, site_id) is not None:
        return
    _say_closing(session, site_id, by, {"state": "closed", "at": now()})
    keep_numbers(session, site_id)
    session.execute(update(Site).where(Site.id == site_id).values(archived_at=now()))


def reopen_site(session: Session, site_id: str, by: str, reason: str) -> None:
    """Open a closed site again; the reason stays in its log.

    Raises
    ------
    NotThere
        No such site.
    WrongInput
        No reason is given.
    """
    if _closed_at(session, site_id) is None:
        return
    if not reason.strip():
        raise WrongInput("site-reopen-reason", field="reason")
    session.execute(update(Site).where(Site.id == site_id).values(archived_at=None))
    forget_numbers(session, site_id)
    _say_closing(session, site_id, by, {"state": "reopened", "reason": reason.strip(), "at": now()})


def _closed_at(session: Session, site_id: str) -> str | None:
    """Since when a site is closed; its row is locked."""
    query = select(Site.archived_at).where(Site.id == site_id).with_for_update()
    row = session.execute(query).one_or_none()
    if row is None:
        raise NotThere("site-unknown")
    closed_at: str | None = row.archived_at
    return closed_at


def _say_closing(session: Session, site_id: str, by: str, to: Mapping[str, object]) -> None:
    server_push(session, site_id, [{"record": site_id, "type": "site", "facet": "closing", "to": to}], by=by)


def contents_of(session: Session, site_id: str) -> SiteContents:
    """What goes when a site is deleted.

    Raises
    ------
    NotThere
        No such site.
    """
    _must_be_there(session, site_id)
    live = (Record.site == site_id, Record.removed.is_(False), Record.type != "site")
    by_type = dict(session.execute(select(Record.type, func.count()).where(*live).group_by(Record.type)).all())
    size = session.execute(select(func.coalesce(func.sum(Photo.bytes), 0)).where(Photo.site == site_id)).scalar_one()
    return {
        "name": site_name(session, site_id),
        "records": {type_: by_type[type_] for type_ in records.spec().types if type_ in by_type},
        "operations": _count(session, Operation, Operation.site == site_id),
        "held": _count(session, Operation, Operation.site == site_id, Operation.result == HELD),
        "photos": _count(session, Photo, Photo.site == site_id),
        "photo_bytes": int(size),
        "people": _count(session, Membership, Membership.site == site_id, Membership.ended_at.is_(None)),
        "phones": _count(session, Device, Device.site == site_id),
        "unsent": _phones(session, site_id)[1],
    }


def delete_site(session: Session, site_id: str, typed: str) -> Deleted:
    """Delete a site with its records, log, photos' rows, memberships and phones; nothing of it is left in the database.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    typed : str
        Its name, as whoever deletes it typed it.

    Returns
    -------
    Deleted
        Photos, archives and hand-over files to be taken out of the store once the transaction stands.

    Raises
    ------
    NotThere
        No such site.
    WrongInput
        The name that was typed is not the site's.
    """
    _must_be_there(session, site_id, lock=True)
    name = site_name(session, site_id)
    if " ".join(typed.split()) != " ".join(name.split()):
        raise WrongInput("site-name-differs", field="name", value=typed[:80], right=name)
    archives = parts_of_site(session, site_id)
    mine = set(session.execute(select(Photo.sha256).where(Photo.site == site_id)).scalars())
    mine |= set(session.execute(select(Attachment.kept_as).where(Attachment.site == site_id)).scalars())
    for table in reversed(Base.metadata.sorted_tables):
        for column in (key.parent for key in table.foreign_keys if key.column.table.name == Site.__tablename__):
            session.execute(delete(table).where(column == site_id))
    for chain in (AuditEntry, AuditHead):
        session.execute(delete(chain).where(chain.scope == site_id))
    session.execute(delete(Site).where(Site.id == site_id))
    return Deleted(tuple(sorted(mine - _shown_elsewhere(session))), archives)


def _shown_elsewhere(session: Session) -> set[str]:
    """Photos that a site which is still there shows."""
    shown = session.execute(select(Photo.sha256).union(select(Attachment.kept_as)))
    return set(shown.scalars())


def _must_be_there(session: Session, site_id: str, lock: bool = False) -> None:
    query = select(Site.id).where(Site.id == site_id)
    if session.execute(query.with_for_update() if lock else query).first() is None:
        raise NotThere("site-unknown")
