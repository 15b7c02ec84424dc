"""Everything that is kept of one person, as a zip: for them to take away."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from io import BytesIO

import orjson
from sqlalchemy import Table, inspect, or_, select
from sqlalchemy.orm import Session

from spanwalk.services.clock import now
from spanwalk.services.people.people import site_name
from spanwalk.services.refusals import NotThere
from spanwalk.storage import json_text
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import AuditEntry, Base, Operation, Person, Photo

NEVER_TOLD = ("password_hash", "token_hash", "secret_hash", "code_hash", "secret", "leaves", "public_key", "challenge")
"""Secrets, and hashes of secrets: nobody is the better for having them in a file."""
OTHERWISE_TOLD = frozenset({"person", "photo", "file_import"})


def data_of(session: Session, store: PhotoStore, person_id: str) -> bytes:
    """What is kept of a person: account, sites, phones, sign-ins, links, what they entered, their photos, the audit of it.

    Parameters
    ----------
    session : Session
        One snapshot of the database.
    store : PhotoStore
        Where photos lie.
    person_id : str
        Who.

    Returns
    -------
    bytes
        A zip of ``data.json`` and ``photos/``.

    Raises
    ------
    NotThere
        No such person.
    """
    person = session.execute(select(Person).where(Person.id == person_id)).scalar_one_or_none()
    if person is None:
        raise NotThere("person-unknown", value=person_id)
    found = session.execute(select(Photo.__table__).where(Photo.person == person_id)).mappings()
    photos = [{str(name): value for name, value in row.items()} for row in found]
    told: dict[str, object] = {"made_at": now(), "account": _plain(dict(inspect(person).dict))}
    told |= {str(table.name): list(_rows(session, table, person_id)) for table in _tables_of_people()}
    told["photos"] = photos
    told["operations"] = list(_operations(session, person_id))
    told["audit"] = list(_audit(session, person_id))
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("data.json", orjson.dumps(told, option=orjson.OPT_INDENT_2 | orjson.OPT_SORT_KEYS))
        for sha256 in sorted({str(row["sha256"]) for row in photos}):
            data = store.get(sha256)
            if data is not None:
                parts.writestr(f"photos/{sha256}.jpg", data, zipfile.ZIP_STORED)
    return out.getvalue()


def _plain(row: dict[str, object]) -> dict[str, object]:
    return {
        name: value
        for name, value in row.items()
        if name not in NEVER_TOLD and not name.startswith("_") and not isinstance(value, bytes)
    }


def _tables_of_people() -> Iterator[Table]:
    """Tables with a person in their rows."""
    for table in Base.metadata.sorted_tables:
        if table.name not in OTHERWISE_TOLD and _person_columns(table):
            yield table


def _person_columns(table: Table) -> list[str]:
    return [key.parent.name for key in table.foreign_keys if key.column.table.name == Person.__tablename__]


def _rows(session: Session, table: Table, person_id: str) -> Iterator[dict[str, object]]:
    which = or_(*(table.c[name] == person_id for name in _person_columns(table)))
    for row in session.execute(select(table).where(which)).mappings():
        yield _plain({str(name): value for name, value in row.items()})


def _operations(session: Session, person_id: str) -> Iterator[dict[str, object]]:
    names: dict[str, str] = {}
    query = (
        select(Operation.site, Operation.id, Operation.received_at, Operation.result, Operation.body)
        .where(Operation.person == person_id)
        .order_by(Operation.site, Operation.received_at, Operation.place)
    )
    for row in session.execute(query):
        if row.site not in names:
            names[row.site] = site_name(session, row.site)
        yield {
            "site": names[row.site],
            "id": row.id,
            "received_at": row.received_at,
            "result": row.result,
            "operation": json_text.loads(row.body),
        }


def _audit(session: Session, person_id: str) -> Iterator[dict[str, object]]:
    which = or_(AuditEntry.person == person_id, AuditEntry.sender == person_id)
    query = select(AuditEntry.__table__).where(which).order_by(AuditEntry.scope, AuditEntry.number)
    for row in session.execute(query).mappings():
        yield _plain({str(name): value for name, value in row.items()})
