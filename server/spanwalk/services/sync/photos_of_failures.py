"""The customer's facility manager adds photos to failures, and to nothing else; takes none away of anything else either."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.people.members import Member, memberships
from spanwalk.services.sync.gathering import read_states
from spanwalk.sync.model import IDENTITY, Flaw, Gathered, Operation

FAILURE, PHOTO = "failure", "photo"


def judge_photos(session: Session, member: Member, gathered: Gathered, operations: Sequence[Operation]) -> None:
    """Give each photo of something else its flaw where its person is a facility manager; hold it where its sender is.

    A subject that is not there is left to be refused as such.
    """
    if member.role == records.SERVER:
        return
    new = [each for each in operations if each.type == PHOTO and each.flaw is None and not each.held]
    if not new:
        return
    roles = memberships(session, member.site_id)
    subjects = {each.record: _subjects(gathered, each) for each in new}
    read_states(session, gathered, {id for each in subjects.values() for id in each} - gathered.states.keys())
    made = {each.record: each.type for each in operations if each.facet == IDENTITY and each.flaw is None}
    types = made | {id: state.type for id, state in gathered.states.items()}
    for operation in new:
        other = next((types[id] for id in subjects[operation.record] if types.get(id, FAILURE) != FAILURE), None)
        if other is None:
            continue
        title = records.spec().types[other].title if other in records.spec().types else other
        if roles.get(operation.by) == records.FACILITY:
            operation.flaw = Flaw("photo-of-no-failure", {"role": records.FACILITY, "value": title})
        operation.held = operation.flaw is None and member.role == records.FACILITY


def _subjects(gathered: Gathered, operation: Operation) -> set[str]:
    """What a photo is of as it stands, and what it is to be of."""
    state = gathered.states.get(operation.record)
    before = state.facets.get(IDENTITY) if state is not None else None
    values = (before["value"] if before is not None else None, operation.to if operation.facet == IDENTITY else None)
    return {str(value["subject"]) for value in values if value and "subject" in value}


__all__ = ["judge_photos"]
