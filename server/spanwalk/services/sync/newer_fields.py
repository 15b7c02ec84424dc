"""What an older phone hands back of fields and choices that it does not know is no flaw of its operation."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.sync.gathering import read_states
from spanwalk.services.sync.incoming import check_values
from spanwalk.sync.model import SET, Gathered, Operation


def note_specs(session: Session, site_id: str, operations: Sequence[Operation]) -> None:
    """Note what each sender's spec knows; and what an older phone only carries along, as it stands, is no flaw of it.

    Before rights are judged: they are judged of what has no flaw.
    """
    for operation in operations:
        if operation.kind == SET and operation.type in records.spec().types:
            operation.knows = records.known_at(operation.type, operation.facet, operation.spec)
    doubted = [each for each in operations if each.flaw is not None and each.flaw.code in CARRIED]
    if not doubted:
        return
    gathered = Gathered(site_id, 0)
    read_states(session, gathered, {each.record for each in doubted})
    for operation in doubted:
        value = _without_carried(operation, gathered)
        if value is not None:
            operation.to, operation.flaw = value, None
            check_values([operation], newer=True)


CARRIED = ("field-unknown", "choice-wrong")


def _without_carried(operation: Operation, gathered: Gathered) -> dict[str, object] | None:
    """The value without what an older phone hands back of a newer one's; None where there is something else in it.

    Fields that we do not know either stay as they are in the record; a choice that we do not know stands there.
    """
    state = gathered.states.get(operation.record)
    if state is None or operation.to is None:
        return None
    stored = state.facets.get(operation.facet)
    there = [stored["value"]] if stored else []
    there += [each["value"] for each in state.conflicts if each["facet"] == operation.facet]
    known = records.fields_of(operation.type, operation.facet)
    handed_back = {name for each in there for name in each} - set(known)
    value = {name: each for name, each in operation.to.items() if name not in handed_back}
    strange = records.not_ours(operation.type, operation.facet, value)
    return value if all(any(each.get(name) == value[name] for each in there) for name in strange) else None


__all__ = ["note_specs"]
