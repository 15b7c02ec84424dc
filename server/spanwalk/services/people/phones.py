"""The phones that people sign in on: enrolled at sign-in, known again by the secret in their cookie, shut out and let in again.

A phone is a browser with a cookie of ours. A sign-in belongs to one of them, and what it may ask for hangs on that phone
too: one that is shut out of a site, or of all, only hands in what it still has, and that is held.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import TypedDict
from uuid import uuid4

from sqlalchemy import delete, insert, select, update
from sqlalchemy.orm import Session as Transaction

from spanwalk.services.clock import now
from spanwalk.services.people.signing_in import SignedIn, token_hash
from spanwalk.services.refusals import InTheWay, NotThere
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Device, Person, Phone, PhoneOfPerson, PhoneOnSite, Session


@dataclass(frozen=True)
class Enrolled:
    """A phone that somebody signed in on. `secret` is what its cookie holds: the server keeps the hash alone."""

    id: str
    secret: str


class PhoneItself(TypedDict):
    """What a phone is told of itself, whoever is signed in on it: whether it is shut out of all, and of which sites."""

    known: bool
    shut_out: bool
    sites: list[str]


class SignInOnPhone(TypedDict):
    """A sign-in of one's own."""

    id: str
    created_at: str
    seen_at: str
    this: bool


class OwnPhone(TypedDict):
    """A phone that one has signed in on: what it said that it has not sent, and one's sign-ins there."""

    id: str
    kind: str
    copies: list[str]
    signed_in_at: str
    seen_at: str
    operations: int
    photos: int
    shut_out: bool
    this: bool
    sessions: list[SignInOnPhone]


class PhoneOfFirm(TypedDict):
    """A phone as the firm's owners see it: who signed in on it, when last, whether it is shut out of all sites."""

    id: str
    kind: str
    copies: list[str]
    people: list[str]
    signed_in_at: str
    seen_at: str
    operations: int
    photos: int
    shut_out_at: str | None
    this: bool


def enrol(token: str, secret: str | None, kind: str) -> Enrolled:
    """Bind a sign-in that has just begun to the phone that it began on, and make that known if it is new.

    A phone has one cookie, so one sign-in: an earlier one there ends.

    Parameters
    ----------
    token : str
        The sign-in's.
    secret : str or None
        What the phone's cookie holds, if it has one.
    kind : str
        `phone` or `computer`, as far as its browser says.
    """
    with writing() as session:
        known = phone_of_secret(session, secret)
        phone = Enrolled(known, str(secret)) if known is not None else _new_phone(session, kind)
        begun = Session.token_hash == token_hash(token)
        person = session.execute(update(Session).where(begun).values(phone=phone.id).returning(Session.person)).scalar()
        session.execute(delete(Session).where(Session.phone == phone.id, ~begun))
        if person is not None:
            _note_person(session, phone.id, person)
    return phone


def phone_of_secret(session: Transaction, secret: str | None) -> str | None:
    """The phone whose cookie holds a secret; None where there is none, or it is nobody's."""
    if not secret:
        return None
    query = select(Phone.id).where(Phone.secret_hash == token_hash(secret))
    return session.execute(query).scalar_one_or_none()


def _new_phone(session: Transaction, kind: str) -> Enrolled:
    phone = Enrolled(str(uuid4()), secrets.token_urlsafe(32))
    made = {"id": phone.id, "secret_hash": token_hash(phone.secret), "kind": kind, "made_at": now()}
    session.execute(insert(Phone).values(**made))
    return phone


def _note_person(session: Transaction, phone: str, person: str) -> None:
    theirs = (PhoneOfPerson.phone == phone) & (PhoneOfPerson.person == person)
    noted = session.execute(
        update(PhoneOfPerson).where(theirs).values(signed_in_at=now()).returning(PhoneOfPerson.phone)
    )
    if noted.first() is None:
        session.execute(insert(PhoneOfPerson).values(phone=phone, person=person, first_at=now(), signed_in_at=now()))


