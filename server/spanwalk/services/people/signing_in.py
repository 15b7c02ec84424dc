"""Signing in: what gets in, how often one may try, and where a person is signed in."""

from __future__ import annotations

import hashlib
import secrets
from contextlib import suppress
from dataclasses import dataclass
from typing import TypedDict, TypeVarTuple
from uuid import uuid4

from sqlalchemy import Select, delete, func, insert, select, update
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session as Transaction

from spanwalk.services.clock import later, now
from spanwalk.services.people.names import NAME_LETTERS_MOST, name_key
from spanwalk.services.people.passwords import check_password, hash_password, password_fits
from spanwalk.services.refusals import NotAllowed, NotSignedIn, NotThere, TooOften, WrongInput
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import ACTIVE, Person, Phone, Session, SignInAttempt

Row = TypeVarTuple("Row")
ATTEMPT_WINDOW_S = 15 * 60
CLOCKS_APART_S = 60
"""A try further in the future was counted while a server's clock was wrong; it would count until then."""
FAILURES_FROM_ONE_PLACE = 10
"""Wrong passwords for one name from one address, before it must wait."""
FAILURES_FOR_A_NAME = 100
FAILURES_FROM_AN_ADDRESS = 200
SEEN_AGAIN_S = 10 * 60
"""That a sign-in is in use is written down once in so many seconds."""
PHONE, COMPUTER = "phone", "computer"


@dataclass(frozen=True)
class SignedIn:
    """A person who is signed in, and the phone that they are signed in on. An owner keeps sites, people and devices.

    `shut_out`: that phone is shut out of all sites.
    """

    id: str
    name: str
    owner: bool
    language: str | None = None
    units: str | None = None
    session: str = ""
    phone: str = ""
    shut_out: bool = False


class OwnSession(TypedDict):
    """One of a person's sign-ins."""

    id: str
    device: str
    created_at: str
    seen_at: str
    this: bool


def sign_in(name: str, password: str, address: str, days: int, device: str) -> tuple[str, SignedIn]:
    """Sign a person in. The password is hashed between two transactions: nobody waits for it to write.

    Parameters
    ----------
    name, password : str
        As typed; the name in any case.
    address : str
        Where the request came from.
    days : int
        Days until the sign-in expires.
    device : str
        `phone` or `computer`, for the person's list of sign-ins.

    Returns
    -------
    tuple of str and SignedIn
        The token for the cookie, which is stored only as a hash; and who it is.

    Raises
    ------
    TooOften
        Too many wrong tries.
    NotSignedIn
        Name and password do not go together.
    NotAllowed
        They do, but the person is disabled or has left.
    """
    with reading() as session:
        refuse_too_often(session, name_key(name), address)
        row = session.execute(by_name(select(Person.id, Person.password_hash), name)).first()
    fits = password_fits(row.password_hash if row is not None else None, password)
    with writing() as session:
        if row is None or not fits or _hash_of(session, row.id) != row.password_hash:
            note_failure(session, name, address)
        else:
            return begin_session(session, row.id, days, device)
    raise NotSignedIn("sign-in-refused", value=name[:NAME_LETTERS_MOST])


def by_name(query: Select[*Row], name: str) -> Select[*Row]:
    """A query for the person of a name; one made before names were folded, who has kept another key, goes first."""
    keys = {name_key(name), " ".join(name.split()).casefold()}
    return query.where(Person.name_key.in_(keys)).order_by(Person.name_key == name_key(name)).limit(1)


def _hash_of(session: Transaction, person_id: str) -> str | None:
    return session.execute(select(Person.password_hash).where(Person.id == person_id)).scalar_one_or_none()


def begin_session(session: Transaction, person_id: str, days: int, device: str) -> tuple[str, SignedIn]:
    """A new sign-in of a person: the token for the cookie, and who it is.

    Raises
    ------
    NotAllowed
        The person is disabled or has left.
    """
    person = session.execute(select(Person).where(Person.id == person_id)).scalar_one()
    if person.state != ACTIVE:
        raise NotAllowed(f"person-{person.state}", name=person.name)
    token, made = secrets.token_urlsafe(32), str(uuid4())
    session.execute(
        insert(Session).values(
            token_hash=token_hash(token),
            id=made,
            person=person_id,
            device=device,
            created_at=now(),
            seen_at=now(),
            expires_at=later(days * 86400),
        )
    )
    session.execute(delete(Session).where(Session.expires_at < now()))
    return token, SignedIn(person.id, person.name, person.owner, person.language, person.units, made)


def note_failure(session: Transaction, name: str, address: str) -> None:
    """Count a wrong try, and forget those that no longer count."""
    count_try(session, name_key(name), address)


