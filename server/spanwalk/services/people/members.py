"""Who a person is on a site, what their phone was told about the server, and which phones are in use."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.clock import later, now
from spanwalk.storage.tables import ACTIVE, Device, Installation, Membership, Person

SEEN_AGAIN_S = 60
"""A phone that has nothing new to say is written down once in so many seconds."""


@dataclass(frozen=True)
class Member:
    """A person on a site. `role` is None once they have been taken off it."""

    person_id: str
    name: str
    site_id: str
    role: str | None
    changes: int = 0

    @property
    def reads_as(self) -> str:
        """The role by which they read; none reads nothing."""
        return self.role or ""


def incarnation(session: Session) -> str:
    """Which life of the database this is; another one after a backup has been put back."""
    return session.execute(select(Installation.incarnation)).scalar_one()


def memberships(session: Session, site_id: str) -> dict[str, str]:
    """The roles of all who are on a site now and may sign in, by person."""
    query = (
        select(Membership.person, Membership.role)
        .join(Person, Person.id == Membership.person)
        .where(Membership.site == site_id, Membership.ended_at.is_(None), Person.state == ACTIVE)
    )
    return dict(session.execute(query).all())


def find_member(session: Session, site_id: str, person_id: str, name: str) -> Member | None:
    """A person's membership of a site, ended ones too; None if there never was one."""
    query = select(Membership.role, Membership.changes, Membership.ended_at).where(
        Membership.site == site_id, Membership.person == person_id
    )
    row = session.execute(query).one_or_none()
    if row is None:
        return None
    return Member(person_id, name, site_id, None if row.ended_at is not None else row.role, row.changes)


def scope_of(session: Session, member: Member) -> str:
    """What a phone's copy covers: changes with role, membership and the types that the role reads."""
    readable = hashlib.sha256(",".join(records.readable_types(member.reads_as)).encode()).hexdigest()[:8]
    return f"{member.reads_as or 'none'}.{member.changes}.{readable}"


def note_device(session: Session, member: Member, device: str, operations: int, photos: int) -> None:
    """Write down that a phone was heard of, and how much it says it has not sent yet."""
    if not device_has_news(session, member, device, operations, photos):
        return
    held = session.execute(
        select(Device.unsent_since).where(Device.site == member.site_id, Device.id == device)
    ).one_or_none()
    unsent = operations + photos > 0
    values: dict[str, object] = {
        "person": member.person_id,
        "seen_at": now(),
        "unsent_operations": operations,
        "unsent_photos": photos,
        "unsent_since": (held.unsent_since if held is not None else None) or now() if unsent else None,
    }
    if held is None:
        session.execute(insert(Device).values(site=member.site_id, id=device, first_at=now(), **values))
    else:
        session.execute(update(Device).where(Device.site == member.site_id, Device.id == device).values(**values))


def device_has_news(session: Session, member: Member, device: str, operations: int, photos: int) -> bool:
    """Whether what a phone says of itself differs from what is written, or that is a minute old."""
    row = session.execute(
        select(Device.person, Device.unsent_operations, Device.unsent_photos, Device.seen_at).where(
            Device.site == member.site_id, Device.id == device
        )
    ).one_or_none()
    told = (member.person_id, operations, photos)
    return row is None or tuple(row)[:3] != told or row.seen_at < later(-SEEN_AGAIN_S)


def device_revoked(session: Session, device: str) -> bool:
    """Whether a device has been revoked, on whichever site."""
    query = select(Device.id).where(Device.id == device, Device.revoked_at.is_not(None)).limit(1)
    return session.execute(query).first() is not None
