"""People: who there is, who may still sign in, and who is on which site in which role."""

from __future__ import annotations

from typing import TypedDict
from uuid import uuid4

from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session as Transaction

from spanwalk import records
from spanwalk.rules.record_types import facet
from spanwalk.services.clock import now
from spanwalk.services.people.names import check_name, name_key
from spanwalk.services.people.passwords import check_password, hash_password
from spanwalk.services.people.signing_in import by_name, end_sessions
from spanwalk.services.refusals import NotThere, WrongInput
from spanwalk.services.sync.state import view_record
from spanwalk.storage.tables import ACTIVE, Membership, Person, Record, Site


def owner_called(session: Transaction, name: str) -> str:
    """The id of the owner of the server of a name.

    Raises
    ------
    NotThere
        Nobody is called so, or they are no owner.
    """
    query = select(Person.id).where(Person.name_key == name_key(name), Person.owner.is_(True))
    found: str | None = session.execute(query).scalar_one_or_none()
    if found is None:
        raise NotThere("person-unknown", value=name)
    return found


class PersonOnSite(TypedDict):
    """Who is or was on a site; without a role they are no longer."""

    id: str
    name: str
    role: str | None
    state: str


class SiteOfPerson(TypedDict):
    """A site that a person is on, and the people whose names stand beside values there."""

    id: str
    name: str
    kind: str
    role: str
    archived_at: str | None
    people: list[PersonOnSite]


def sites_of(session: Transaction, person_id: str) -> list[SiteOfPerson]:
    """The sites that a person is on: id, name, kind, role, and the people whose names stand beside values; buildings first."""
    query = (
        select(Membership.site, Membership.role, Site.archived_at, Site.kind)
        .join(Site, Site.id == Membership.site)
        .where(Membership.person == person_id, Membership.ended_at.is_(None))
        .order_by(Site.kind, Membership.since, Membership.site)
    )
    return [
        {
            "id": site,
            "name": site_name(session, site),
            "kind": kind,
            "role": role,
            "archived_at": archived_at,
            "people": people_of(session, site),
        }
        for site, role, archived_at, kind in session.execute(query)
    ]


def site_name(session: Transaction, site_id: str) -> str:
    """A site's name, from its own record."""
    row = session.execute(select(Record).where(Record.site == site_id, Record.id == site_id)).scalar_one_or_none()
    identity = facet(view_record(row), "identity") if row is not None else {}
    return str(identity.get("name", site_id))


def people_of(session: Transaction, site_id: str) -> list[PersonOnSite]:
    """All who are or were on a site: id, name, role (None for those who are no longer), state."""
    query = (
        select(Person.id, Person.name, Person.state, Membership.role, Membership.ended_at)
        .join(Membership, Membership.person == Person.id)
        .where(Membership.site == site_id)
        .order_by(Person.name_key)
    )
    return [
        {
            "id": row.id,
            "name": row.name,
            "role": None if row.ended_at is not None else row.role,
            "state": row.state,
        }
        for row in session.execute(query)
    ]


def add_person(session: Transaction, name: str, password: str, owner: bool = False) -> str:
    """Make a person who can sign in; their id. For commands: it hashes inside the transaction that it is given.

    Raises
    ------
    WrongInput
        A name that is empty, long, taken or like another's; a password that is short, long or easy to guess.
    """
    check_password(password, name)
    return new_person(session, name, hash_password(password), owner)


def new_person(session: Transaction, name: str, password_hash: str | None, owner: bool = False) -> str:
    """Make a person; their id. Without a password they cannot sign in until they open a one-time link.

    Raises
    ------
    WrongInput
        A name that is empty, long, taken or like another's.
    """
    kept = check_name(name, _other_names(session))
    person_id = str(uuid4())
    session.execute(
        insert(Person).values(
            id=person_id,
            name=kept,
            name_key=name_key(kept),
            password_hash=password_hash,
            owner=owner,
            created_at=now(),
            state=ACTIVE,
        )
    )
    return person_id


def rename(session: Transaction, person_id: str, name: str) -> None:
    """Give a person another name.

    Raises
    ------
    WrongInput
        As for a new person.
    """
    kept = check_name(name, _other_names(session, but=person_id))
    session.execute(update(Person).where(Person.id == person_id).values(name=kept, name_key=name_key(kept)))


def _other_names(session: Transaction, but: str = "") -> list[str]:
    return list(session.execute(select(Person.name).where(Person.id != but)).scalars())


def set_password(session: Transaction, person_id: str, password: str) -> None:
    """Give a person another password and end their sign-ins. For commands: it hashes inside the transaction."""
    check_password(password)
    set_password_hash(session, person_id, hash_password(password))


def set_password_hash(session: Transaction, person_id: str, password_hash: str) -> None:
    """Give a person another password and end their sign-ins."""
    session.execute(update(Person).where(Person.id == person_id).values(password_hash=password_hash))
    end_sessions(session, person_id)


def set_role(session: Transaction, site_id: str, person_id: str, role: str | None) -> None:
    """Put a person on a site in a role, change the role, or (None) take them off; whoever asks.

    Raises
    ------
    WrongInput
        Not one of the roles.
    NotThere
        No such person.
    """
    if role is not None and role not in records.ROLES:
        raise WrongInput("role-unknown", field="role", value=str(role)[:40], right=list(records.ROLES))
    if session.execute(select(Person.id).where(Person.id == person_id)).first() is None:
        raise NotThere("person-unknown", value=person_id)
    membership = session.execute(
        select(Membership.role, Membership.changes, Membership.ended_at).where(
            Membership.site == site_id, Membership.person == person_id
        )
    ).one_or_none()
    if membership is None and role is not None:
        session.execute(insert(Membership).values(site=site_id, person=person_id, role=role, changes=0, since=now()))
    elif membership is not None and (membership.role, membership.ended_at is None) != (role, True):
        session.execute(
            update(Membership)
            .where(Membership.site == site_id, Membership.person == person_id)
            .values(role=role or membership.role, changes=membership.changes + 1, ended_at=None if role else now())
        )


def person_named(session: Transaction, name: str) -> str | None:
    """The id of a person by name, in any case."""
    return session.execute(by_name(select(Person.id), name)).scalars().first()