# -- what a phone may ask for


@dataclass(frozen=True)
class PhoneHere:
    """A phone on a site: whether it is written down there, and whether it is shut out of it."""

    noted: bool
    shut_out: bool


def phone_here(session: Transaction, site_id: str, phone: str) -> PhoneHere:
    """What is known of a phone on a site."""
    query = select(PhoneOnSite.shut_out_at).where(PhoneOnSite.site == site_id, PhoneOnSite.phone == phone)
    row = session.execute(query).one_or_none()
    return PhoneHere(row is not None, row is not None and row.shut_out_at is not None)


def note_on_site(
    session: Transaction, site_id: str, phone: str, person_id: str, shut_out_by: str | None = None
) -> None:
    """Write down that a phone has asked for something of a site, so that it can be shut out there; or that it is."""
    here = (PhoneOnSite.site == site_id) & (PhoneOnSite.phone == phone)
    out = {"shut_out_at": now(), "shut_out_by": shut_out_by} if shut_out_by is not None else {}
    noted = session.execute(update(PhoneOnSite).where(here).values(site=site_id, **out).returning(PhoneOnSite.phone))
    if noted.first() is None:
        values = {"site": site_id, "phone": phone, "person": person_id, "first_at": now()}
        session.execute(insert(PhoneOnSite).values(**values, **out))


def sites_shut_out_of(session: Transaction, phone: str) -> set[str]:
    """The sites that a phone is shut out of, each by itself."""
    query = select(PhoneOnSite.site).where(PhoneOnSite.phone == phone, PhoneOnSite.shut_out_at.is_not(None))
    return set(session.execute(query).scalars())


def is_shut_out(session: Transaction, phone: str) -> bool:
    """Whether an owner has shut a phone out of every site."""
    query = select(Phone.id).where(Phone.id == phone, Phone.shut_out_at.is_not(None))
    return session.execute(query).first() is not None


def phone_itself(secret: str | None) -> PhoneItself:
    """What a phone is told of itself by its cookie alone: one whose sign-ins were ended must hear that it is shut out."""
    with reading() as session:
        phone = phone_of_secret(session, secret)
        if phone is None:
            return {"known": False, "shut_out": False, "sites": []}
        sites = sorted(sites_shut_out_of(session, phone))
        return {"known": True, "shut_out": is_shut_out(session, phone), "sites": sites}


# -- shutting out of all sites, by an owner


def list_phones(session: Transaction, asking: str) -> list[PhoneOfFirm]:
    """All phones that anybody has signed in on, the one last in use first. `asking` is the one that asks."""
    names = _names(session)
    told = [
        _of_firm(session, phone, names.get(phone.id, []), asking) for phone in session.execute(select(Phone)).scalars()
    ]
    return sorted(told, key=lambda each: (each["seen_at"], each["id"]), reverse=True)


def _names(session: Transaction) -> dict[str, list[str]]:
    query = (
        select(PhoneOfPerson.phone, Person.name)
        .join(Person, Person.id == PhoneOfPerson.person)
        .order_by(PhoneOfPerson.signed_in_at.desc(), Person.name_key)
    )
    found: dict[str, list[str]] = {}
    for phone, name in session.execute(query):
        found.setdefault(phone, []).append(name)
    return found


def _of_firm(session: Transaction, phone: Phone, people: list[str], asking: str) -> PhoneOfFirm:
    copies = _copies(session, phone.id)
    times = _signed_in(session, phone.id) or [phone.made_at]
    return {
        "id": phone.id,
        "kind": phone.kind,
        "copies": [each.id for each in copies],
        "people": people,
        "signed_in_at": max(times),
        "seen_at": max(*times, phone.made_at, *(each.seen_at for each in copies)),
        "operations": sum(each.unsent_operations for each in copies),
        "photos": sum(each.unsent_photos for each in copies),
        "shut_out_at": phone.shut_out_at,
        "this": phone.id == asking,
    }


