"""Operations that the server makes on its own account, through the same rules as a phone's push."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from typing import NotRequired, TypedDict, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.clock import now
from spanwalk.services.people.members import Member, incarnation
from spanwalk.services.sync.answering import Answer, answers_of
from spanwalk.services.sync.gathering import slices
from spanwalk.services.sync.incoming import check_values, parse_operation
from spanwalk.services.sync.pushing import lock_site, take
from spanwalk.services.sync.state import COLUMNS, state_of
from spanwalk.storage.database import among
from spanwalk.storage.tables import Record
from spanwalk.sync.canonical import tidy
from spanwalk.sync.model import LIFE, REMOVE, SET


class ServerOperation(TypedDict):
    """A change on the server's own account; kind is `set` unless said, what is not said of `seen` is read from the state."""

    record: str
    type: str
    facet: NotRequired[str]
    kind: NotRequired[str]
    to: NotRequired[Mapping[str, object]]
    seen: NotRequired[str | Mapping[str, str | None] | None]
    settles: NotRequired[Sequence[str]]


def server_push(session: Session, site_id: str, operations: Sequence[ServerOperation], by: str) -> list[Answer]:
    """Change records on the server's own account, through the same rules as a phone's push.

    Parameters
    ----------
    session : Session
        A writing transaction; the site is locked in it.
    site_id : str
        The site.
    operations : sequence of dict
        Each ``{"record", "type", "facet", "kind"?, "to"?, "seen"?, "settles"?}``; kind is `set` unless
        said; what is not said of `seen` is read from the state.
    by : str
        The person on whose command it is done.

    Returns
    -------
    list of dict
        Answers in order.
    """
    head = lock_site(session, site_id)
    member = Member(by, "", site_id, records.SERVER)
    device, epoch, at = incarnation(session), secrets.token_hex(4), now()
    writers = _writers(session, site_id, {told["record"] for told in operations})
    parsed = []
    for number, told in enumerate(operations, 1):
        raw: dict[str, object] = {
            "id": f"{device}.{epoch}.{number}",
            "by": by,
            "kind": SET,
            "from": None,
            "to": None,
            "settles": [],
        }
        raw |= {"device_time": at, "spec": records.spec().number} | told
        stored = writers.setdefault(told["record"], {})
        facet = cast("str", raw.setdefault("facet", LIFE))
        raw.setdefault("seen", dict(stored) if raw["kind"] == REMOVE else stored.get(facet))
        stored[facet] = cast("str", raw["id"])
        operation = parse_operation(tidy(raw))
        if operation is None:
            raise ValueError(f"not an operation: {told}")
        parsed.append(operation)
    check_values(parsed)
    return answers_of(session, member, take(session, member, parsed, head))


def _writers(session: Session, site_id: str, ids: set[str]) -> dict[str, dict[str, str]]:
    """The operation that wrote each facet of each record: the server has seen what is there."""
    found: dict[str, dict[str, str]] = {}
    for some in slices(ids):
        query = select(*COLUMNS).where(Record.site == site_id, among(Record.id, some))
        for row in session.execute(query):
            found[row.id] = {facet: stored["op"] for facet, stored in state_of(row).facets.items()}
    return found


__all__ = ["ServerOperation", "server_push"]
