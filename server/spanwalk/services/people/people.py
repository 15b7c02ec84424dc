"""People: passwords, sign-ins, and who is on which site in which role."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from threading import BoundedSemaphore
from typing import TypedDict
from uuid import uuid4

from argon2 import PasswordHasher
from argon2.exceptions import VerificationError
from sqlalchemy import delete, func, insert, select, update
from sqlalchemy.orm import Session as Transaction

from spanwalk import records
from spanwalk.rules.survey import facet
from spanwalk.services.clock import later, now
from spanwalk.services.refusals import NotSignedIn, NotThere, TooOften, WrongInput
from spanwalk.services.sync.state import view_record
from spanwalk.storage.tables import Membership, Person, Record, Session, SignInAttempt, Site

HASHER = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)
HASHING = BoundedSemaphore(2)
"""A hash takes 19 MiB and tens of milliseconds: so many at once, and no more."""
ATTEMPT_WINDOW_S = 15 * 60
CLOCKS_APART_S = 60
"""A try further in the future was counted while a server's clock was wrong; it would count until then."""
FAILURES_FROM_ONE_PLACE = 10
"""Wrong passwords for one name from one address, before it must wait."""
FAILURES_FOR_A_NAME = 100
FAILURES_FROM_AN_ADDRESS = 200
PASSWORD_LETTERS_LEAST, PASSWORD_LETTERS_MOST = 10, 200
NAME_LETTERS_MOST = 80


@dataclass(frozen=True)
class SignedIn:
    """A person who is signed in. An owner keeps sites, people and devices."""

    id: str
    name: str
    owner: bool


def name_key(name: str) -> str:
    """A name as it is looked up."""
    return " ".join(name.split()).casefold()


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


def hash_password(password: str) -> str:
    """Argon2id hash (19 MiB, t = 2, p = 1)."""
    with HASHING:
        return HASHER.hash(password)


_NOBODY = "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$YVVVrGcCsM5BsVUsAfMHh1UKrc5QTr4dVBCKrkoTLaw"


def password_fits(stored: str | None, password: str) -> bool:
    """Whether a password is the one that was hashed; takes as long when there is none."""
    with HASHING:
        try:
            return HASHER.verify(stored or _NOBODY, password) and stored is not None
        except VerificationError:
            return False


def sign_in(session: Transaction, name: str, password: str, address: str, days: int) -> tuple[str, SignedIn]:
    """Sign a person in.

    Parameters
    ----------
    session : Session
        A writing transaction.
    name, password : str
        As typed; the name in any case.
    address : str
        Where the request came from.
    days : int
        Days until the sign-in expires.

    Returns
    -------
    tuple of str and SignedIn
        The token for the cookie, which is stored only as a hash; and who it is.

    Raises
    ------
    TooOften
        Too many wrong tries.
    NotSignedIn
        Name and password do not go together. The attempt must be written down by `note_failure`
        in a transaction that is kept.
    """
    key = name_key(name)
    _not_too_often(session, key, address)
    row = session.execute(select(Person).where(Person.name_key == key)).scalar_one_or_none()
    if not password_fits(row.password_hash if row is not None else None, password) or row is None:
        raise NotSignedIn("sign-in-refused", value=name[:NAME_LETTERS_MOST])
    token = secrets.token_urlsafe(32)
    session.execute(
        insert(Session).values(
            token_hash=token_hash(token), person=row.id, created_at=now(), expires_at=later(days * 86400)
        )
    )
    session.execute(delete(Session).where(Session.expires_at < now()))
    return token, SignedIn(row.id, row.name, row.owner)


def note_failure(session: Transaction, name: str, address: str) -> None:
    """Count a wrong try, and forget those that no longer count."""
    at = SignInAttempt.at
    session.execute(delete(SignInAttempt).where((at < later(-ATTEMPT_WINDOW_S)) | (at > later(CLOCKS_APART_S))))
    session.execute(insert(SignInAttempt).values(name_key=name_key(name)[:200], address=address, at=now()))


