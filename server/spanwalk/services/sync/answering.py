"""What goes back for each operation of a decision."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NotRequired, TypedDict

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.people.members import Member
from spanwalk.services.sync.gathering import slices
from spanwalk.services.sync.narrowed import failures_of, is_narrowed, narrowed
from spanwalk.services.sync.state import COLUMNS, state_of
from spanwalk.storage.database import among
from spanwalk.storage.tables import Record
from spanwalk.sync.model import APPLIED, CONFLICT, REFUSED, SAME, Decision, Known, State, WireRecord


class Answer(TypedDict):
    """What became of an operation: see sync/README.md. `id` is None where the operation had none that could be used."""

    id: str | None
    result: str
    code: NotRequired[str | None]
    facts: NotRequired[Mapping[str, object]]
    seq: NotRequired[int | None]
    record: NotRequired[WireRecord]


def answers_of(session: Session, member: Member, decision: Decision) -> list[Answer]:
    """The answers of a decision as they go over the wire."""
    shown = {known.record for known in decision.answers if _shows_record(known)}
    states = dict(decision.changed)
    for some in slices(shown - set(states)):
        query = select(*COLUMNS).where(Record.site == member.site_id, among(Record.id, some))
        states |= {row.id: state_of(row) for row in session.execute(query)}
    states = {id: read for id, state in states.items() if (read := _read(session, member, state)) is not None}
    return [answer_of(known, states, member) for known in decision.answers]


def _read(session: Session, member: Member, state: State) -> State | None:
    role = member.reads_as
    return narrowed(state, role, failures_of(session, member.site_id)) if is_narrowed(role) else state


def _shows_record(known: Known) -> bool:
    """Whether the record goes with the answer: the phone cannot know the value that stands there now."""
    return known.result in (SAME, CONFLICT) or _was_completed(known)


def _was_completed(known: Known) -> bool:
    return known.result == APPLIED and bool(known.facts)


def answer_of(known: Known, states: dict[str, State], member: Member) -> Answer:
    """One answer; what was kept instead, or beside it, is in it as far as the person may read it."""
    answer: Answer = {"id": known.id, "result": SAME if _was_completed(known) else known.result}
    if known.result == REFUSED:
        return {**answer, "code": known.code, "facts": known.facts or {}}
    if known.result in (APPLIED, SAME, CONFLICT):
        answer["seq"] = known.seq
    state = states.get(known.record)
    if _shows_record(known) and state is not None and records.may_read(member.reads_as, state.type):
        answer["record"] = state.wire()
    return answer


__all__ = ["Answer", "answers_of"]
