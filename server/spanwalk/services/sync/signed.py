"""What a customer signed stays as it was signed: no later word changes a signature or takes it away.

Who signs anew makes another record; both stand. A picture that was put to a signature stays with it as well.
"""

from __future__ import annotations

from collections.abc import Sequence

from spanwalk import records
from spanwalk.services.people.members import Member
from spanwalk.sync.model import IDENTITY, Flaw, Gathered, Operation, State

ACCEPTANCE, PHOTO, SIGNATURE = "acceptance", "photo", "signature"


def judge_signed(member: Member, gathered: Gathered, operations: Sequence[Operation]) -> None:
    """Give each operation that would change or remove a signature its flaw.

    An operation that came before is answered as it was then, whatever stands here. What the server itself brings in (the
    copy of a site) was judged where it came from.
    """
    if member.role == records.SERVER:
        return
    begun = {record for record, state in gathered.states.items() if _is_signed(state)}
    for operation in operations:
        if operation.flaw is not None or operation.held or operation.type not in (ACCEPTANCE, PHOTO):
            continue
        if operation.record in begun:
            operation.flaw = Flaw("acceptance-stands", {"value": operation.record})
        elif operation.type == ACCEPTANCE and operation.facet == IDENTITY:
            begun.add(operation.record)


def _is_signed(state: State) -> bool:
    """Whether a record is a signature that is there, or the picture of one."""
    held = state.facets.get(IDENTITY)
    if held is None or not held["value"]:
        return False
    return state.type == ACCEPTANCE or (state.type == PHOTO and held["value"].get("purpose") == SIGNATURE)


__all__ = ["judge_signed"]
