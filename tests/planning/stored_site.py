"""An invented site put straight into the tables of an installation, as pushes of a phone would have left it."""

from __future__ import annotations

from typing import Any

from sqlalchemy import delete, select, update
from tests.planning.demo_records import SITE
from tests.support.installation import Installation

from spanwalk.storage import json_text
from spanwalk.storage.database import insert_many, writing
from spanwalk.storage.tables import Record, Site

PHONE = "0f0f0f0f-0000-4000-8000-000000000000.0000000e"
NAME = {"name": "Invented site"}


def store(installation: Installation, records: list[dict[str, Any]]) -> None:
    """Put view records in place of all that the installation's site holds."""
    rows = [_row(installation, number, record) for number, record in enumerate(records, start=1)]
    with installation.app.app_context(), writing() as session:
        session.execute(delete(Record).where(Record.site == installation.site))
        insert_many(session.connection(), Record.__table__, rows)
        session.execute(update(Site).where(Site.id == installation.site).values(head=len(rows)))


def as_pushed(record: dict[str, Any]) -> dict[str, Any]:
    """The record as a phone would have pushed it, its parent in its identity; rooms as they are before somebody walks them."""
    facets = dict(record["facets"])
    if record["parent"] is not None:
        facets["identity"] = {**facets.get("identity", {}), "parent": record["parent"]}
    if record["type"] == "room":
        facets["progress"] = {"progress": "open"}
    return {**record, "facets": facets}


def store_changes(installation: Installation, changed: list[dict[str, Any]]) -> None:
    """Put some view records in place of themselves, or beside the others, as one push after another would have left them."""
    with installation.app.app_context(), writing() as session:
        head = session.execute(select(Site.head).where(Site.id == installation.site)).scalar_one()
        rows = [_row(installation, number, record) for number, record in enumerate(changed, start=head + 1)]
        session.execute(
            delete(Record).where(Record.site == installation.site, Record.id.in_([each["id"] for each in rows]))
        )
        insert_many(session.connection(), Record.__table__, rows)
        session.execute(update(Site).where(Site.id == installation.site).values(head=head + len(rows)))


def operation_of(number: int, facet: str) -> str:
    """Id of the operation that a facet of a stored record rests on, by the record's place from 1."""
    return f"{PHONE}.{number}{len(facet):02d}"


def _row(installation: Installation, number: int, record: dict[str, Any]) -> dict[str, Any]:
    site, by = installation.site, installation.people["surveyor"]
    values = {"identity": NAME, **record["facets"]} if record["type"] == "site" else record["facets"]
    facets = {
        name: {"op": operation_of(number, name), "seq": number, "by": by, "at": "2026-03-01T09:00:00Z", "value": value}
        for name, value in values.items()
    }
    return {
        "site": site,
        "id": site if record["id"] == SITE else record["id"],
        "type": record["type"],
        "parent": site if record["parent"] == SITE else record["parent"],
        "seq": number,
        "removed": bool(record["removed"]),
        "facets": json_text.dumps(facets),
        "conflicts": json_text.dumps([each for each in record["conflicts"] if "at" in each]),
    }
