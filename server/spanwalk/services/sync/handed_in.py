"""How much waits for a manager: what somebody off the site, or for another, may still hand in has an end."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from spanwalk.services.people.members import Member
from spanwalk.services.refusals import NotAllowed
from spanwalk.storage.database import among
from spanwalk.storage.tables import Membership
from spanwalk.storage.tables import Operation as Row
from spanwalk.sync.model import HELD, REFUSED, Flaw, Operation

OPERATIONS_MOST = 2_000
BYTES_MOST = 4_000_000
"""Of one sender on one site, as long as they wait [bytes]."""
FULL = "handed-in-full"


def bound_held(session: Session, member: Member, operations: Sequence[Operation]) -> None:
    """Let no more wait than is taken of one sender.

    What goes beyond is refused to who is on the site, whose other work goes on; who is off it, or asks by a phone that
    is shut out, keeps the whole batch on their phone.

    Parameters
    ----------
    session : Session
        A writing transaction.
    member : Member
        Who sends.
    operations : sequence of Operation
        Judged already.

    Raises
    ------
    NotAllowed
        Of who is off the site: it is more than is taken, counting what was refused since they were taken off.
    """
    off = member.role is None or member.shut_out
    new = [each for each in operations if each.held or (off and each.flaw is not None)]
    if not new:
        return
    known = set(
        session.execute(
            select(Row.id).where(Row.site == member.site_id, among(Row.id, [each.id for each in new]))
        ).scalars()
    )
    count, size = _waiting(session, member, off)
    for operation in new:
        if operation.id in known:
            continue
        count, size = count + 1, size + len(operation.body.encode())
        if count <= OPERATIONS_MOST and size <= BYTES_MOST:
            continue
        facts: dict[str, object] = {"operations": OPERATIONS_MOST, "bytes": BYTES_MOST}
        if off:
            raise NotAllowed(FULL, **facts)
        operation.held, operation.flaw = False, Flaw(FULL, facts)


def _waiting(session: Session, member: Member, off: bool) -> tuple[int, int]:
    """How many operations of this sender wait, and how long they are [bytes]; of who is off, also those refused since."""
    counted = Row.result == HELD
    if off and member.role is None:
        since = select(Membership.ended_at).where(
            Membership.site == member.site_id, Membership.person == member.person_id
        )
        counted |= (Row.result == REFUSED) & (Row.received_at > since.scalar_subquery())
    query = select(func.count(), func.coalesce(func.sum(func.length(Row.body)), 0)).where(
        Row.site == member.site_id, Row.sender == member.person_id, counted
    )
    count, size = session.execute(query).one()
    return int(count), int(size)
