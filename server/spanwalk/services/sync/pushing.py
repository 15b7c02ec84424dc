"""Take operations in: gather what they touch, decide, write it all in one transaction, answer each."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import bindparam, select, update
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.clock import now
from spanwalk.services.people.members import Member, incarnation, memberships, note_device, scope_of
from spanwalk.services.refusals import InTheWay, NotThere, of_database
from spanwalk.services.sync import sums
from spanwalk.services.sync.incoming import Push, check_values, parse_operation
from spanwalk.services.sync.state import COLUMNS, state_of
from spanwalk.storage import json_text
from spanwalk.storage.database import among, insert_many, writing
from spanwalk.storage.tables import Device, Record, Site
from spanwalk.storage.tables import Operation as Row
from spanwalk.sync.canonical import tidy
from spanwalk.sync.decide import decide
from spanwalk.sync.model import (
    APPLIED,
    CONFLICT,
    HELD,
    IDENTITY,
    LIFE,
    REFUSED,
    REMOVE,
    RESTORE,
    SAME,
    SET,
    Decision,
    Flaw,
    Gathered,
    Known,
    LogRow,
    Operation,
    State,
)

Json = Any
ID_LETTERS_MOST = 200
"""As much of an id that cannot be used is repeated in the answer."""
AT_ONCE = 5000
"""Values in one query; all databases take that many."""


def push(member: Member, sent: Push) -> dict[str, Json]:
    """Take a phone's push in.

    Parameters
    ----------
    member : Member
        Whose session it is, on which site.
    sent : Push
        What was sent.

    Returns
    -------
    dict
        ``{"incarnation", "scope", "head", "answers", "backed_up"}``, one answer for each operation, in order.

    Raises
    ------
    InTheWay
        The phone knows this server by another incarnation, or the site is archived; nothing was done.
    Unavailable, NoRoom
        The database cannot be written now; nothing was done.
    """
    try:
        answers, head, about = _push_or_halve(member, sent)
    except OperationalError as problem:
        raise of_database(problem) from problem
    named = {answer["id"]: answer for answer in answers}
    ordered = [_answer_for(place, each, named) for place, each in enumerate(sent.order)]
    return about | {"head": head, "answers": ordered}


def _answer_for(place: int, each: Operation | Json, named: dict[str, dict[str, Json]]) -> dict[str, Json]:
    if isinstance(each, Operation):
        return named[each.id]
    raw = each.get("id") if isinstance(each, dict) else None
    told = raw if isinstance(raw, str) and records.storable(raw) and len(raw) <= ID_LETTERS_MOST else None
    facts = {"field": "id", "value": records.short(raw), "right": "device.epoch.counter", "place": place + 1}
    return {
        "id": told,
        "result": REFUSED,
        "code": "operation-field-wrong",
        "facts": facts,
    }


def _push_or_halve(member: Member, sent: Push) -> tuple[list[dict[str, Json]], int, dict[str, Json]]:
    try:
        return _push_whole(member, sent)
    except OperationalError:
        raise
    except DatabaseError:
        return _push_in_parts(member, sent)


def _push_whole(member: Member, sent: Push) -> tuple[list[dict[str, Json]], int, dict[str, Json]]:
    with writing() as session:
        _same_incarnation(session, sent.incarnation)
        head = lock_site(session, member.site_id)
        note_device(session, member, sent.device, sent.unsent_operations, sent.unsent_photos)
        decision = take(session, member, sent.operations, head, device=sent.device)
        about = {
            "incarnation": incarnation(session),
            "scope": scope_of(session, member),
            "backed_up": session.execute(select(Site.backed_up).where(Site.id == member.site_id)).scalar_one(),
        }
        return answers_of(session, member, decision), decision.head, about


def _push_in_parts(member: Member, sent: Push) -> tuple[list[dict[str, Json]], int, dict[str, Json]]:
    """The database refused the batch: halve it until the one operation that it will not have stands alone."""
    if len(sent.operations) <= 1:
        for operation in sent.operations:
            operation.flaw = Flaw("database-refused", {"value": operation.id})
            operation.body, operation.record, operation.formerly = "{}", "", None
        return _push_whole(member, sent)
    half = len(sent.operations) // 2
    answers: list[dict[str, Json]] = []
    for part in (sent.operations[:half], sent.operations[half:]):
        fewer = Push(sent.device, sent.incarnation, sent.unsent_operations, sent.unsent_photos, part)
        some, head, about = _push_or_halve(member, fewer)
        answers += some
    return answers, head, about


def _same_incarnation(session: Session, named: str | None) -> None:
    ours = incarnation(session)
    if named is not None and named != ours:
        raise InTheWay("incarnation-changed", incarnation=ours)


def lock_site(session: Session, site_id: str) -> int:
    """Lock the site's row, so that sequence order is commit order; its head.

    Raises
    ------
    NotThere
        No such site.
    InTheWay
        It is archived: whatever would change its records begins here, and is refused.
    """
    row = session.execute(select(Site.head, Site.archived_at).where(Site.id == site_id).with_for_update()).one_or_none()
    if row is None:
        raise NotThere("site-unknown")
    if row.archived_at is not None:
        raise InTheWay("site-archived", archived_at=row.archived_at)
    return int(row.head)


def take(
    session: Session, member: Member, operations: Sequence[Operation], head: int, device: str | None = None
) -> Decision:
    """Decide a batch on a locked site and write it down."""
    note_specs(session, member.site_id, operations)
    judge(session, member, operations, device)
    gathered = gather(session, member.site_id, head, operations)
    judge_settling(session, member, gathered, operations)
    decision = decide(gathered, operations)
    write(session, member, decision)
    return decision


# -- specs


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
    _read_states(session, gathered, {each.record for each in doubted})
    for operation in doubted:
        value = _without_carried(operation, gathered)
        if value is not None:
            operation.to, operation.flaw = value, None
            check_values([operation], newer=True)


CARRIED = ("field-unknown", "choice-wrong")


def _without_carried(operation: Operation, gathered: Gathered) -> dict[str, Json] | None:
    """The value without what an older phone hands back of a newer one's; None where there is something else in it.

    Fields that we do not know either stay as they are in the record; a choice that we do not know stands there.
    """
    state = gathered.states.get(operation.record)
    if state is None or operation.to is None:
        return None
    held = state.facets.get(operation.facet)
    there = [held["value"]] if held else []
    there += [each["value"] for each in state.conflicts if each["facet"] == operation.facet]
    known = records.fields_of(operation.type, operation.facet)
    handed_back = {name for each in there for name in each} - set(known)
    value = {name: each for name, each in operation.to.items() if name not in handed_back}
    strange = records.not_ours(operation.type, operation.facet, value)
    return value if all(any(each.get(name) == value[name] for each in there) for name in strange) else None


# -- rights


def judge(session: Session, member: Member, operations: Sequence[Operation], device: str | None) -> None:
    """Give each operation its flaw if its person has no right, or hold it if person or device is off the site."""
    if member.role == records.SERVER:
        return
    roles = memberships(session, member.site_id)
    revoked = _revoked(session, {each.device for each in operations} | ({device} if device else set()))
    for operation in operations:
        role = roles.get(operation.by)
        off = role is None or member.role is None or operation.device in revoked or device in revoked
        operation.held = operation.flaw is None and (off or _beyond_sender(member, operation))
        if role is not None and operation.flaw is None:
            operation.flaw = right_flaw(role, operation)


def _beyond_sender(member: Member, operation: Operation) -> bool:
    """Whether it was made by another than who sends it, and the sender has not the right to it.

    A phone that changed hands sends what its former user left; but nobody gains a right by signing for another.
    """
    mine = operation.by == member.person_id or member.role is None
    return not mine and right_flaw(str(member.role), operation) is not None


def judge_settling(session: Session, member: Member, gathered: Gathered, operations: Sequence[Operation]) -> None:
    """Whoever closes a conflict by naming it must have the right to write the facet that the conflict is about.

    Judged as the right to the operation's own facet is: refused for its person, held for another sender.
    """
    settling = [each for each in operations if each.settles and each.flaw is None and not each.held]
    if not settling or member.role == records.SERVER:
        return
    roles = memberships(session, member.site_id)
    for operation in settling:
        role = roles.get(operation.by)
        operation.flaw = None if role is None else settling_flaw(role, operation, gathered, operations)
        mine = operation.by == member.person_id or member.role is None
        beyond = None if mine else settling_flaw(str(member.role), operation, gathered, operations)
        operation.held = operation.flaw is None and beyond is not None


def settling_flaw(role: str, operation: Operation, gathered: Gathered, batch: Sequence[Operation]) -> Flaw | None:
    """The flaw of an operation that names a conflict of a facet which a role does not write."""
    flaws = (right_flaw(role, operation, facet) for facet in sorted(_facets_settled(operation, gathered, batch)))
    return next((flaw for flaw in flaws if flaw is not None), None)


def _facets_settled(operation: Operation, gathered: Gathered, batch: Sequence[Operation]) -> set[str]:
    """What the conflicts that an operation names are about: those that are open, and those that its batch may open."""
    named = set(operation.settles)
    if not named:
        return set()
    state = gathered.states.get(operation.record)
    found = {each["facet"] for each in (state.conflicts if state else ()) if each["id"] in named}
    opened = (each for each in batch if each.id in named and each.record == operation.record)
    return found | {each.facet for each in opened if each.facet}


def right_flaw(role: str, operation: Operation, facet_name: str | None = None) -> Flaw | None:
    """The flaw of an operation whose person has no right to its facet, or to another of the record's."""
    name = facet_name or operation.facet
    if records.may_write(role, operation.type, name):
        return None
    record = records.spec().types[operation.type]
    facet = record.facets.get(name) or record.facets[IDENTITY]
    who = [each for each in records.ROLES if each in records.writers(operation.type, name)]
    facts = {"type": record.title, "facet": facet.title, "role": role, "right": who or ["the server"]}
    return Flaw("no-right", facts)


