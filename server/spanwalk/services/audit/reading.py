"""The audit as people read it: entries with names, the newest first, filtered; the operations of one; all of it as a table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TypedDict

from sqlalchemy import Select, or_, select
from sqlalchemy.orm import Session

from spanwalk.services.audit.chain import FIRM
from spanwalk.services.text.neutral import Out, csv_text
from spanwalk.storage import json_text
from spanwalk.storage.tables import AuditEntry, AuditHead, Operation, Person
from spanwalk.words import say, words

ENTRIES_MOST = 200
DAY_LETTERS = len("2026-03-01")
OF_THE_CHAIN = ("moved", "moved_old", "total", "operations", "let_go")
"""What an entry says for the chain's sake alone."""


class EntryTold(TypedDict):
    """An entry as screens show it. Without `person` nobody is named: it was let go, or it is the server's."""

    number: int
    at: str
    what: str
    person: str | None
    sender: str | None
    device: str | None
    entered_first: str | None
    entered_last: str | None
    operations: int
    facts: dict[str, object]
    hash: str


class Page(TypedDict):
    """Entries, the newest first; who the people in them are; `more`: there are older ones; the chain's end."""

    entries: list[EntryTold]
    people: dict[str, str]
    more: bool
    number: int
    hash: str


class OperationTold(TypedDict):
    """An operation of an entry."""

    id: str
    person: str
    device: str
    entered: str
    type: str
    facet: str
    kind: str
    result: str


class Filter(TypedDict, total=False):
    """What is looked for: entries before a number, of a sort, of a person (who did it or handed it in), within days."""

    before: int
    what: str
    person: str
    first_day: str
    last_day: str


def page_of(session: Session, scope: str, wanted: Filter, limit: int = 50) -> Page:
    """Entries of a chain, the newest first.

    Parameters
    ----------
    session : Session
        An open transaction.
    scope : str
        A site's id, or `FIRM`.
    wanted : Filter
        What is looked for.
    limit : int
        How many at most.
    """
    query = _filtered(select(AuditEntry).where(AuditEntry.scope == scope), wanted)
    rows = session.execute(query.order_by(AuditEntry.number.desc()).limit(limit + 1)).scalars().all()
    entries = [_told(row) for row in rows[:limit]]
    head = session.execute(select(AuditHead.number, AuditHead.hash).where(AuditHead.scope == scope)).one_or_none()
    return {
        "entries": entries,
        "people": names_of(session, entries),
        "more": len(rows) > limit,
        "number": head.number if head is not None else 0,
        "hash": head.hash if head is not None else "",
    }


def _filtered(query: Select[AuditEntry], wanted: Filter) -> Select[AuditEntry]:
    if before := wanted.get("before"):
        query = query.where(AuditEntry.number < before)
    if what := wanted.get("what"):
        query = query.where(or_(AuditEntry.what == what, AuditEntry.what.startswith(f"{what}.", autoescape=True)))
    if person := wanted.get("person"):
        query = query.where(or_(AuditEntry.person == person, AuditEntry.sender == person))
    if first := wanted.get("first_day"):
        query = query.where(AuditEntry.at >= first)
    if last := wanted.get("last_day"):
        query = query.where(AuditEntry.at < f"{last[:DAY_LETTERS]}U")  # 'U' comes after 'T', so the day itself is in it
    return query


def _told(row: AuditEntry) -> EntryTold:
    about: dict[str, object] = json_text.loads(row.about) if row.about else {}
    return {
        "number": row.number,
        "at": row.at,
        "what": row.what,
        "person": row.person,
        "sender": row.sender,
        "device": row.device,
        "entered_first": row.entered_first,
        "entered_last": row.entered_last,
        "operations": int(str(about.get("operations", 0))),
        "facts": {name: value for name, value in about.items() if name not in OF_THE_CHAIN},
        "hash": row.hash,
    }


def names_of(session: Session, entries: Sequence[EntryTold]) -> dict[str, str]:
    """Names of the people in some entries, by id; those named in facts too."""
    ids = {str(each[name]) for each in entries for name in ("person", "sender") if each[name]}
    ids |= {str(each["facts"]["person"]) for each in entries if each["facts"].get("person")}
    return dict(session.execute(select(Person.id, Person.name).where(Person.id.in_(ids))).all())


def operations_of(session: Session, site_id: str, number: int) -> list[OperationTold]:
    """The operations that an entry vouches for, in their order."""
    query = (
        select(Operation.id, Operation.person, Operation.device, Operation.body, Operation.facet, Operation.result)
        .where(Operation.site == site_id, Operation.entry == number)
        .order_by(Operation.place)
    )
    found: list[OperationTold] = []
    for row in session.execute(query):
        body = json_text.loads(row.body)
        found.append(
            {
                "id": row.id,
                "person": row.person,
                "device": row.device,
                "entered": str(body.get("device_time", "")),
                "type": str(body.get("type", "")),
                "facet": row.facet,
                "kind": str(body.get("kind", "")),
                "result": row.result,
            }
        )
    return found


def what_text(what: str) -> str:
    """What was done, in words; a part of the server that has none of its own is named by its code."""
    code = f"audit.what.{what}"
    return say(code) if code in words() else say("audit.what.other", {"value": what})


HEADS = (
    "number",
    "arrived",
    "what",
    "who",
    "handed-in-by",
    "phone",
    "entered",
    "operation",
    "about",
    "outcome",
    "hash",
)


def audit_csv(session: Session, scope: str) -> str:
    """A whole chain as CSV, the oldest first: a line for each operation, and one for each entry that has none.

    Parameters
    ----------
    session : Session
        An open transaction.
    scope : str
        A site's id, or `FIRM`.
    """
    return csv_text(_lines(session, scope))


def _lines(session: Session, scope: str) -> Iterator[Sequence[Out]]:
    names = dict(session.execute(select(Person.id, Person.name)).all())
    yield [say(f"audit.head.{head}") for head in HEADS]
    query = select(AuditEntry).where(AuditEntry.scope == scope).order_by(AuditEntry.number)
    for row in session.execute(query).scalars():
        entry = _told(row)
        operations = operations_of(session, scope, row.number) if scope != FIRM and entry["operations"] else []
        first: list[Out] = [entry["number"], entry["at"], what_text(entry["what"])]
        sender = _name(names, entry["sender"])
        if not operations:
            about = "; ".join(f"{name}: {names.get(str(value), value)}" for name, value in entry["facts"].items())
            when = entry["entered_first"] or ""
            yield [*first, _name(names, entry["person"]), sender, entry["device"] or "", when, "", about, "", row.hash]
        for each in operations:
            about = f"{each['type']} {each['facet']} {each['kind']}"
            who = _name(names, each["person"])
            yield [*first, who, sender, each["device"], each["entered"], each["id"], about, each["result"], row.hash]


def _name(names: Mapping[str, str], person: str | None) -> str:
    return names.get(person, person) if person else ""
