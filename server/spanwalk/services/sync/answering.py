"""What goes back for each operation of a decision."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.people.members import Member
from spanwalk.services.sync.gathering import slices
from spanwalk.services.sync.state import COLUMNS, state_of
from spanwalk.storage.database import among
from spanwalk.storage.tables import Record
from spanwalk.sync.model import APPLIED, CONFLICT, REFUSED, SAME, Decision, Known, State

Json = Any


def answers_of(session: Session, member: Member, decision: Decision) -> list[dict[str, Json]]:
    """The answers of a decision as they go over the wire."""
    shown = {known.record for known in decision.answers if _shows_record(known)}
    states = dict(decision.changed)
    for some in slices(shown - set(states)):
        query = select(*COLUMNS).where(Record.site == member.site_id, among(Record.id, some))
        states |= {row.id: state_of(row) for row in session.execute(query)}
    return [answer_of(known, states, member) for known in decision.answers]


def _shows_record(known: Known) -> bool:
    """Whether the record goes with the answer: the phone cannot know the value that stands there now."""
    return known.result in (SAME, CONFLICT) or _was_completed(known)


def _was_completed(known: Known) -> bool:
    return known.result == APPLIED and bool(known.facts)


def answer_of(known: Known, states: dict[str, State], member: Member) -> dict[str, Json]:
    """One answer; what was kept instead, or beside it, is in it as far as the person may read it."""
    answer: dict[str, Json] = {"id": known.id, "result": SAME if _was_completed(known) else known.result}
    if known.result == REFUSED:
        return answer | {"code": known.code, "facts": known.facts or {}}
    if known.result in (APPLIED, SAME, CONFLICT):
        answer["seq"] = known.seq
    state = states.get(known.record)
    if _shows_record(known) and state is not None and records.may_read(member.reads_as, state.type):
        answer["record"] = state.wire()
    return answer


__all__ = ["answers_of"]