def _not_too_often(session: Transaction, key: str, address: str) -> None:
    at = SignInAttempt.at
    recent = (at > later(-ATTEMPT_WINDOW_S)) & (at < later(CLOCKS_APART_S))
    by_name, by_address = SignInAttempt.name_key == key[:200], SignInAttempt.address == address
    for limit, which in (
        (FAILURES_FROM_ONE_PLACE, by_name & by_address),
        (FAILURES_FOR_A_NAME, by_name),
        (FAILURES_FROM_AN_ADDRESS, by_address),
    ):
        count = session.execute(select(func.count()).select_from(SignInAttempt).where(recent, which)).scalar_one()
        if count >= limit:
            raise TooOften("sign-in-too-often", minutes=ATTEMPT_WINDOW_S // 60, seconds=ATTEMPT_WINDOW_S)


def token_hash(token: str) -> str:
    """What of a session's token is stored: 256 random bits need no slow hash."""
    return hashlib.sha256(token.encode()).hexdigest()


def who_is(session: Transaction, token: str) -> SignedIn | None:
    """The person of a session's token; None if it is unknown or has expired."""
    query = (
        select(Person.id, Person.name, Person.owner)
        .join(Session, Session.person == Person.id)
        .where(Session.token_hash == token_hash(token), Session.expires_at > now())
    )
    row = session.execute(query).one_or_none()
    return None if row is None else SignedIn(row.id, row.name, row.owner)


def sign_out(session: Transaction, token: str) -> None:
    """End a sign-in."""
    session.execute(delete(Session).where(Session.token_hash == token_hash(token)))


class PersonOnSite(TypedDict):
    """Who is or was on a site; without a role they are no longer."""

    id: str
    name: str
    role: str | None


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
    """All who are or were on a site: id, name, role (None for those who are no longer)."""
    query = (
        select(Person.id, Person.name, Membership.role, Membership.ended_at)
        .join(Membership, Membership.person == Person.id)
        .where(Membership.site == site_id)
        .order_by(Person.name_key)
    )
    return [
        {"id": row.id, "name": row.name, "role": None if row.ended_at is not None else row.role}
        for row in session.execute(query)
    ]


def add_person(session: Transaction, name: str, password: str, owner: bool = False) -> str:
    """Make a person who can sign in; their id.

    Raises
    ------
    WrongInput
        A name that is empty, long or taken; a password that is too short or too long.
    """
    name = " ".join(name.split())
    if not name or len(name) > NAME_LETTERS_MOST or not records.storable(name):
        raise WrongInput("person-name-wrong", field="name", value=name[:80], most=NAME_LETTERS_MOST)
    taken = session.execute(select(Person.id).where(Person.name_key == name_key(name))).first()
    if taken is not None:
        raise WrongInput("person-name-taken", field="name", value=name)
    check_password(password)
    person_id = str(uuid4())
    session.execute(
        insert(Person).values(
            id=person_id,
            name=name,
            name_key=name_key(name),
            password_hash=hash_password(password),
            owner=owner,
            created_at=now(),
        )
    )
    return person_id


def check_password(password: str) -> None:
    """Raise if a password is too short or too long."""
    if not PASSWORD_LETTERS_LEAST <= len(password) <= PASSWORD_LETTERS_MOST or not records.storable(password):
        raise WrongInput("password-wrong", field="password", least=PASSWORD_LETTERS_LEAST, most=PASSWORD_LETTERS_MOST)


def set_password(session: Transaction, person_id: str, password: str) -> None:
    """Give a person another password and end their sign-ins."""
    check_password(password)
    session.execute(update(Person).where(Person.id == person_id).values(password_hash=hash_password(password)))
    session.execute(delete(Session).where(Session.person == person_id))


def set_role(session: Transaction, site_id: str, person_id: str, role: str | None) -> None:
    """Put a person on a site in a role, change the role, or (None) take them off.

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
    held = session.execute(
        select(Membership.role, Membership.changes, Membership.ended_at).where(
            Membership.site == site_id, Membership.person == person_id
        )
    ).one_or_none()
    if held is None and role is not None:
        session.execute(insert(Membership).values(site=site_id, person=person_id, role=role, changes=0, since=now()))
    elif held is not None and (held.role, held.ended_at is None) != (role, True):
        session.execute(
            update(Membership)
            .where(Membership.site == site_id, Membership.person == person_id)
            .values(role=role or held.role, changes=held.changes + 1, ended_at=None if role else now())
        )


def person_named(session: Transaction, name: str) -> str | None:
    """The id of a person by name, in any case."""
    return session.execute(select(Person.id).where(Person.name_key == name_key(name))).scalar_one_or_none()