def _revoked(session: Session, ids: set[str]) -> set[str]:
    query = select(Device.id).where(Device.id.in_(ids), Device.revoked_at.is_not(None))
    return set(session.execute(query).scalars())


# -- gathering


def gather(session: Session, site_id: str, head: int, operations: Sequence[Operation]) -> Gathered:
    """Read what the decision about a batch may look at."""
    gathered = Gathered(site_id, head)
    _gather_states(session, gathered, operations)
    _gather_known(session, gathered, operations)
    _gather_children(session, gathered, operations)
    _gather_missing(session, gathered, operations)
    return gathered


def _gather_states(session: Session, gathered: Gathered, operations: Sequence[Operation]) -> None:
    wanted = {operation.record for operation in operations}
    wanted |= {reference.record for operation in operations for reference in operation.references}
    _read_states(session, gathered, wanted)
    restored = (gathered.states.get(op.record) for op in operations if op.kind == RESTORE)
    parents = {state.parent for state in restored if state is not None and state.parent is not None}
    _read_states(session, gathered, parents - set(gathered.states))


def _read_states(session: Session, gathered: Gathered, ids: set[str]) -> None:
    for some in _slices(ids):
        query = select(*COLUMNS).where(Record.site == gathered.site, among(Record.id, some))
        for row in session.execute(query):
            gathered.states[row.id] = state_of(row)