def count_try(session: Transaction, key: str, address: str) -> None:
    """Count a wrong try for what is tried, and forget those that no longer count."""
    at = SignInAttempt.at
    session.execute(delete(SignInAttempt).where((at < later(-ATTEMPT_WINDOW_S)) | (at > later(CLOCKS_APART_S))))
    session.execute(insert(SignInAttempt).values(name_key=key[:200], address=address, at=now()))


def refuse_too_often(session: Transaction, key: str, address: str, code: str = "sign-in-too-often") -> None:
    """Raise if there were too many wrong tries of late: for this from here, for this, or from here.

    Raises
    ------
    TooOften
        With the seconds to wait.
    """
    at = SignInAttempt.at
    recent = (at > later(-ATTEMPT_WINDOW_S)) & (at < later(CLOCKS_APART_S))
    by_key, by_address = SignInAttempt.name_key == key[:200], SignInAttempt.address == address
    for limit, which in (
        (FAILURES_FROM_ONE_PLACE, by_key & by_address),
        (FAILURES_FOR_A_NAME, by_key),
        (FAILURES_FROM_AN_ADDRESS, by_address),
    ):
        count = session.execute(select(func.count()).select_from(SignInAttempt).where(recent, which)).scalar_one()
        if count >= limit:
            raise TooOften(code, minutes=ATTEMPT_WINDOW_S // 60, seconds=ATTEMPT_WINDOW_S)


def token_hash(token: str) -> str:
    """What of a session's token is stored: 256 random bits need no slow hash."""
    return hashlib.sha256(token.encode()).hexdigest()


def who_is(session: Transaction, token: str) -> SignedIn | None:
    """The person of a session's token; None if it is unknown, has expired or is of no phone, or the person may not sign in."""
    query = (
        select(Person.id, Person.name, Person.owner, Person.language, Person.units, Session.id)
        .add_columns(Phone.id.label("phone"), Phone.shut_out_at.is_not(None))
        .join(Session, Session.person == Person.id)
        .join(Phone, Phone.id == Session.phone)
        .where(Session.token_hash == token_hash(token), Session.expires_at > now(), Person.state == ACTIVE)
    )
    row = session.execute(query).one_or_none()
    return None if row is None else SignedIn(*row)


def sign_out(session: Transaction, token: str) -> None:
    """End a sign-in."""
    session.execute(delete(Session).where(Session.token_hash == token_hash(token)))


def end_sessions(session: Transaction, person_id: str, but: str = "") -> None:
    """End all sign-ins of a person, but one."""
    session.execute(delete(Session).where(Session.person == person_id, Session.id != but))


def change_password(person: SignedIn, old: str, password: str, address: str) -> None:
    """Change one's own password; every other sign-in of that person ends.

    Parameters
    ----------
    person : SignedIn
        Who asks.
    old, password : str
        The password until now, and the new one.
    address : str
        Where the request came from; wrong tries count as those of a sign-in do.

    Raises
    ------
    TooOften
        Too many wrong tries.
    WrongInput
        The old one is not right, or the new one is short, long or easy to guess.
    """
    check_password(password, person.name)
    with reading() as session:
        refuse_too_often(session, name_key(person.name), address)
        stored = _hash_of(session, person.id)
    if not password_fits(stored, old):
        with writing() as session:
            note_failure(session, person.name, address)
        raise WrongInput("password-old-wrong", field="old")
    hashed = hash_password(password)
    with writing() as session:
        session.execute(update(Person).where(Person.id == person.id).values(password_hash=hashed))
        end_sessions(session, person.id, but=person.session)


def own_sessions(session: Transaction, person: SignedIn) -> list[OwnSession]:
    """Where a person is signed in, the newest use first."""
    query = (
        select(Session)
        .where(Session.person == person.id, Session.expires_at > now())
        .order_by(Session.seen_at.desc(), Session.id)
    )
    return [
        OwnSession(
            id=row.id, device=row.device, created_at=row.created_at, seen_at=row.seen_at, this=row.id == person.session
        )
        for row in session.execute(query).scalars()
    ]


def end_own_session(session: Transaction, person: SignedIn, session_id: str) -> None:
    """End one of one's own sign-ins.

    Raises
    ------
    NotThere
        Nobody's, or another's.
    """
    mine = (Session.person == person.id) & (Session.id == session_id)
    if session.execute(select(Session.id).where(mine)).first() is None:
        raise NotThere("session-unknown")
    session.execute(delete(Session).where(mine))


def note_seen(person: SignedIn) -> None:
    """Write down that a sign-in is in use, if that was not done of late; a disk that is full stops nobody from reading."""
    with reading() as session:
        seen = session.execute(select(Session.seen_at).where(Session.id == person.session)).scalar_one_or_none()
    if seen is not None and seen < later(-SEEN_AGAIN_S):
        with suppress(DBAPIError), writing() as session:
            session.execute(update(Session).where(Session.id == person.session).values(seen_at=now()))
