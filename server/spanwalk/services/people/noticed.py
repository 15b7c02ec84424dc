"""What changed in how somebody signs in: told to them at the next sign-in and on their own page, for there is no mail.

It is read out of the audit, and that somebody has read it is an entry there too.
"""

from __future__ import annotations

import hashlib
from typing import TypedDict

from sqlalchemy import or_, select
from sqlalchemy.orm import Session as Transaction

from spanwalk.services.audit.chain import FIRM, Event, enter
from spanwalk.services.clock import later
from spanwalk.storage import json_text
from spanwalk.storage.tables import AuditEntry, Device, Phone, Session

PASSWORD_BY_LINK, PASSWORD_BY_COMMAND = "password-by-link", "password-by-command"
FACTORS_BY_COMMAND, RECOVERY_USED = "factors-off-by-command", "recovery-code-used"
CHANGES = (
    "own.password",
    PASSWORD_BY_LINK,
    PASSWORD_BY_COMMAND,
    "second_factor.prove_authenticator",
    "second_factor.keep_passkey",
    "second_factor.new_codes",
    "second_factor.remove",
    "second_factor.take_off",
    FACTORS_BY_COMMAND,
    RECOVERY_USED,
)
"""Entries of the audit that are told to whose sign-in they change."""
SEEN = "own.changes_seen"
TOLD_DAYS, TOLD_MOST = 90, 50
DAY_S = 86400


class Change(TypedDict):
    """A change in how somebody signs in: what, when, on what phone, as 'Your phones' lists it (null: one that was not known here
    until then, or none), and whether it is new to them.
    """

    what: str
    at: str
    phone: str | None
    kind: str | None
    copies: list[str]
    this: bool
    new: bool


def enter_change(session: Transaction, what: str, person_id: str, known: str | None = None) -> None:
    """Enter a change in the audit, which no endpoint's name says.

    Parameters
    ----------
    session : Session
        A writing transaction.
    what, person_id : str
        One of `CHANGES`, and whose sign-in it is about.
    known : str or None
        The secret in the cookie of the phone that it came from.
    """
    device = None
    if known:
        query = select(Phone.id).where(Phone.secret_hash == hashlib.sha256(known.encode()).hexdigest())
        device = session.execute(query).scalar_one_or_none()
    by = None if what in (PASSWORD_BY_COMMAND, FACTORS_BY_COMMAND) else person_id
    enter(session, FIRM, Event(what, person=by, sender=by, device=device, about={"person": person_id}))


def changes_of(session: Transaction, person_id: str, sign_in: str, phone: str | None) -> list[Change]:
    """What changed of late in how somebody signs in, the newest first.

    New is what they have not said that they have read, unless they did it in this very sign-in.

    Parameters
    ----------
    session : Session
        A transaction.
    person_id, sign_in : str
        Who asks, and the id of the sign-in in which they do.
    phone : str or None
        The phone that they ask on.
    """
    entries = (
        select(AuditEntry.number, AuditEntry.what, AuditEntry.at, AuditEntry.person, AuditEntry.about)
        .add_columns(AuditEntry.device, Phone.kind)
        .outerjoin(Phone, Phone.id == AuditEntry.device)
        .where(
            AuditEntry.scope == FIRM, AuditEntry.what.in_((*CHANGES, SEEN)), AuditEntry.at > later(-TOLD_DAYS * DAY_S)
        )
        .where(or_(AuditEntry.person == person_id, AuditEntry.about.contains(person_id)))
        .order_by(AuditEntry.number.desc())
    )
    began = session.execute(select(Session.created_at).where(Session.id == sign_in)).scalar_one_or_none() or ""
    told: list[Change] = []
    new = True
    for row in session.execute(entries):
        if row.what == SEEN:
            new = new and row.person != person_id
        elif _whose(row.person, row.about) == person_id and len(told) < TOLD_MOST:
            this = row.device is not None and row.device == phone
            own = this and bool(began) and row.at >= began
            copies = _copies(session, row.device, person_id)
            told.append(
                Change(
                    what=row.what, at=row.at, phone=row.device if row.kind else None, kind=row.kind, copies=copies,
                    this=this, new=new and not own,
                )
            )  # fmt: skip
    return told


def _copies(session: Transaction, phone: str | None, person_id: str) -> list[str]:
    """A person's copies of sites on a phone, the newest first: people call the phone by them."""
    query = select(Device.id).where(Device.phone == phone, Device.person == person_id).order_by(Device.seen_at.desc())
    return [] if phone is None else list(session.execute(query).scalars())


def _whose(person: str | None, about: str | None) -> str | None:
    facts = json_text.loads(about) if about else {}
    return str(facts["person"]) if "person" in facts else person
