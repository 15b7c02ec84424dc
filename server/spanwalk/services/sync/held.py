"""Operations held for a manager: those of people off the site, and of revoked phones."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import delete, select
from sqlalchemy.orm import Session, aliased

from spanwalk.services.audit.chain import SETTLED, log_rows, taken_over
from spanwalk.services.audit.rewriting import rewrite
from spanwalk.services.people.members import Member
from spanwalk.services.sync.answering import Answer, answers_of
from spanwalk.services.sync.done_checks import judge_done
from spanwalk.services.sync.gathering import gather
from spanwalk.services.sync.incoming import OPERATION_ID, check_values, parse_operation
from spanwalk.services.sync.newer_fields import note_specs
from spanwalk.services.sync.pushing import lock_site
from spanwalk.services.sync.rights import right_flaw, settling_flaw
from spanwalk.services.sync.signed import judge_signed
from spanwalk.services.sync.writing import write
from spanwalk.storage import json_text
from spanwalk.storage.tables import Operation as Row
from spanwalk.storage.tables import Person
from spanwalk.sync.decide import decide
from spanwalk.sync.model import HELD, REFUSED, Operation

SENDER = aliased(Person)


def list_held(session: Session, site_id: str) -> list[dict[str, object]]:
    """What is held, in order of arrival: each operation, who made it and who sent it."""
    query = (
        select(Row.id, Row.body, Row.received_at, Row.sender, Person.name, SENDER.name.label("sender_name"))
        .outerjoin(Person, Person.id == Row.person)
        .outerjoin(SENDER, SENDER.id == Row.sender)
        .where(Row.site == site_id, Row.result == HELD)
        .order_by(Row.received_at, Row.place)
    )
    return [
        {
            "id": row.id,
            "operation": json_text.loads(row.body),
            "received_at": row.received_at,
            "sender": row.sender,
            "name": row.name,
            "sender_name": row.sender_name,
        }
        for row in session.execute(query)
    ]


def settle_held(session: Session, member: Member, release: Sequence[str], refuse: Sequence[str]) -> list[Answer]:
    """Let held operations in by the ordinary rules, or refuse them; their answers, in order of arrival.

    Parameters
    ----------
    session : Session
        A writing transaction.
    member : Member
        Who settles; what is let in needs a right of theirs as well.
    release, refuse : sequence of str
        Ids of held operations; others are passed over.
    """
    head = lock_site(session, member.site_id)
    release, refuse = _usable(release), _usable(refuse)
    if refuse:
        _refuse(session, member, refuse)
    operations = _held(session, member.site_id, release)
    before = taken_over(log_rows(session, member.site_id, [each.id for each in operations]))
    session.execute(delete(Row).where(Row.site == member.site_id, Row.id.in_([each.id for each in operations])))
    check_values(operations)
    note_specs(session, member.site_id, operations)
    for operation in operations:
        operation.flaw = operation.flaw or right_flaw(str(member.role), operation)
    gathered = gather(session, member.site_id, head, operations)
    for operation in operations:
        operation.flaw = operation.flaw or settling_flaw(str(member.role), operation, gathered, operations)
    judge_done(member, gathered, operations)
    judge_signed(session, member, gathered, operations)
    decision = decide(gathered, operations)
    write(session, member, decision, what=SETTLED, about=before)
    return answers_of(session, member, decision)


def _refuse(session: Session, member: Member, ids: Sequence[str]) -> None:
    """Refuse held operations; the audit vouches for them as they stand then."""
    which = (Row.site == member.site_id, Row.id.in_(ids), Row.result == HELD)
    held = session.execute(select(Row.id).where(*which).order_by(Row.received_at, Row.place)).scalars().all()
    facts = json_text.dumps({"name": member.name})
    values: dict[str, object] = {"result": REFUSED, "code": "held-refused", "facts": facts}
    rewrite(session, member.site_id, dict.fromkeys(held, values), SETTLED, member.person_id)


def _usable(ids: Sequence[str]) -> list[str]:
    """Those that can be an operation's id at all."""
    return [id for id in ids if OPERATION_ID.fullmatch(id)]


def _held(session: Session, site_id: str, ids: Sequence[str]) -> list[Operation]:
    query = (
        select(Row.body, Row.sender)
        .where(Row.site == site_id, Row.id.in_(ids), Row.result == HELD)
        .order_by(Row.received_at, Row.place)
    )
    found = []
    for row in session.execute(query):
        operation = parse_operation(json_text.loads(row.body))
        if operation is not None:
            operation.via = row.sender if row.sender != operation.by else None
            found.append(operation)
    return found