def _copies(session: Transaction, phone: str, person: str | None = None) -> list[Device]:
    query = select(Device).where(Device.phone == phone).order_by(Device.seen_at.desc(), Device.id)
    return list(session.execute(query if person is None else query.where(Device.person == person)).scalars())


def _signed_in(session: Transaction, phone: str) -> list[str]:
    """When people signed in on a phone last, and when its sign-ins were last in use."""
    last = select(PhoneOfPerson.signed_in_at).where(PhoneOfPerson.phone == phone)
    used = select(Session.seen_at).where(Session.phone == phone)
    return [*session.execute(last).scalars(), *session.execute(used).scalars()]


def shut_out_of_all(session: Transaction, asker: SignedIn, phone: str, shut_out: bool) -> None:
    """Shut a phone out of every site, or let it in again where no site by itself shuts it out. Its sign-ins end.

    Raises
    ------
    NotThere
        There is no such phone.
    InTheWay
        It is the one that asks: nobody would be left to let it in.
    """
    if phone == asker.phone:
        raise InTheWay("device-in-hand")
    values = {"shut_out_at": now(), "shut_out_by": asker.id} if shut_out else {"shut_out_at": None, "shut_out_by": None}
    changed = session.execute(update(Phone).where(Phone.id == phone).values(**values).returning(Phone.id))
    if changed.first() is None:
        raise NotThere("device-unknown", value=phone)
    if shut_out:
        end_sessions_of(session, phone)


def end_sessions_of(session: Transaction, phone: str) -> None:
    """End all sign-ins on a phone."""
    session.execute(delete(Session).where(Session.phone == phone))


# -- one's own phones


def own_phones(session: Transaction, person: SignedIn) -> list[OwnPhone]:
    """The phones that a person has signed in on, with the sign-ins that still hold; the one last in use first."""
    query = (
        select(Phone, PhoneOfPerson.signed_in_at)
        .join(PhoneOfPerson, PhoneOfPerson.phone == Phone.id)
        .where(PhoneOfPerson.person == person.id)
    )
    told = [_own(session, phone, signed_in_at, person) for phone, signed_in_at in session.execute(query).all()]
    return sorted(told, key=lambda each: (each["this"], each["seen_at"], each["id"]), reverse=True)


def _own(session: Transaction, phone: Phone, signed_in_at: str, person: SignedIn) -> OwnPhone:
    copies = _copies(session, phone.id, person.id)
    mine = (Session.phone == phone.id, Session.person == person.id, Session.expires_at > now())
    sessions = list(
        session.execute(select(Session).where(*mine).order_by(Session.seen_at.desc(), Session.id)).scalars()
    )
    return {
        "id": phone.id,
        "kind": phone.kind,
        "copies": [each.id for each in copies],
        "signed_in_at": signed_in_at,
        "seen_at": max(signed_in_at, *(each.seen_at for each in copies), *(each.seen_at for each in sessions)),
        "operations": sum(each.unsent_operations for each in copies),
        "photos": sum(each.unsent_photos for each in copies),
        "shut_out": phone.shut_out_at is not None or bool(sites_shut_out_of(session, phone.id)),
        "this": phone.id == person.phone,
        "sessions": [
            {"id": each.id, "created_at": each.created_at, "seen_at": each.seen_at, "this": each.id == person.session}
            for each in sessions
        ],
    }


def end_own_sessions_on(session: Transaction, person: SignedIn, phone: str) -> None:
    """End one's own sign-ins on a phone.

    Raises
    ------
    NotThere
        One has never signed in on it.
    """
    mine = select(PhoneOfPerson.phone).where(PhoneOfPerson.phone == phone, PhoneOfPerson.person == person.id)
    if session.execute(mine).first() is None:
        raise NotThere("device-unknown", value=phone)
    session.execute(delete(Session).where(Session.phone == phone, Session.person == person.id))
