"""What a customer signed stays as it was signed: no later word changes a signature or takes it away.

Who signs anew makes another record; both stand. A picture that was put to a signature stays with it as well, and no
second one is put to it, nor one by anybody else than who took the signature: work that was held for a time least of all.
"""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import literal_column, select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.rules.survey import facet
from spanwalk.services.people.members import Member
from spanwalk.services.sync.state import COLUMNS, view_record
from spanwalk.storage.tables import Record
from spanwalk.sync.model import IDENTITY, Flaw, Gathered, Operation, State

ACCEPTANCE, SIGN_OFF, PHOTO, SIGNATURE = "acceptance", "sign_off", "photo", "signature"
SIGNED = (ACCEPTANCE, SIGN_OFF)


def judge_signed(session: Session, member: Member, gathered: Gathered, operations: Sequence[Operation]) -> None:
    """Give each operation that would change, remove or sign a signature of another its flaw.

    An operation that came before is answered as it was then, whatever stands here. What the server itself brings in (the
    copy of a site) was judged where it came from.
    """
    if member.role == records.SERVER:
        return
    begun = {record for record, state in gathered.states.items() if _is_signed(state)}
    pictured: set[str] = set()
    for operation in operations:
        if operation.flaw is not None or operation.held or operation.type not in (*SIGNED, PHOTO):
            continue
        if operation.id in gathered.known:
            continue
        if operation.record in begun:
            operation.flaw = Flaw("acceptance-stands", {"value": operation.record})
        elif operation.type in SIGNED and operation.facet == IDENTITY:
            begun.add(operation.record)
        elif (signature := _pictures(operation)) is not None:
            if signature in pictured or not _may_picture(session, gathered, operation, signature):
                operation.flaw = Flaw("acceptance-stands", {"value": signature})
            pictured.add(signature)


def _is_signed(state: State) -> bool:
    """Whether a record is a signature that is there, or the picture of one."""
    stored = state.facets.get(IDENTITY)
    if stored is None or not stored["value"]:
        return False
    return state.type in SIGNED or (state.type == PHOTO and stored["value"].get("purpose") == SIGNATURE)


def _pictures(operation: Operation) -> str | None:
    """Of which signature an operation is to be the picture."""
    value = operation.to if operation.type == PHOTO and operation.facet == IDENTITY else None
    return str(value.get("subject")) if value and value.get("purpose") == SIGNATURE else None


def _may_picture(session: Session, gathered: Gathered, operation: Operation, signature: str) -> bool:
    """Whether the picture comes from who took the signature, and is its first."""
    state = gathered.states.get(signature)
    stored = None if state is None else state.facets.get(IDENTITY)
    if stored is None:  # it comes with this batch, or is missing and refused as such
        return True
    return stored["by"] == operation.by and not _has_picture(session, gathered.site, signature)


def _has_picture(session: Session, site_id: str, signature: str) -> bool:
    query = select(*COLUMNS).where(
        Record.site == site_id, Record.type == literal_column("'photo'"), Record.facets.contains(signature)
    )
    told = [facet(view_record(row), "identity") for row in session.execute(query)]
    return any(each.get("subject") == signature and each.get("purpose") == SIGNATURE for each in told)


__all__ = ["judge_signed"]