KNOWN = (
    Row.id,
    Row.hash,
    Row.result,
    Row.seq,
    Row.record,
    Row.person,
    Row.device,
    Row.base,
    Row.lost,
    Row.code,
    Row.facts,
)


def _gather_known(session: Session, gathered: Gathered, operations: Sequence[Operation]) -> None:
    """Operations of the batch that are known already, those it has seen, and what has replaced those."""
    ids = {operation.id for operation in operations}
    pairs = {(op.id, op.hash) for op in operations} | {op.formerly for op in operations if op.formerly is not None}
    wanted = ids | {former for former, _ in pairs} | _seen_elsewhere(gathered, operations)
    asked: set[str] = set()
    while wanted:
        _read_known(session, gathered, wanted)
        asked |= wanted
        unmerged = {id for id in wanted if _result(gathered, id) in (REFUSED, HELD)}
        _read_replacements(session, gathered, unmerged)
        wanted = {gathered.replaced_by[id] for id in unmerged if id in gathered.replaced_by} - asked
    _read_formerly(session, gathered, pairs)


def _seen_elsewhere(gathered: Gathered, operations: Sequence[Operation]) -> set[str]:
    """Ids that were seen and are not the value's writer as it stands: the only ones to be followed."""
    found: set[str] = set()
    for operation in operations:
        if operation.seen is None:
            continue
        state = gathered.states.get(operation.record)
        facets = state.facets if state is not None else {}
        seen = operation.seen if isinstance(operation.seen, dict) else {operation.facet: operation.seen}
        found |= {id for facet, id in seen.items() if id is not None and facets.get(facet, {}).get("op") != id}
    return found


