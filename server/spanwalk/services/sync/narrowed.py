"""What of a site's records the customer's facility manager reads: those types that the building needs, and of them not all.

Photos of failures and of nothing else; facets that the spec gives to them; conflicts in what they may write, which alone they
could settle. Phones check their copy by a sum: theirs is made of the records as they read them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from threading import Lock

from sqlalchemy import select, text
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.sync.state import COLUMNS, RecordRow, state_of
from spanwalk.services.sync.sums import Sum, hash_of, site_sum
from spanwalk.storage import json_text
from spanwalk.storage.tables import Record
from spanwalk.sync.digest import written
from spanwalk.sync.model import IDENTITY, State

FAILURE, PHOTO = "failure", "photo"
SUMS_KEPT = 50
_kept: dict[tuple[str, int, str], tuple[int, str]] = {}
_lock = Lock()


def is_narrowed(role: str) -> bool:
    """Whether a role reads less of a record than all of it."""
    return role == records.FACILITY


def failures_of(session: Session, site_id: str) -> frozenset[str]:
    """Ids of all failures of a site."""
    query = select(Record.id).where(Record.site == site_id, Record.type == FAILURE)
    return frozenset(session.execute(query).scalars())


def narrowed(state: State, role: str, failures: frozenset[str]) -> State | None:
    """A record as a role reads it; None: nothing of it."""
    if not is_narrowed(role):
        return state
    if state.type == PHOTO and _subject(state) not in failures:
        return None
    return State(
        state.id,
        state.type,
        state.parent,
        state.seq,
        state.removed,
        {name: held for name, held in state.facets.items() if records.may_read_facet(role, state.type, name)},
        [each for each in state.conflicts if records.may_write(role, state.type, each["facet"])],
    )


def _subject(state: State) -> str:
    held = state.facets.get(IDENTITY)
    return str((held["value"] or {}).get("subject")) if held is not None else ""


def sum_read(session: Session, site_id: str, role: str) -> tuple[int, str]:
    """Count and sum of what a role reads of a site, in the session's snapshot."""
    count, total = site_sum(session, site_id, role)
    if not is_narrowed(role):
        return count, total
    key = (site_id, count, total)
    with _lock:
        if key in _kept:
            return _kept[key]
    found = _summed(session, site_id, role, Sum(count, int(total, 16)))
    with _lock:
        while len(_kept) >= SUMS_KEPT:
            _kept.pop(next(iter(_kept)))
        _kept[key] = found
    return found


def _summed(session: Session, site_id: str, role: str, found: Sum) -> tuple[int, str]:
    """What records add up to as a role reads them, by what they add up to whole: few are read otherwise, of a large site too."""
    failures = failures_of(session, site_id)
    for row in _read_otherwise(session, site_id, role):
        found.add(row.line_hash, -1)
        state = narrowed(state_of(row), role, failures)
        if state is not None:
            found.add(hash_of(state))
    return found.lines, written(found.total)


def _read_otherwise(session: Session, site_id: str, role: str) -> Iterator[RecordRow]:
    """The records that a role may read less of: photos, those of types with facets that it does not read, and those with conflicts."""
    facets = {
        name: about.facets for name, about in records.spec().types.items() if name in records.readable_types(role)
    }
    less = {name for name in facets if not all(records.may_read_facet(role, name, each) for each in facets[name])}
    of_types = select(*COLUMNS).where(Record.site == site_id, Record.type.in_({*less, PHOTO}))
    in_conflict = select(*COLUMNS).where(
        Record.site == site_id, text("conflicts <> '[]'"), Record.type.in_(set(facets) - less - {PHOTO})
    )
    yield from session.execute(of_types)
    yield from session.execute(in_conflict)


@dataclass(frozen=True)
class RowRead:
    """A record as a narrowed role reads it, with the names of a row of the table."""

    id: str
    type: str
    parent: str | None
    seq: int
    removed: bool
    facets: str
    conflicts: str


def rows_read(
    session: Session, site_id: str, role: str, rows: Sequence[RecordRow]
) -> Sequence[RecordRow] | Sequence[RowRead]:
    """Rows as a role reads them; those of which it reads nothing are left out."""
    if not is_narrowed(role):
        return rows
    failures = failures_of(session, site_id)
    read = (narrowed(state_of(row), role, failures) for row in rows)
    return [
        RowRead(
            each.id,
            each.type,
            each.parent,
            each.seq,
            each.removed,
            json_text.dumps(each.facets),
            json_text.dumps(each.conflicts),
        )
        for each in read
        if each is not None
    ]


__all__ = ["RowRead", "failures_of", "is_narrowed", "narrowed", "rows_read", "sum_read"]
