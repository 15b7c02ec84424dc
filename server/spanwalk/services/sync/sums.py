"""The sums by which phones check their copies: a row for each site and type, kept in the transaction that changes a record.

A type never changes and rights are by type: what a role reads is the sum over the types that it reads.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sqlalchemy import delete, insert, select, update
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.sync.state import COLUMNS, state_of
from spanwalk.storage import json_text
from spanwalk.storage.database import insert_many
from spanwalk.storage.tables import Record, SiteSum
from spanwalk.sync.digest import added, line_hash, written
from spanwalk.sync.model import State

AT_ONCE = 2000


@dataclass
class Sum:
    """How many lines, and the sum of their hashes."""

    lines: int = 0
    total: int = 0

    def add(self, hashed: str | None, sign: int = 1) -> None:
        """Take a line's hash in, or out again; None stands for a record that has no line."""
        if hashed is not None:
            self.lines += sign
            self.total = added(self.total, sign * int(hashed, 16))


def hash_of(state: State) -> str | None:
    """Hash of a record's line, 64 hexadecimal digits; None if it has none. What `sync.digest` says, written faster."""
    conflicts = sorted(conflict["id"] for conflict in state.conflicts)
    if state.removed and not conflicts:
        return None
    facets = {name: (stored["op"], stored["value"]) for name, stored in state.facets.items()}
    return written(line_hash(json_text.dumps((state.id, state.removed, facets, conflicts))))


def follow(session: Session, site_id: str, changed: Iterable[State]) -> None:
    """Bring the sums up to records that are about to be written, under the site's lock. Their own hashes are made new."""
    changes: dict[str, Sum] = defaultdict(Sum)
    for state in changed:
        before, state.line_hash = state.line_hash, hash_of(state)
        if before != state.line_hash:
            changes[state.type].add(before, -1)
            changes[state.type].add(state.line_hash)
    stored = _rows(session, site_id)
    for type_, change in changes.items():
        now = stored.get(type_, Sum())
        values = {"lines": now.lines + change.lines, "total": written(added(now.total, change.total))}
        if type_ in stored:
            where = (SiteSum.site == site_id, SiteSum.type == type_)
            session.execute(update(SiteSum).where(*where).values(**values))
        else:
            session.execute(insert(SiteSum).values(site=site_id, type=type_, **values))


def _rows(session: Session, site_id: str) -> dict[str, Sum]:
    query = select(SiteSum.type, SiteSum.lines, SiteSum.total).where(SiteSum.site == site_id)
    return {row.type: Sum(row.lines, int(row.total, 16)) for row in session.execute(query)}


def site_sum(session: Session, site_id: str, role: str) -> tuple[int, str]:
    """Count and sum of what a role reads of a site, in the session's snapshot."""
    found = Sum()
    readable = set(records.readable_types(role))
    for type_, each in _rows(session, site_id).items():
        if type_ in readable:
            found.lines += each.lines
            found.total = added(found.total, each.total)
    return found.lines, written(found.total)


def recounted(session: Session, site_id: str) -> tuple[dict[str, Sum], dict[str, str | None]]:
    """The sums by type, and the hash of each record by its id, made anew from the records."""
    sums: dict[str, Sum] = defaultdict(Sum)
    hashes: dict[str, str | None] = {}
    for row in session.execute(select(*COLUMNS).where(Record.site == site_id)):
        hashes[row.id] = hash_of(state_of(row))
        sums[row.type].add(hashes[row.id])
    return dict(sums), hashes


def differing(session: Session, site_id: str) -> tuple[list[str], list[str]]:
    """Types whose kept sum is not that of their records, and records whose kept hash is not that of their line."""
    sums, hashes = recounted(session, site_id)
    stored = _rows(session, site_id)
    types = [name for name in sorted(sums | stored) if sums.get(name, Sum()) != stored.get(name, Sum())]
    query = select(Record.id, Record.line_hash).where(Record.site == site_id)
    kept: dict[str, str | None] = {row.id: row.line_hash for row in session.execute(query)}
    return types, sorted(id for id, hashed in hashes.items() if kept[id] != hashed)


def recount(session: Session, site_id: str) -> None:
    """Write the sums and hashes anew, in a writing transaction under the site's lock."""
    sums, hashes = recounted(session, site_id)
    for id in differing(session, site_id)[1]:
        where = (Record.site == site_id, Record.id == id)
        session.execute(update(Record).where(*where).values(line_hash=hashes[id]))
    session.execute(delete(SiteSum).where(SiteSum.site == site_id))
    rows: list[Mapping[str, object]] = [
        {"site": site_id, "type": name, "lines": each.lines, "total": written(each.total)}
        for name, each in sums.items()
    ]
    if rows:
        insert_many(session.connection(), SiteSum.__table__, rows)