def _read_known(session: Session, gathered: Gathered, ids: set[str]) -> None:
    for some in _slices(ids):
        for row in session.execute(select(*KNOWN).where(Row.site == gathered.site, among(Row.id, some))):
            gathered.known[row.id] = known_of(row)


def known_of(row: Any) -> Known:
    """One row of the log as the merge rules see it."""
    facts = json_text.loads(row.facts) if row.facts is not None else None
    return Known(
        row.id,
        row.hash,
        row.result,
        row.seq,
        row.record,
        row.person,
        row.device,
        row.base,
        row.lost,
        row.code,
        facts,
    )


def _read_replacements(session: Session, gathered: Gathered, ids: set[str]) -> None:
    for some in _slices(ids):
        query = (
            select(Row.replaces, Row.id)
            .where(Row.site == gathered.site, among(Row.replaces, some))
            .order_by(Row.received_at, Row.place)
        )
        gathered.replaced_by |= {replaced: id for replaced, id in session.execute(query) if replaced is not None}


def _read_formerly(session: Session, gathered: Gathered, pairs: set[tuple[str, str]]) -> None:
    for some in _slices({former for former, _ in pairs}):
        query = select(*KNOWN, Row.formerly, Row.formerly_hash).where(
            Row.site == gathered.site, among(Row.formerly, some)
        )
        for row in session.execute(query):
            gathered.formerly.setdefault((row.formerly, row.formerly_hash), known_of(row))


def _result(gathered: Gathered, id: str) -> str | None:
    known = gathered.known.get(id)
    return None if known is None else known.result


def _gather_children(session: Session, gathered: Gathered, operations: Sequence[Operation]) -> None:
    removed = {operation.record for operation in operations if operation.kind == REMOVE}
    gathered.children = {id: set() for id in removed}
    for some in _slices(removed):
        query = select(Record.parent, Record.id).where(
            Record.site == gathered.site, among(Record.parent, some), Record.removed.is_(False)
        )
        for parent, child in session.execute(query):
            if parent is not None:
                gathered.children[parent].add(child)


def _gather_missing(session: Session, gathered: Gathered, operations: Sequence[Operation]) -> None:
    """For records that are not there: the refused or held operation that would have made them."""
    wanted = _named_before_made(gathered, operations)
    for some in _slices(wanted - set(gathered.states) - {gathered.site, ""}):
        query = select(*KNOWN).where(
            Row.site == gathered.site,
            among(Row.record, some),
            Row.facet == IDENTITY,
            Row.result.in_((REFUSED, HELD)),
        )
        for row in session.execute(query.order_by(Row.received_at, Row.place)):
            gathered.missing[row.record] = known_of(row)


