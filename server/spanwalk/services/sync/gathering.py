"""Read from the database what the decision about a batch may look at, in few queries."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import Row as SqlRow
from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.services.sync.state import COLUMNS, state_of
from spanwalk.storage import json_text
from spanwalk.storage.database import among
from spanwalk.storage.tables import Operation as Row
from spanwalk.storage.tables import Record
from spanwalk.sync.model import HELD, IDENTITY, REFUSED, REMOVE, RESTORE, Gathered, Known, Operation

AT_ONCE = 5000
"""Values in one query; all databases take that many."""


def gather(session: Session, site_id: str, head: int, operations: Sequence[Operation]) -> Gathered:
    """Read what the decision about a batch may look at."""
    gathered = Gathered(site_id, head)
    _gather_states(session, gathered, operations)
    _gather_known(session, gathered, operations)
    _gather_children(session, gathered, operations)
    _gather_missing(session, gathered, operations)
    return gathered


def _gather_states(session: Session, gathered: Gathered, operations: Sequence[Operation]) -> None:
    wanted = {operation.record for operation in operations}
    wanted |= {reference.record for operation in operations for reference in operation.references}
    read_states(session, gathered, wanted)
    restored = (gathered.states.get(op.record) for op in operations if op.kind == RESTORE)
    parents = {state.parent for state in restored if state is not None and state.parent is not None}
    read_states(session, gathered, parents - set(gathered.states))


def read_states(session: Session, gathered: Gathered, ids: set[str]) -> None:
    """Add to what is gathered the records of some ids as they stand."""
    for some in slices(ids):
        query = select(*COLUMNS).where(Record.site == gathered.site, among(Record.id, some))
        for row in session.execute(query):
            gathered.states[row.id] = state_of(row)


KNOWN = (
    Row.id,
    Row.hash,
    Row.result,
    Row.seq,
    Row.record,
    Row.person,
    Row.device,
    Row.base,
    Row.lost,
    Row.code,
    Row.facts,
)


def _gather_known(session: Session, gathered: Gathered, operations: Sequence[Operation]) -> None:
    """Operations of the batch that are known already, those it has seen, and what has replaced those."""
    ids = {operation.id for operation in operations}
    pairs = {(op.id, op.hash) for op in operations} | {op.formerly for op in operations if op.formerly is not None}
    wanted = ids | {former for former, _ in pairs} | _seen_elsewhere(gathered, operations)
    asked: set[str] = set()
    while wanted:
        _read_known(session, gathered, wanted)
        asked |= wanted
        unmerged = {id for id in wanted if _result(gathered, id) in (REFUSED, HELD)}
        _read_replacements(session, gathered, unmerged)
        wanted = {gathered.replaced_by[id] for id in unmerged if id in gathered.replaced_by} - asked
    _read_formerly(session, gathered, pairs)


def _seen_elsewhere(gathered: Gathered, operations: Sequence[Operation]) -> set[str]:
    """Ids that were seen and are not the value's writer as it stands: the only ones to be followed."""
    found: set[str] = set()
    for operation in operations:
        if operation.seen is None:
            continue
        state = gathered.states.get(operation.record)
        facets = state.facets if state is not None else {}
        writers = {facet: stored["op"] for facet, stored in facets.items()}
        seen = operation.seen if isinstance(operation.seen, dict) else {operation.facet: operation.seen}
        found |= {id for facet, id in seen.items() if id is not None and writers.get(facet) != id}
    return found


def _read_known(session: Session, gathered: Gathered, ids: set[str]) -> None:
    for some in slices(ids):
        for row in session.execute(select(*KNOWN).where(Row.site == gathered.site, among(Row.id, some))):
            gathered.known[row.id] = known_of(row)


def known_of(row: SqlRow[*tuple[object, ...]]) -> Known:
    """One row of the log as the merge rules see it."""
    facts = json_text.loads(row.facts) if row.facts is not None else None
    return Known(
        row.id,
        row.hash,
        row.result,
        row.seq,
        row.record,
        row.person,
        row.device,
        row.base,
        row.lost,
        row.code,
        facts,
    )


def _read_replacements(session: Session, gathered: Gathered, ids: set[str]) -> None:
    for some in slices(ids):
        query = (
            select(Row.replaces, Row.id)
            .where(Row.site == gathered.site, among(Row.replaces, some))
            .order_by(Row.received_at, Row.place)
        )
        gathered.replaced_by |= {replaced: id for replaced, id in session.execute(query) if replaced is not None}


def _read_formerly(session: Session, gathered: Gathered, pairs: set[tuple[str, str]]) -> None:
    for some in slices({former for former, _ in pairs}):
        query = select(*KNOWN, Row.formerly, Row.formerly_hash).where(
            Row.site == gathered.site, among(Row.formerly, some)
        )
        for row in session.execute(query):
            gathered.formerly.setdefault((row.formerly, row.formerly_hash), known_of(row))


def _result(gathered: Gathered, id: str) -> str | None:
    known = gathered.known.get(id)
    return None if known is None else known.result


def _gather_children(session: Session, gathered: Gathered, operations: Sequence[Operation]) -> None:
    removed = {operation.record for operation in operations if operation.kind == REMOVE}
    gathered.children = {id: set() for id in removed}
    for some in slices(removed):
        query = select(Record.parent, Record.id).where(
            Record.site == gathered.site, among(Record.parent, some), Record.removed.is_(False)
        )
        for parent, child in session.execute(query):
            if parent is not None:
                gathered.children[parent].add(child)


def _gather_missing(session: Session, gathered: Gathered, operations: Sequence[Operation]) -> None:
    """For records that are not there: the refused or held operation that would have made them."""
    wanted = _named_before_made(gathered, operations)
    for some in slices(wanted - set(gathered.states) - {gathered.site, ""}):
        query = select(*KNOWN).where(
            Row.site == gathered.site,
            among(Row.record, some),
            Row.facet == IDENTITY,
            Row.result.in_((REFUSED, HELD)),
        )
        for row in session.execute(query.order_by(Row.received_at, Row.place)):
            gathered.missing[row.record] = known_of(row)


def _named_before_made(gathered: Gathered, operations: Sequence[Operation]) -> set[str]:
    """The records that operations name before the batch itself makes them."""
    made: set[str] = set()
    named: set[str] = set()
    for operation in operations:
        makes = operation.facet == IDENTITY and operation.flaw is None and operation.id not in gathered.known
        if makes:
            made.add(operation.record)
        elif operation.record not in made:
            named.add(operation.record)
        named |= {reference.record for reference in operation.references} - made
    return named


def slices(ids: set[str]) -> Iterable[list[str]]:
    """Ids in order, as many at once as one query takes."""
    ordered = sorted(ids)
    return (ordered[start : start + AT_ONCE] for start in range(0, len(ordered), AT_ONCE))


__all__ = ["gather", "known_of", "read_states", "slices"]
