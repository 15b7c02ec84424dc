"""Hand out state: one page of records with the head, in one snapshot of the database."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session, aliased

from spanwalk import records
from spanwalk.rules.constants import STAYS
from spanwalk.services.people.members import Member, incarnation, scope_of
from spanwalk.services.refusals import InTheWay, NotAllowed, NotThere
from spanwalk.services.sync.devices import device_has_news, inherit, is_of_another, is_of_shut_out, note_device
from spanwalk.services.sync.narrowed import RowRead, rows_read, sum_read
from spanwalk.services.sync.state import COLUMNS, RecordRow
from spanwalk.storage import json_text
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Record, Site
from spanwalk.sync.model import StoredFacet

PAGE_MOST = 2000


@dataclass(frozen=True)
class Question:
    """What a phone asks for: all that is newer than `since`.

    `device` is None in a full pull; `first_head` is the head of a full pull's first page, below which
    later pages leave tombstones out.
    """

    since: int = 0
    limit: int = 1000
    device: str | None = None
    incarnation: str | None = None
    scope: str | None = None
    unsent_operations: int | None = None
    unsent_photos: int = 0
    first_head: int = 0


def pull(member: Member, asked: Question) -> str:
    """One page, as JSON text.

    Parameters
    ----------
    member : Member
        Who asks, on which site.
    asked : Question
        What they have and want.

    Returns
    -------
    str
        ``{"incarnation", "scope", "head", "next", "more", "records", "backed_up"}``; with count and sum
        on the page that reaches the head.

    Raises
    ------
    InTheWay
        The phone's copy is of another incarnation or reading scope, or newer than the server: pull in full.
    NotAllowed
        The device that it names is shut out, or is another phone's.
    """
    if asked.device is not None:
        _must_be_own(member, asked.device)
    with reading() as session:
        site = session.execute(select(Site.head, Site.backed_up).where(Site.id == member.site_id)).one_or_none()
        if site is None:
            raise NotThere("site-unknown")
        about: dict[str, object] = {"incarnation": incarnation(session), "scope": scope_of(session, member)}
        _fits(session, asked, about, site.head)
        rows, more = _page(session, member, asked, site.head)
        about |= {"head": site.head, "next": rows[-1].seq if more else site.head, "more": more}
        about |= {"backed_up": site.backed_up}
        if not more:
            about["count"], about["sum"] = sum_read(session, member.site_id, member.reads_as)
        read = rows_read(session, member.site_id, member.reads_as, rows)
        news = _has_news(session, member, asked)
    if news:
        with writing() as session:
            note_device(session, member, str(asked.device), asked.unsent_operations or 0, asked.unsent_photos)
    listed = ",".join(wire_text(row, asked.device) for row in read)
    return json_text.dumps(about)[:-1] + ',"records":[' + listed + "]}"


def _must_be_own(member: Member, device: str) -> None:
    """Raise unless the phone that asks may go by a device."""
    with reading() as session:
        shut_out = is_of_shut_out(session, member, device)
        of_another = is_of_another(session, member, device)
    if shut_out and member.phone is not None:
        with writing() as session:
            inherit(session, member, device)
    if shut_out:
        raise NotAllowed("device-revoked", device=device)
    if of_another:
        raise NotAllowed("device-of-another", device=device)


def _fits(session: Session, asked: Question, about: dict[str, object], head: int) -> None:
    if asked.incarnation is not None and asked.incarnation != about["incarnation"]:
        raise InTheWay("incarnation-changed", incarnation=about["incarnation"])
    if asked.scope is not None and asked.scope != about["scope"]:
        raise InTheWay("scope-changed", scope=about["scope"])
    if asked.since > head:
        raise InTheWay("cursor-ahead", value=asked.since, head=head, scope=about["scope"])


def _has_news(session: Session, member: Member, asked: Question) -> bool:
    if asked.device is None or asked.unsent_operations is None:
        return False
    return device_has_news(session, member, asked.device, asked.unsent_operations, asked.unsent_photos)


def _page(session: Session, member: Member, asked: Question, head: int) -> tuple[list[RecordRow], bool]:
    limit = min(max(asked.limit, 1), PAGE_MOST)
    query = select(*COLUMNS).where(Record.site == member.site_id, Record.seq > asked.since)
    types = records.readable_types(member.reads_as)
    if set(types) != set(records.spec().types):
        query = query.where(Record.type.in_(types))
    floor = head if asked.since == 0 else asked.first_head
    if floor:
        stays = or_(Record.removed.is_(False), Record.conflicts != "[]", Record.seq > floor, _has_work(member.site_id))
        query = query.where(stays)
    rows = list(session.execute(query.order_by(Record.seq).limit(limit + 1)))
    return rows[:limit], len(rows) > limit


def _has_work(site_id: str) -> ColumnElement[bool]:
    """Whether something that tells of work stays in a record: of one that was removed, a label says what it was."""
    below = aliased(Record)
    return (
        select(below.id)
        .where(below.site == site_id, below.parent == Record.id, below.type.in_(STAYS), below.removed.is_(False))
        .exists()
    )


def wire_text(row: RecordRow | RowRead, device: str | None) -> str:
    """A record's state as JSON text, without the values that the asking device wrote last."""
    facets = row.facets
    if device is not None and f'"op":"{device}.' in facets:
        facets = json_text.dumps(_without_echo(json_text.loads(facets), device + "."))
    about = {"id": row.id, "type": row.type, "parent": row.parent, "seq": row.seq, "removed": row.removed}
    return f'{json_text.dumps(about)[:-1]},"facets":{facets},"conflicts":{row.conflicts}}}'


def _without_echo(facets: dict[str, StoredFacet], own: str) -> dict[str, Mapping[str, object]]:
    return {
        name: {key: item for key, item in stored.items() if key != "value"} if stored["op"].startswith(own) else stored
        for name, stored in facets.items()
    }
