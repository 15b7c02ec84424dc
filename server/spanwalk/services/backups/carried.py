"""What a restore carries forward: whatever the live database says since of who may do what, and of which phones are shut out.

A backup is older than the database that it replaces. Passwords that were changed since, roles that were taken away,
people who have left and phones that were lost stay as they are now; nobody is signed in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from uuid import uuid4

from sqlalchemy import Connection, Table, and_, delete, insert, select, text, update

from spanwalk.services.audit.chain import RESTORED, Event, enter
from spanwalk.storage.database import reading
from spanwalk.storage.tables import AuditEntry, AuditHead, Base, Installation, Person, Site


class How(Enum):
    """Which database a table's rows come from after a restore."""

    BACKUP = "as the backup has them"
    LIVE = "as the live database has them, where the backup has their site and person"
    ONLY_LIVE = "those of the live database and no other: what was taken away since does not come back"
    BOTH = "those of the backup, and those that have come since"
    NEITHER = "none: what only held for as long as the server ran, or can be worked out again"
    CHAIN = "the live ones where they go on from the backup's, and an entry of the restore"


TABLES: Mapping[str, How] = {
    "server": How.BACKUP,
    "site": How.BACKUP,
    "record": How.BACKUP,
    "site_sum": How.BACKUP,
    "operation": How.BACKUP,
    "file_import": How.BACKUP,
    "file_heads": How.BACKUP,
    "site_archive": How.LIVE,
    "handover_file": How.LIVE,
    "learning_number": How.BACKUP,
    "kept_answer": How.NEITHER,
    "photo": How.BOTH,
    "attachment": How.BOTH,
    "person": How.LIVE,
    "membership": How.LIVE,
    "device": How.LIVE,
    "one_time_link": How.LIVE,
    "phone": How.LIVE,
    "phone_of_person": How.LIVE,
    "phone_on_site": How.LIVE,
    "second_factor": How.ONLY_LIVE,
    "recovery_code": How.ONLY_LIVE,
    "enrolment": How.NEITHER,
    "sign_in_try": How.NEITHER,
    "passkey_challenge": How.NEITHER,
    "session": How.NEITHER,
    "sign_in_attempt": How.NEITHER,
    "audit_head": How.CHAIN,
    "audit_entry": How.CHAIN,
}
"""Every table is here; a test says so. What tells who may come in, and how, is never older than it was."""


@dataclass(frozen=True)
class Carried:
    """What came from the live database: people, and those of them who were renamed since, by their name in the backup."""

    people: int = 0
    renamed: tuple[tuple[str, str], ...] = ()


def carry_forward(made: Connection) -> Carried:
    """Bring a backup's database, in a transaction, up to what the live one says of people and phones; a new life begins.

    A live database that knows none of the backup's people is another installation's: nothing of it is carried.
    """
    made.execute(text("PRAGMA defer_foreign_keys=ON"))
    made.execute(update(Installation).values(incarnation=str(uuid4())))
    tables = Base.metadata.sorted_tables
    for table in reversed(tables):
        if TABLES.get(table.name) is How.NEITHER:
            made.execute(delete(table))
    with reading() as session:
        live = session.connection()
        before = dict(made.execute(select(Person.id, Person.name)).all())
        now = dict(live.execute(select(Person.id, Person.name)).all())
        if not set(before) & set(now):
            go_on(made, None)
            return Carried()
        for table in tables:
            if TABLES.get(table.name) is How.ONLY_LIVE:
                made.execute(delete(table))
            if TABLES.get(table.name) in (How.LIVE, How.ONLY_LIVE):
                _take_over(made, live, table, replace=True)
        for table in tables:
            if TABLES.get(table.name) is How.BOTH:
                _take_over(made, live, table, replace=False)
        go_on(made, live)
        renamed = tuple((id, name) for id, name in sorted(before.items()) if now.get(id, name) != name)
        return Carried(len(now), renamed)


def _take_over(made: Connection, live: Connection, table: object, replace: bool) -> None:
    """Take the live rows of a table over whose site, person and whatever else they belong to is there."""
    assert isinstance(table, Table)
    there = {key.column: set(made.execute(select(key.column)).scalars()) for key in table.foreign_keys}
    rows = [dict(row) for row in live.execute(select(table)).mappings()]
    rows = [
        row
        for row in rows
        if all(row[key.parent.name] is None or row[key.parent.name] in there[key.column] for key in table.foreign_keys)
    ]
    keys = list(table.primary_key)
    known = set(map(tuple, made.execute(select(*keys))))
    if replace:
        for row in rows:
            if tuple(row[key.name] for key in keys) in known:
                made.execute(delete(table).where(and_(*(key == row[key.name] for key in keys))))
    else:
        rows = [row for row in rows if tuple(row[key.name] for key in keys) not in known]
    if rows:
        made.execute(insert(table), rows)


def sites_not_in(made: Connection) -> list[str]:
    """Sites of the live database that a backup does not have: they go."""
    have = set(made.execute(select(Site.id)).scalars())
    with reading() as session:
        return sorted(set(session.execute(select(Site.id)).scalars()) - have)


def go_on(made: Connection, live: Connection | None) -> None:
    """Let each chain of the audit go on: with what the live one says since the backup, where it is the same chain, and the restore.

    Rows of the log that came after the backup are gone; the entry says from where on.
    """
    for scope, number, hashed in made.execute(select(AuditHead.scope, AuditHead.number, AuditHead.hash)).all():
        lost = None
        if live is not None:
            same = select(AuditEntry.hash).where(AuditEntry.scope == scope, AuditEntry.number == number)
            if live.execute(same).scalar_one_or_none() == hashed:
                _take_chain(made, live, scope, number)
            else:
                lost = live.execute(select(AuditHead.hash).where(AuditHead.scope == scope)).scalar_one_or_none()
        about = {"going_on_from": number} | ({"other_chain": lost} if lost else {})
        enter(made, scope, Event(RESTORED, about=about))


def _take_chain(made: Connection, live: Connection, scope: str, number: int) -> None:
    """Entries after a number, and what of earlier ones was let go since."""
    made.execute(delete(AuditEntry).where(AuditEntry.scope == scope))
    rows = live.execute(select(AuditEntry.__table__).where(AuditEntry.scope == scope)).mappings()
    made.execute(insert(AuditEntry), [dict(row) for row in rows])
    head = live.execute(select(AuditHead.number, AuditHead.hash).where(AuditHead.scope == scope)).one()
    made.execute(update(AuditHead).where(AuditHead.scope == scope).values(number=head.number, hash=head.hash))
