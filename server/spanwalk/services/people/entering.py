"""Proving again who one is, before what cannot be taken back: by the second factor where there is one, else the password."""

from __future__ import annotations

from sqlalchemy import select, update
from sqlalchemy.orm import Session as Transaction

from spanwalk.services.clock import later, now
from spanwalk.services.people.second_factor import PASSKEY, factors_of, passkey_to_ask, proves
from spanwalk.services.people.signing_in import Asked, SignedIn, prove_password
from spanwalk.services.people.slowing import begin_guess, was_right
from spanwalk.services.refusals import NotAllowed, WrongInput
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Membership, Session

KEEP_PEOPLE = ("manager", "owner")
"""Roles whose holders keep people and sites."""


def refuse_unless_entered(session: Transaction, person: SignedIn, minutes: int, factor_required: bool) -> None:
    """Raise unless a person proved in this sign-in, at most so many minutes ago, who they are.

    Parameters
    ----------
    session : Session
        A transaction.
    person : SignedIn
        Who asks.
    minutes : int
        How long one proof lasts [min].
    factor_required : bool
        Whether owners and managers must have a second factor for this.

    Raises
    ------
    NotAllowed
        `enter-again`, or `second-factor-first`.
    """
    if factor_required and keeps_people(session, person) and not factors_of(session, person.id):
        raise NotAllowed("second-factor-first")
    if not _is_fresh(session, person, minutes):
        raise NotAllowed("enter-again", minutes=minutes)


def _is_fresh(session: Transaction, person: SignedIn, minutes: int) -> bool:
    entered = session.execute(select(Session.entered_at).where(Session.id == person.session)).scalar_one_or_none()
    return entered is not None and entered >= later(-60 * minutes)


def keeps_people(session: Transaction, person: SignedIn) -> bool:
    """Whether a person is an owner of the firm, or keeps the people of a site."""
    query = select(Membership.site).where(
        Membership.person == person.id, Membership.ended_at.is_(None), Membership.role.in_(KEEP_PEOPLE)
    )
    return person.owner or session.execute(query.limit(1)).first() is not None


def enter_again(person: SignedIn, password: str | None, asked: Asked, minutes: int) -> None:
    """Prove in a sign-in who one is: by a second factor if one has any, else by the password.

    Parameters
    ----------
    person : SignedIn
        Who asks.
    password : str or None
        The password, of who has no second factor.
    asked : Asked
        Where it came from, and what was shown of a second factor.
    minutes : int
        How long it will last [min].

    Raises
    ------
    NotAllowed
        `enter-again`: nothing was shown, and the last time is too long ago; `methods` says what would do, `passkey` what
        one is asked.
    WrongInput
        It was wrong.
    TooOften, Unavailable
        As for signing in.
    """
    with reading() as session:
        methods = sorted({each["kind"] for each in factors_of(session, person.id)})
        fresh = _is_fresh(session, person, minutes)
    if not (asked.proof if methods else password):
        if fresh:
            return
        with writing() as session:
            passkey = passkey_to_ask(session, person.id, asked.here) if PASSKEY in methods else None
        told = {"passkey": passkey} if passkey else {}
        raise NotAllowed("enter-again", minutes=minutes, methods=methods or ["password"], **told)
    if not methods:
        prove_password(person, password or "", asked)
    else:
        _prove_factor(person, asked)
    with writing() as session:
        session.execute(update(Session).where(Session.id == person.session).values(entered_at=now()))


def _prove_factor(person: SignedIn, asked: Asked) -> None:
    guess = begin_guess(person.name, asked.address, person.id, asked.known)
    with writing() as session:
        right = proves(session, person.id, asked.proof, asked.here, asked.known)
        if right:
            was_right(session, guess)
    if not right:
        raise WrongInput("factor-code-wrong", field="code")
