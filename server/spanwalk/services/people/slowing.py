"""Guesses wait, ever longer, and lock nobody out: by name, by where they come from, and apart for phones that are known.

A guess is written down before it is looked at and taken back where it was right, so that many at once, in several
processes, count as many one after another would.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from ipaddress import IPv6Address, ip_address, ip_network
from uuid import uuid4

from sqlalchemy import ColumnElement, delete, func, insert, select
from sqlalchemy.orm import Session as Transaction

from spanwalk.services.clock import later, now, seconds_between
from spanwalk.services.people.sealed import hidden_name
from spanwalk.services.refusals import TooOften
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Installation, Phone, PhoneOfPerson, SignInTry

COUNTED_S = 60 * 60
"""A wrong guess counts for so long [s]."""
CLOCKS_APART_S = 60
"""A guess further in the future was written while a server's clock was wrong; it would count until then."""
PLACE_LETTERS_MOST = 200
IPV6_PREFIX = 64
"""One line has as many addresses of IPv6 as it likes below this prefix."""


@dataclass(frozen=True)
class Pace:
    """How guesses are slowed: `free` of them at once, then a wait that doubles from a second on up to `most_s` [s]."""

    free: int
    most_s: int

    def wait_s(self, guesses: int) -> int:
        """How long after so many wrong guesses the next must wait [s].

        >>> [Pace(3, 30).wait_s(guesses) for guesses in (0, 2, 3, 4, 7, 8, 5000)]
        [0, 0, 1, 2, 16, 30, 30]
        """
        over = guesses - self.free
        return 0 if over < 0 else min(2 ** min(over, 20), self.most_s)


FOR_A_NAME_FROM_A_PLACE = Pace(free=3, most_s=30)
FOR_A_NAME, FROM_A_PLACE = Pace(free=20, most_s=10), Pace(free=20, most_s=30)
"""Of a name from everywhere, and of all names from one place: they slow who has guessed that name wrong there before."""
FLOOD_FOR_A_NAME, FLOOD_FROM_A_PLACE = Pace(free=300, most_s=10), Pace(free=300, most_s=30)
"""The same for who has not: nobody is slowed by the guesses of others before there are very many."""


@dataclass(frozen=True)
class Guess:
    """A guess that was written down: to be taken back if it is right."""

    id: str
    key: str
    place: str


def place_of(address: str) -> str:
    """Under what the guesses from an address are counted.

    >>> place_of("2001:db8:1:2:3:4:5:6"), place_of("192.0.2.7"), place_of("::ffff:192.0.2.7"), place_of("?")
    ('2001:db8:1:2::/64', '192.0.2.7', '192.0.2.7', '?')
    """
    try:
        parsed = ip_address(address)
    except ValueError:
        return address[:PLACE_LETTERS_MOST]
    if isinstance(parsed, IPv6Address):
        if parsed.ipv4_mapped is not None:
            return str(parsed.ipv4_mapped)
        return str(ip_network((int(parsed), IPV6_PREFIX), strict=False))
    return str(parsed)


def begin_guess(name: str, address: str, person_id: str | None, known: str | None) -> Guess:
    """Write a guess down before it is looked at.

    Parameters
    ----------
    name : str
        Whose password or second factor is tried, as typed.
    address : str
        Where the request came from.
    person_id : str or None
        Whose name it is; None: nobody's.
    known : str or None
        The secret in the cookie of the phone that asks.

    Raises
    ------
    TooOften
        It comes too soon after wrong ones; with the seconds to wait.
    """
    with reading() as session:
        key = hidden_name(session, name)
        place = _phone(session, person_id, known) or place_of(address)
        _refuse_too_soon(session, key, place)
    guess = Guess(str(uuid4()), key, place)
    with writing() as session:
        session.execute(select(Installation.id).with_for_update())  # one at a time, in all processes
        _refuse_too_soon(session, key, place)
        forget_old(session)
        session.execute(insert(SignInTry).values(id=guess.id, name_key=key, place=place, at=now()))
    return guess


def forget_old(session: Transaction) -> int:
    """Forget guesses that no longer count; how many."""
    return int(session.execute(delete(SignInTry).where(~_recent())).rowcount)  # type: ignore[attr-defined]


def take_back(session: Transaction, guess: Guess) -> None:
    """Forget a guess that was never looked at."""
    session.execute(delete(SignInTry).where(SignInTry.id == guess.id))


def was_right(session: Transaction, guess: Guess) -> None:
    """Forget a guess that was right, and the slips before it from the same place."""
    session.execute(delete(SignInTry).where(SignInTry.name_key == guess.key, SignInTry.place == guess.place))


def _phone(session: Transaction, person_id: str | None, secret: str | None) -> str | None:
    """The phone that a person has signed in on before, by the secret in its cookie, as guesses from it are counted."""
    if person_id is None or not secret:
        return None
    query = (
        select(Phone.id)
        .join(PhoneOfPerson, PhoneOfPerson.phone == Phone.id)
        .where(Phone.secret_hash == hashlib.sha256(secret.encode()).hexdigest(), PhoneOfPerson.person == person_id)
        .where(Phone.shut_out_at.is_(None))
    )
    found = session.execute(query).scalar_one_or_none()
    return None if found is None else f"phone {found}"


def _recent() -> ColumnElement[bool]:
    return (SignInTry.at > later(-COUNTED_S)) & (SignInTry.at < later(CLOCKS_APART_S))


def _refuse_too_soon(session: Transaction, key: str, place: str) -> None:
    by_name, there = SignInTry.name_key == key, SignInTry.place == place
    both = _wait_s(session, by_name & there, FOR_A_NAME_FROM_A_PLACE)
    slipped = session.execute(select(SignInTry.id).where(by_name & there, _recent()).limit(1)).first() is not None
    waits = [both]
    if not place.startswith("phone "):
        waits.append(_wait_s(session, by_name, FOR_A_NAME if slipped else FLOOD_FOR_A_NAME))
        waits.append(_wait_s(session, there, FROM_A_PLACE if slipped else FLOOD_FROM_A_PLACE))
    if max(waits) > 0:
        raise TooOften("sign-in-too-often", seconds=max(waits))


def _wait_s(session: Transaction, which: ColumnElement[bool], pace: Pace) -> int:
    """How many seconds are left to wait, by the guesses of one sort."""
    query = select(func.count(), func.max(SignInTry.at)).where(which, _recent())
    guesses, last = session.execute(query).one()
    wait = pace.wait_s(guesses)
    if wait == 0 or last is None:
        return 0
    left = wait - seconds_between(last, now())
    return max(0, min(wait, int(-(-left // 1))))
