"""A second phone: a code that one shows on a phone one is signed in on, and that signs one in on another. Good once, for minutes.

The code is as good as a password while it stands on the screen, so it asks for that first, and nothing but its hash is
kept. Nobody guesses it: it has 256 random bits.
"""

from __future__ import annotations

import secrets
from typing import TypedDict
from uuid import uuid4

from sqlalchemy import delete, select
from sqlalchemy.orm import Session as Transaction

from spanwalk.services.clock import later, now
from spanwalk.services.people.qr import qr_rows
from spanwalk.services.people.signing_in import Asked, SignedIn, begin_session, prove_password, token_hash
from spanwalk.services.refusals import InTheWay, NotThere
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Enrolment, Person, Session

GOOD_FOR_S = 5 * 60
PATH = "/enrol"


class EnrolmentMade(TypedDict):
    """A code for a second phone, told once: shown to its camera, or opened there as a link."""

    id: str
    address: str
    qr: list[str]
    expires_at: str


class EnrolmentState(TypedDict):
    """What has become of a code: `open`, `used` or `expired`."""

    state: str


class EnrolmentOpened(TypedDict):
    """Whom a code signs in."""

    name: str
    expires_at: str


def make_enrolment(person: SignedIn, password: str, asked: Asked, origin: str) -> EnrolmentMade:
    """A code for a second phone of who asks; an earlier one of theirs is worth nothing any more.

    Parameters
    ----------
    person : SignedIn
        Who asks; the code ends with this sign-in of theirs.
    password : str
        Their password, asked for anew: a phone that lies about unlocked makes no others.
    asked : Asked
        Where the request came from; wrong tries count as those of a sign-in do.
    origin : str
        Scheme and host before the path.

    Raises
    ------
    TooOften
        Too many wrong tries.
    WrongInput
        The password is not right.
    """
    prove_password(person, password, asked)
    secret, made, expires = secrets.token_urlsafe(32), str(uuid4()), later(GOOD_FOR_S)
    with writing() as session:
        old = (Enrolment.person == person.id) & Enrolment.used_at.is_(None)
        session.execute(delete(Enrolment).where(old | (Enrolment.expires_at < later(-GOOD_FOR_S))))
        values = {"person": person.id, "session": person.session, "made_at": now(), "expires_at": expires}
        session.add(Enrolment(id=made, secret_hash=token_hash(secret), **values))
    # After '#', a browser sends nothing to any server: the secret stands in no log.
    link = f"{origin.rstrip('/')}{PATH}#{secret}"
    return {"id": made, "address": link, "qr": qr_rows(link), "expires_at": expires}


def state_of_enrolment(session: Transaction, person: SignedIn, enrolment_id: str) -> EnrolmentState:
    """What has become of a code of who asks.

    Raises
    ------
    NotThere
        They have none of that id.
    """
    query = select(Enrolment).where(Enrolment.id == enrolment_id, Enrolment.person == person.id)
    row = session.execute(query).scalar_one_or_none()
    if row is None:
        raise NotThere("enrolment-unknown")
    if row.used_at is not None:
        return {"state": "used"}
    return {"state": "expired" if row.expires_at <= now() else "open"}


def withdraw_enrolment(session: Transaction, person: SignedIn, enrolment_id: str) -> None:
    """Withdraw a code of who asks; one that was used or is none is passed over."""
    mine = (Enrolment.id == enrolment_id) & (Enrolment.person == person.id) & Enrolment.used_at.is_(None)
    session.execute(delete(Enrolment).where(mine))


def open_enrolment(secret: str) -> EnrolmentOpened:
    """Whom a code signs in; that does not use it up: what previews a link may open it.

    Raises
    ------
    NotThere
        There is no such code, or the sign-in that made it has ended.
    InTheWay
        It is used or has expired.
    """
    with reading() as session:
        found = _good(session, secret)
        name = session.execute(select(Person.name).where(Person.id == found.person)).scalar_one()
        return {"name": name, "expires_at": found.expires_at}


def accept_enrolment(secret: str, days: int, device: str) -> tuple[str, SignedIn]:
    """Come in by a code: a sign-in of its person begins, and the code is worth nothing any more.

    Parameters
    ----------
    secret : str
        What stands after '#' in its address.
    days : int
        Days until the sign-in expires.
    device : str
        `phone` or `computer`.

    Returns
    -------
    tuple of str and SignedIn
        The token for the cookie, and who it is.

    Raises
    ------
    NotThere, InTheWay
        As for opening it.
    NotAllowed
        The person is disabled or has left.
    """
    with writing() as session:
        found = _good(session, secret)
        found.used_at = now()
        return begin_session(session, found.person, days, device)


def _good(session: Transaction, secret: str) -> Enrolment:
    """A code that can still be used, locked while this transaction lasts."""
    query = select(Enrolment).where(Enrolment.secret_hash == token_hash(secret)).with_for_update()
    found = session.execute(query).scalar_one_or_none()
    if found is None or not _still_signed_in(session, found):
        raise NotThere("enrolment-unknown")
    if found.used_at is not None:
        raise InTheWay("enrolment-used")
    if found.expires_at <= now():
        raise InTheWay("enrolment-expired")
    return found


def _still_signed_in(session: Transaction, enrolment: Enrolment) -> bool:
    """Whether the sign-in that made a code still holds: ended, on a lost phone say, it brings nobody in."""
    if enrolment.used_at is not None:
        return True
    made_from = select(Session.id).where(Session.id == enrolment.session, Session.expires_at > now())
    return session.execute(made_from).first() is not None
