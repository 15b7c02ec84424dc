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

from spanwalk.services.clock import after, later, now
from spanwalk.services.people.names import NAME_LETTERS_MOST, name_key
from spanwalk.services.people.passkeys import Here
from spanwalk.services.people.passwords import check_password, hash_password, let_in, password_fits
from spanwalk.services.people.second_factor import PASSKEY, Proof, factors_of, passkey_to_ask, proves
from spanwalk.services.people.slowing import Guess, begin_guess, take_back, was_right
from spanwalk.services.refusals import NotAllowed, NotSignedIn, NotThere, TooOften, WrongInput
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import ACTIVE, Person, Phone, Session, SignInAttempt

Row = TypeVarTuple("Row")
ATTEMPT_WINDOW_S = 15 * 60
CLOCKS_APART_S = 60
"""A try further in the future was counted while a server's clock was wrong; it would count until then."""
FAILURES_FROM_ONE_PLACE = 10
"""Links and labels from one address that led nowhere, before it must wait."""
FAILURES_FOR_A_NAME = 100
FAILURES_FROM_AN_ADDRESS = 200
DAY_S = 86400
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


@dataclass(frozen=True)
class Asked:
    """What comes with an attempt to sign in beside name and password.

    Parameters
    ----------
    address : str
        Where the request came from.
    here : Here
        Where this installation is reached.
    proof : Proof
        What was shown of a second factor; nothing, as long as it was not asked for.
    known : str or None
        The secret in the cookie of the phone that asks.
    """

    address: str
    here: Here
    proof: Proof
    known: str | None = None


def sign_in(name: str, password: str, asked: Asked, days: int, device: str) -> tuple[str, SignedIn]:
    """Sign a person in. The password is hashed between two transactions: nobody waits for it to write.

    Parameters
    ----------
    name, password : str
        As typed; the name in any case.
    asked : Asked
        Where it came from, and what else was shown.
    days : int
        Days without use until the sign-in ends.
    device : str
        `phone` or `computer`, for the person's list of sign-ins.

    Returns
    -------
    tuple of str and SignedIn
        The token for the cookie, which is stored only as a hash; and who it is.

    Raises
    ------
    TooOften
        It comes too soon after wrong tries.
    Unavailable
        Too many passwords are being looked at.
    NotSignedIn
        Name and password do not go together; or they do, and a second factor is needed (`second-factor-needed`, with
        `methods` and what a passkey is asked) or was wrong.
    NotAllowed
        They do, but the person is disabled or has left.
    """
    with reading() as session:
        row = session.execute(by_name(select(Person.id, Person.password_hash), name)).first()
    with let_in():
        guess = begin_guess(name, asked.address, row.id if row is not None else None, asked.known)
        fits = password_fits(row.password_hash if row is not None else None, password)
    if row is None or not fits:
        raise NotSignedIn("sign-in-refused", value=name[:NAME_LETTERS_MOST])
    prove_second(row.id, asked, guess)
    with writing() as session:
        if _hash_of(session, row.id) != row.password_hash:
            raise NotSignedIn("sign-in-refused", value=name[:NAME_LETTERS_MOST])
        was_right(session, guess)
        return begin_session(session, row.id, days, device)


def prove_second(person_id: str, asked: Asked, guess: Guess) -> None:
    """Raise unless a person who has second factors has shown one.

    Raises
    ------
    NotSignedIn
        `second-factor-needed`, or `second-factor-wrong`: that guess counts.
    """
    with writing() as session:
        methods = sorted({each["kind"] for each in factors_of(session, person_id)})
        if not methods or (asked.proof and proves(session, person_id, asked.proof, asked.here, asked.known)):
            return
        facts: dict[str, object] = {"methods": methods}
        if PASSKEY in methods:
            facts["passkey"] = passkey_to_ask(session, person_id, asked.here)
        if not asked.proof:
            take_back(session, guess)
    raise NotSignedIn("second-factor-wrong" if asked.proof else "second-factor-needed", **facts)


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
            expires_at=later(days * DAY_S),
            entered_at=now(),
        )
    )
    session.execute(delete(Session).where(Session.expires_at < now()))
    return token, SignedIn(person.id, person.name, person.owner, person.language, person.units, made)


def forget_tries(session: Transaction) -> int:
    """Forget wrong tries at links and labels that no longer count; how many."""
    at = SignInAttempt.at
    over = delete(SignInAttempt).where((at < later(-ATTEMPT_WINDOW_S)) | (at > later(CLOCKS_APART_S)))
    return int(session.execute(over).rowcount)  # type: ignore[attr-defined]


def count_try(session: Transaction, key: str, address: str) -> None:
    """Count a wrong try for what is tried, and forget those that no longer count."""
    forget_tries(session)
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


def change_password(person: SignedIn, old: str, password: str, asked: Asked) -> None:
    """Change one's own password; every other sign-in of that person ends.

    Parameters
    ----------
    person : SignedIn
        Who asks.
    old, password : str
        The password until now, and the new one.
    asked : Asked
        Where it came from; wrong tries count as those of a sign-in do.

    Raises
    ------
    TooOften
        Too soon after wrong tries.
    Unavailable
        Too many passwords are being looked at.
    WrongInput
        The old one is not right, or the new one is short, long or easy to guess.
    """
    check_password(password, person.name)
    prove_password(person, old, asked, field="old")
    hashed = hash_password(password)
    with writing() as session:
        session.execute(update(Person).where(Person.id == person.id).values(password_hash=hashed))
        end_sessions(session, person.id, but=person.session)


def prove_password(person: SignedIn, password: str, asked: Asked, field: str = "password") -> None:
    """Raise unless this is the password of who is signed in.

    Raises
    ------
    TooOften
        Too soon after wrong tries.
    Unavailable
        Too many passwords are being looked at.
    WrongInput
        It is not; `field` is the one to name.
    """
    with reading() as session:
        stored = _hash_of(session, person.id)
    with let_in():
        guess = begin_guess(person.name, asked.address, person.id, asked.known)
        fits = password_fits(stored, password)
    if not fits:
        raise WrongInput("password-old-wrong", field=field)
    with writing() as session:
        was_right(session, guess)


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


def note_seen(person: SignedIn, days: int, days_most: int) -> bool:
    """Write down that a sign-in is in use, which moves its end on, if that was not done of late.

    A disk that is full stops nobody from reading.

    Parameters
    ----------
    person : SignedIn
        Whose sign-in it is.
    days : int
        Days without use until it ends.
    days_most : int
        Days after which it ends however much it is used.

    Returns
    -------
    bool
        Whether its end moved.
    """
    with reading() as session:
        row = session.execute(
            select(Session.seen_at, Session.created_at).where(Session.id == person.session)
        ).one_or_none()
    if row is None or row.seen_at >= later(-SEEN_AGAIN_S):
        return False
    ends = min(later(days * DAY_S), after(row.created_at, days_most * DAY_S))
    with suppress(DBAPIError), writing() as session:
        session.execute(update(Session).where(Session.id == person.session).values(seen_at=now(), expires_at=ends))
        return True
    return False
