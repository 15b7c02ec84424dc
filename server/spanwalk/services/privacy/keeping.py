"""What is kept how long: what has served its time is let go, at each start of the server and by `spanwalk tidy`."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import delete, or_, select, update
from sqlalchemy.orm import Session

from spanwalk.config import Settings
from spanwalk.services.audit.chain import FIRM, LET_GO, Event, enter
from spanwalk.services.clock import later, now
from spanwalk.storage.database import writing
from spanwalk.storage.tables import AuditEntry, FileImport, OneTimeLink
from spanwalk.storage.tables import Session as SignIn

DAY_S = 86400
OF_SIGNING_IN = ("signed-in", "signed-out", "sign-in-refused")
EMPTIED = dict.fromkeys(("person", "sender", "device", "entered_first", "entered_last", "about", "leaves"))


@dataclass(frozen=True)
class LetGo:
    """How much was let go: links, files that were brought in, entries of signing in, sign-ins that had ended."""

    links: int = 0
    imports: int = 0
    sign_ins: int = 0
    sessions: int = 0


def let_go_old(settings: Settings) -> LetGo:
    """Let go what is older than the settings say; an audit entry is emptied and still holds its chain together."""
    with writing() as session:
        return LetGo(
            _links(session, settings.keep_links_days),
            _imports(session, settings.keep_imports_days),
            _sign_ins(session, settings.keep_sign_ins_days),
            session.execute(delete(SignIn).where(SignIn.expires_at < now())).rowcount,  # type: ignore[attr-defined]
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
