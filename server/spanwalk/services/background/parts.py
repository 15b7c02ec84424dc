"""Under which names a made file lies in the photo store: in parts, so that no server has all of it in memory."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.storage.tables import HandoverFile, SiteArchive

PART_BYTES = 8_000_000
"""So much of a file is in memory when it is put into the store, and when it is handed out."""
TABLES = (SiteArchive, HandoverFile)
"""Tables whose rows are made files; all of them are of a site, and go with it."""


def part_name(made_id: str, number: int) -> str:
    """Under which name a part lies in the store; parts are counted from 1."""
    return f"{made_id.replace('-', '')}.archive-{number:05d}"


def parts_of_site(session: Session, site_id: str | None = None) -> tuple[str, ...]:
    """Names of all that lies in the store of a site's archives and hand-over files; of all sites where none is named."""
    found: list[str] = []
    for table in TABLES:
        query = select(table.id, table.parts)
        rows = session.execute(query if site_id is None else query.where(table.site == site_id)).all()
        found += (part_name(row.id, number) for row in rows for number in range(1, row.parts + 1))
    return tuple(found)
