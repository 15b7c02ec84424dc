"""What is kept how long: what has served its time is let go, at each start of the server and by `spanwalk tidy`."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import CompoundSelect, delete, or_, select, union_all, update
from sqlalchemy.orm import Session

from spanwalk.config import Settings
from spanwalk.services.audit.chain import FIRM, LET_GO, Event, enter
from spanwalk.services.backups.remembered import let_go_aside
from spanwalk.services.clock import later, now
from spanwalk.services.people.sealed import seal_all
from spanwalk.services.people.signing_in import forget_tries
from spanwalk.services.people.slowing import forget_old
from spanwalk.storage.database import writing
from spanwalk.storage.tables import AuditEntry, Device, FileImport, OneTimeLink, Phone, PhoneOfPerson, PhoneOnSite
from spanwalk.storage.tables import Session as SignIn

DAY_S = 86400
AT_ONCE = 500
"""Phones named in one statement."""
OF_SIGNING_IN = ("signed-in", "signed-out", "sign-in-refused")
EMPTIED = dict.fromkeys(("person", "sender", "device", "entered_first", "entered_last", "about", "leaves"))


@dataclass(frozen=True)
class LetGo:
    """How much was let go: links, files that were brought in, entries of signing in, sign-ins that had ended,
    phones that nobody uses, guesses that no longer count, folders that restores left. `sealed`: keys of authenticators that
    were sealed.
    """

    links: int = 0
    imports: int = 0
    sign_ins: int = 0
    sessions: int = 0
    phones: int = 0
    guesses: int = 0
    asides: int = 0
    sealed: int = 0


def let_go_old(settings: Settings) -> LetGo:
    """Let go what is older than the settings say; an audit entry is emptied and still holds its chain together."""
    with writing() as session:
        return LetGo(
            _links(session, settings.keep_links_days),
            _imports(session, settings.keep_imports_days),
            _sign_ins(session, settings.keep_sign_ins_days),
            session.execute(delete(SignIn).where(SignIn.expires_at < now())).rowcount,  # type: ignore[attr-defined]
            _phones(session, settings.keep_phones_days),
            forget_old(session) + forget_tries(session),
            let_go_aside(settings.data, settings.keep_aside_days),
            seal_all(session),
        )


def _links(session: Session, days: int) -> int:
    """Links that can no longer be used."""
    old = later(-days * DAY_S)
    over = or_(OneTimeLink.used_at < old, OneTimeLink.withdrawn_at < old, OneTimeLink.expires_at < old)
    return int(session.execute(delete(OneTimeLink).where(over)).rowcount)  # type: ignore[attr-defined]


def _imports(session: Session, days: int) -> int:
    """What was read of files that were brought in: rows of names and rooms. They can then no longer be taken back."""
    over = (
        FileImport.changed_at < later(-days * DAY_S),
        or_(FileImport.read.is_not(None), FileImport.undo.is_not(None)),
    )
    done = session.execute(update(FileImport).where(*over).values(read=None, changes=None, undo=None))
    return int(done.rowcount)  # type: ignore[attr-defined]


def _phones(session: Session, days: int) -> int:
    """Phones that nobody has signed in on or sent from for so long; one that is shut out is never forgotten."""
    old = later(-days * DAY_S)
    in_use: CompoundSelect[str] = union_all(
        select(PhoneOfPerson.phone).where(PhoneOfPerson.signed_in_at >= old),
        select(SignIn.phone).where(SignIn.phone.is_not(None)),
        select(Device.phone).where(Device.phone.is_not(None), (Device.seen_at >= old) | Device.revoked_at.is_not(None)),
        select(PhoneOnSite.phone).where(PhoneOnSite.shut_out_at.is_not(None)),
    )
    unused = select(Phone.id).where(Phone.made_at < old, Phone.shut_out_at.is_(None), Phone.id.not_in(in_use))
    phones = session.execute(unused).scalars().all()
    for start in range(0, len(phones), AT_ONCE):
        some = phones[start : start + AT_ONCE]
        session.execute(update(Device).where(Device.phone.in_(some)).values(phone=None))
        for table, column in (
            (PhoneOnSite, PhoneOnSite.phone),
            (PhoneOfPerson, PhoneOfPerson.phone),
            (Phone, Phone.id),
        ):
            session.execute(delete(table).where(column.in_(some)))
    return len(phones)


def _sign_ins(session: Session, days: int) -> int:
    old = (
        AuditEntry.scope == FIRM,
        AuditEntry.what.in_(OF_SIGNING_IN),
        AuditEntry.at < later(-days * DAY_S),
        AuditEntry.sender.is_not(None) | AuditEntry.about.is_not(None) | AuditEntry.person.is_not(None),
    )
    numbers = list(session.execute(select(AuditEntry.number).where(*old).order_by(AuditEntry.number)).scalars())
    if numbers:
        session.execute(update(AuditEntry).where(*old).values(**EMPTIED))
        enter(session, FIRM, Event(LET_GO, about={"let_go": numbers}))
    return len(numbers)