def _named_before_made(gathered: Gathered, operations: Sequence[Operation]) -> set[str]:
    """The records that operations name before the batch itself makes them."""
    made: set[str] = set()
    named: set[str] = set()
    for operation in operations:
        makes = operation.facet == IDENTITY and operation.flaw is None and operation.id not in gathered.known
        if makes:
            made.add(operation.record)
        elif operation.record not in made:
            named.add(operation.record)
        named |= {reference.record for reference in operation.references} - made
    return named


def _slices(ids: set[str]) -> Iterable[list[str]]:
    ordered = sorted(ids)
    return (ordered[start : start + AT_ONCE] for start in range(0, len(ordered), AT_ONCE))


# -- writing


def write(session: Session, member: Member, decision: Decision) -> None:
    """Write a decision down: log, records, head."""
    received, site_id = now(), member.site_id
    sums.follow(session, site_id, decision.changed.values())
    log = [_log_values(member, received, place, row) for place, row in enumerate(decision.log)]
    created = [_record_values(site_id, decision.changed[id]) for id in decision.created]
    updated = [_record_values(site_id, state) for id, state in decision.changed.items() if id not in decision.created]
    connection = session.connection()
    if log:
        insert_many(connection, Row.__table__, log)
    if created:
        insert_many(connection, Record.__table__, created)
    if updated:
        connection.execute(_UPDATE, [{"b_" + key: value for key, value in each.items()} for each in updated])
    if decision.changed:
        connection.execute(update(Site).where(Site.id == site_id).values(head=decision.head))


_TABLE: Any = Record.__table__
WRITTEN = ("type", "parent", "seq", "removed", "facets", "conflicts", "line_hash")
_UPDATE = (
    update(_TABLE)
    .where(_TABLE.c.site == bindparam("b_site"), _TABLE.c.id == bindparam("b_id"))
    .values({name: bindparam("b_" + name) for name in WRITTEN})
)


def _record_values(site_id: str, state: State) -> dict[str, Json]:
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


def _log_values(member: Member, received: str, place: int, row: LogRow) -> dict[str, Json]:
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


# -- answering


def answers_of(session: Session, member: Member, decision: Decision) -> list[dict[str, Json]]:
    """The answers of a decision as they go over the wire."""
    shown = {known.record for known in decision.answers if _shows_record(known)}
    states = dict(decision.changed)
    for some in _slices(shown - set(states)):
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


# -- operations that the server makes


def server_push(
    session: Session, site_id: str, operations: Sequence[dict[str, Json]], by: str
) -> list[dict[str, Json]]:
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
        raw: dict[str, Json] = {
            "id": f"{device}.{epoch}.{number}",
            "by": by,
            "kind": SET,
            "from": None,
            "to": None,
            "settles": [],
        }
        raw |= {"device_time": at, "spec": records.spec().number} | told
        held = writers.setdefault(raw["record"], {})
        facet = raw.setdefault("facet", LIFE)
        raw.setdefault("seen", dict(held) if raw["kind"] == REMOVE else held.get(facet))
        held[facet] = raw["id"]
        operation = parse_operation(tidy(raw))
        if operation is None:
            raise ValueError(f"not an operation: {told}")
        parsed.append(operation)
    check_values(parsed)
    return answers_of(session, member, take(session, member, parsed, head))


def _writers(session: Session, site_id: str, ids: set[str]) -> dict[str, dict[str, str]]:
    """The operation that wrote each facet of each record: the server has seen what is there."""
    found: dict[str, dict[str, str]] = {}
    for some in _slices(ids):
        query = select(*COLUMNS).where(Record.site == site_id, among(Record.id, some))
        for row in session.execute(query):
            found[row.id] = {facet: held["op"] for facet, held in state_of(row).facets.items()}
    return found


__all__ = [
    "answers_of",
    "gather",
    "judge",
    "judge_settling",
    "lock_site",
    "note_specs",
    "push",
    "right_flaw",
    "server_push",
    "settling_flaw",
    "take",
    "write",
]
