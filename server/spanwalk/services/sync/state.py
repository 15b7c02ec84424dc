"""The records of a site as other services see and change them."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from typing import Literal, cast

from sqlalchemy import Row as SqlRow
from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.rules.record_view import Record as View
from spanwalk.storage import json_text
from spanwalk.storage.database import among, values_within
from spanwalk.storage.tables import Record, Site
from spanwalk.sync.model import LIFE, State

RecordRow = SqlRow[str, str, str | None, int, bool, str, str, str | None]
"""A row of `COLUMNS`."""
COLUMNS = (
    Record.id,
    Record.type,
    Record.parent,
    Record.seq,
    Record.removed,
    Record.facets,
    Record.conflicts,
    Record.line_hash,
)


def site_records(
    session: Session,
    site_id: str,
    scope: str | None = None,
    types: Iterable[str] | None = None,
    who: bool = False,
    since: int | None = None,
) -> list[View]:
    """All records of a site as rules and screens see them.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    scope : str, optional
        A role: only what it reads. None: everything.
    types : iterable of str, optional
        Only records of these types.
    who : bool
        With whose word each facet is, when, and at which sequence: ``by``, ``at``, ``seqs`` by name of the facet.
    since : int, optional
        Only records that changed, came or were removed after this sequence.

    Returns
    -------
    list of dict
        View records, in order of their newest sequence, removed ones too:
        ``{"id", "type", "parent", "removed", "facets": {name: value}, "conflicts": [{"id", "facet", "by", "at", "value"}]}``.
    """
    query = select(*COLUMNS).where(Record.site == site_id)
    if since is not None:
        query = query.where(Record.seq > since)
    wanted = _wanted(scope, types)
    if wanted is not None:
        query = query.where(Record.type.in_(wanted))
    # Ordered here: SQLite would read all records in order of their sequences rather than those of a few types by their index.
    rows = sorted(session.execute(query), key=lambda row: row.seq)
    return [view_record(row, who) for row in rows]


def records_by(
    session: Session,
    site_id: str,
    column: Literal["id", "parent"],
    values: Iterable[str],
    who: Container[str] = (),
    types: Iterable[str] | None = None,
) -> list[View]:
    """The records of a site that have one of some ids, or stand in a record of some ids; removed ones too.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    column : str
        Whether the ids are theirs or of what they stand in.
    values : iterable of str
        Ids.
    who : container of str
        Types of which it is told whose word each facet is: see `site_records`.
    types : iterable of str, optional
        Only records of these types.
    """
    given = Record.id if column == "id" else Record.parent
    query = select(*COLUMNS).where(Record.site == site_id, among(given, values)).order_by(Record.seq)
    if types is not None:
        query = query.where(Record.type.in_(list(types)))
    return [view_record(row, row.type in who) for row in session.execute(query)]


def records_in_part(session: Session, site_id: str, type_name: str, fields: Sequence[Sequence[str]]) -> list[View]:
    """The records of a type with some of their values only: of the card that a release freezes for a group, 6 kB, little is asked at once.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    type_name : str
        The type.
    fields : sequence of sequence of str
        What is wanted: a facet, or what stands in it, by the names that lead there: ``("identity", "frozen", "emergency")``.

    Returns
    -------
    list of dict
        View records as `site_records` gives them, without conflicts; what a record does not say is left out.
    """
    return [
        {
            "id": id,
            "type": type_name,
            "parent": parent,
            "removed": removed,
            "facets": _nested(fields, values),
            "conflicts": [],
        }
        for id, parent, removed, values in values_of(session, site_id, type_name, fields)
    ]


def values_of(
    session: Session, site_id: str, type_name: str, fields: Sequence[Sequence[str]]
) -> Iterator[tuple[str, str | None, bool, list[object]]]:
    """The same bare: id, parent, whether it is removed, and the values in the order of the fields; None of what it does not say."""
    paths = [(facet, "value", *within) for facet, *within in fields]
    columns = (Record.id, Record.parent, Record.removed, values_within(Record.facets, paths))
    query = select(*columns).where(Record.site == site_id, Record.type == type_name).order_by(Record.seq)
    for id, parent, removed, values in session.execute(query):
        yield id, parent, removed, json_text.loads(values)[: len(fields)]


def seqs_of(session: Session, site_id: str, type_name: str, facets: Sequence[str]) -> Iterator[tuple[str, list[int]]]:
    """Id of each record of a type, and the sequences at which some facets were last said; 0 of what was not."""
    columns = (Record.id, values_within(Record.facets, [(facet, "seq") for facet in facets]))
    for id, seqs in session.execute(select(*columns).where(Record.site == site_id, Record.type == type_name)):
        yield id, [seq or 0 for seq in json_text.loads(seqs)[: len(facets)]]


def _nested(fields: Sequence[Sequence[str]], values: Sequence[object]) -> dict[str, object]:
    found: dict[str, object] = {}
    for (*above, name), value in zip(fields, values, strict=True):
        if value is not None:
            at = found
            for each in above:
                at = cast("dict[str, object]", at.setdefault(each, {}))
            at[name] = value
    return found


def _wanted(scope: str | None, types: Iterable[str] | None) -> list[str] | None:
    if scope is None and types is None:
        return None
    readable = records.readable_types(scope) if scope is not None else tuple(records.spec().types)
    return [name for name in readable if types is None or name in set(types)]


def view_record(row: RecordRow | Record, who: bool = False) -> View:
    """One row of `record` as a view record; `who` as in `site_records`."""
    facets = json_text.loads(row.facets)
    found: View = {
        "id": row.id,
        "type": row.type,
        "parent": row.parent,
        "removed": row.removed,
        "facets": {name: stored["value"] for name, stored in facets.items() if name != LIFE},
        "conflicts": [
            {
                "id": conflict["id"],
                "facet": conflict["facet"],
                "by": conflict["by"],
                "at": conflict["at"],
                "value": conflict["value"],
            }
            for conflict in json_text.loads(row.conflicts)
        ],
    }
    if who:
        found["by"] = {facet: stored["by"] for facet, stored in facets.items()}
        found["at"] = {facet: stored["at"] for facet, stored in facets.items()}
        found["seqs"] = {facet: stored["seq"] for facet, stored in facets.items()}
    return found


def state_of(row: RecordRow) -> State:
    """One row of `record` as the merge rules see it."""
    return State(
        row.id,
        row.type,
        row.parent,
        row.seq,
        row.removed,
        json_text.loads(row.facets),
        json_text.loads(row.conflicts),
        row.line_hash,
    )


def site_head(session: Session, site_id: str) -> int:
    """The newest sequence of a site; what computed answers are cached by."""
    return session.execute(select(Site.head).where(Site.id == site_id)).scalar_one()
