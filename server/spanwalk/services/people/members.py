"""Who a person is on a site, and what their phone was told about the server."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.storage.tables import ACTIVE, Installation, Membership, Person


@dataclass(frozen=True)
class Member:
    """A person on a site. `role` is None once they have been taken off it.

    `phone` is the phone that they are signed in on, None for the server's own work; `shut_out`: it is shut out here.
    """

    person_id: str
    name: str
    site_id: str
    role: str | None
    changes: int = 0
    phone: str | None = None
    shut_out: bool = False

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
    reads = [*records.readable_types(member.reads_as), *records.not_read(member.reads_as)]
    readable = hashlib.sha256(",".join(reads).encode()).hexdigest()[:8]
    return f"{member.reads_as or 'none'}.{member.changes}.{readable}"
