"""Write a decision down: log, records, sums, head."""

from __future__ import annotations

from typing import cast

from sqlalchemy import Table, bindparam, update
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.audit.chain import BY_SERVER, PUSHED, About, vouch
from spanwalk.services.clock import now
from spanwalk.services.people.members import Member
from spanwalk.services.sync import sums
from spanwalk.storage import json_text
from spanwalk.storage.database import insert_many
from spanwalk.storage.tables import Operation as Row
from spanwalk.storage.tables import Record, Site
from spanwalk.sync.model import Decision, LogRow, State


def write(
    session: Session, member: Member, decision: Decision, what: str | None = None, about: About | None = None
) -> None:
    """Write a decision down: log, audit, records, head. `what` and `about` are for the audit, where it is no plain push."""
    received, site_id = now(), member.site_id
    sums.follow(session, site_id, decision.changed.values())
    log = [_log_values(member, received, place, row) for place, row in enumerate(decision.log)]
    created = [_record_values(site_id, decision.changed[id]) for id in decision.created]
    updated = [_record_values(site_id, state) for id, state in decision.changed.items() if id not in decision.created]
    connection = session.connection()
    if log:
        times = [row.operation.device_time for row in decision.log]
        told = what or (BY_SERVER if member.role == records.SERVER else PUSHED)
        vouch(session, site_id, log, times, told, member.person_id, about)
        insert_many(connection, Row.__table__, log)
    if created:
        insert_many(connection, Record.__table__, created)
    if updated:
        connection.execute(_UPDATE, [{"b_" + key: value for key, value in each.items()} for each in updated])
    if decision.changed:
        connection.execute(update(Site).where(Site.id == site_id).values(head=decision.head))


_TABLE = cast("Table", Record.__table__)
WRITTEN = ("type", "parent", "seq", "removed", "facets", "conflicts", "line_hash")
_UPDATE = (
    update(_TABLE)
    .where(_TABLE.c.site == bindparam("b_site"), _TABLE.c.id == bindparam("b_id"))
    .values({name: bindparam("b_" + name) for name in WRITTEN})
)


def _record_values(site_id: str, state: State) -> dict[str, object]:
    return {
        "site": site_id,
        "id": state.id,
        "type": state.type,
        "parent": state.parent,
        "seq": state.seq,
        "removed": state.removed,
        "facets": json_text.dumps(state.facets),
        "conflicts": json_text.dumps(state.conflicts),
        "line_hash": state.line_hash,
    }


def _log_values(member: Member, received: str, place: int, row: LogRow) -> dict[str, object]:
    operation, known = row.operation, row.known
    former, former_hash = operation.formerly or (None, None)
    return {
        "site": member.site_id,
        "sender": member.person_id,
        "id": operation.id,
        "device": operation.device,
        "person": operation.by,
        "record": operation.record,
        "facet": operation.facet,
        "seq": known.seq,
        "received_at": received,
        "place": place,
        "hash": operation.hash,
        "body": operation.body,
        "result": known.result,
        "code": known.code,
        "facts": None if known.facts is None else json_text.dumps(known.facts),
        "base": known.base,
        "lost": known.lost,
        "formerly": former,
        "formerly_hash": former_hash,
        "replaces": operation.replaces,
    }


__all__ = ["write"]
