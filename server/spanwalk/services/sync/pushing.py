"""Take operations in: gather what they touch, decide, write it all in one transaction, answer each."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from typing import TypedDict

from sqlalchemy import select
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.people.members import Member, incarnation, scope_of
from spanwalk.services.refusals import InTheWay, NotThere, Unavailable, of_database
from spanwalk.services.sync.answering import Answer, answers_of
from spanwalk.services.sync.closed_sites import goes_when_closed
from spanwalk.services.sync.devices import inherit, is_of_another, is_of_shut_out, note_device
from spanwalk.services.sync.done_checks import judge_done
from spanwalk.services.sync.gathering import gather
from spanwalk.services.sync.handed_in import bound_held
from spanwalk.services.sync.incoming import Push
from spanwalk.services.sync.newer_fields import note_specs
from spanwalk.services.sync.photos_of_failures import judge_photos
from spanwalk.services.sync.rights import judge, judge_settling
from spanwalk.services.sync.signed import judge_signed
from spanwalk.services.sync.writing import write
from spanwalk.storage.database import writing
from spanwalk.storage.tables import Site
from spanwalk.sync.decide import decide
from spanwalk.sync.model import (
    REFUSED,
    Decision,
    Flaw,
    Operation,
)

VALUES_REFUSED = ("22", "23")
"""Classes of SQLSTATE: data exception, integrity constraint violation."""
ID_LETTERS_MOST = 200
"""As much of an id that cannot be used is repeated in the answer."""


class PushAbout(TypedDict):
    """What stands beside the answers of a push: which server it is, what the phone's copy covers, at which sequence it was backed up."""

    incarnation: str
    scope: str
    backed_up: int


class PushAnswer(PushAbout):
    """The answer to a push."""

    head: int
    answers: list[Answer]


def push(member: Member, sent: Push) -> PushAnswer:
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
    return {**about, "head": head, "answers": ordered}


def _answer_for(place: int, each: Operation | object, named: Mapping[str | None, Answer]) -> Answer:
    if isinstance(each, Operation):
        return named[each.id]
    raw = each.get("id") if isinstance(each, dict) else None
    told = raw if isinstance(raw, str) and records.storable(raw) and len(raw) <= ID_LETTERS_MOST else None
    facts: dict[str, object] = {
        "field": "id",
        "value": records.short(raw),
        "right": "device.epoch.counter",
        "place": place + 1,
    }
    return {
        "id": told,
        "result": REFUSED,
        "code": "operation-field-wrong",
        "facts": facts,
    }


def _push_or_halve(member: Member, sent: Push) -> tuple[list[Answer], int, PushAbout]:
    try:
        return _push_whole(member, sent)
    except OperationalError:
        raise
    except DatabaseError as problem:
        if not _about_values(problem):
            raise Unavailable("database-busy") from problem
        return _push_in_parts(member, sent)


def _about_values(problem: DatabaseError) -> bool:
    """Whether the database refused what was to be written. Else it refused the statement: its tables are being changed."""
    state: str | None = getattr(problem.orig, "sqlstate", None)
    return state is None or state[:2] in VALUES_REFUSED


def _push_whole(member: Member, sent: Push) -> tuple[list[Answer], int, PushAbout]:
    with writing() as session:
        _same_incarnation(session, sent.incarnation)
        head = lock_site(session, member.site_id, lambda: goes_when_closed(session, member.site_id, sent.operations))
        of_another = is_of_another(session, member, sent.device)
        if not member.shut_out and member.phone is not None and is_of_shut_out(session, member, sent.device):
            inherit(session, member, sent.device)
            member = replace(member, shut_out=True)
        if not of_another:
            note_device(session, member, sent.device, sent.unsent_operations, sent.unsent_photos)
        copied = frozenset({sent.device}) if of_another else frozenset()
        decision = take(session, member, sent.operations, head, device=sent.device, copied=copied)
        about: PushAbout = {
            "incarnation": incarnation(session),
            "scope": scope_of(session, member),
            "backed_up": session.execute(select(Site.backed_up).where(Site.id == member.site_id)).scalar_one(),
        }
        return answers_of(session, member, decision), decision.head, about


def _push_in_parts(member: Member, sent: Push) -> tuple[list[Answer], int, PushAbout]:
    """The database refused the batch: halve it until the one operation that it will not have stands alone."""
    if len(sent.operations) <= 1:
        for operation in sent.operations:
            operation.flaw = Flaw("database-refused", {"value": operation.id})
            operation.body, operation.record, operation.formerly = "{}", "", None
        return _push_whole(member, sent)
    half = len(sent.operations) // 2
    answers: list[Answer] = []
    for part in (sent.operations[:half], sent.operations[half:]):
        fewer = Push(sent.device, sent.incarnation, sent.unsent_operations, sent.unsent_photos, part)
        some, head, about = _push_or_halve(member, fewer)
        answers += some
    return answers, head, about


def _same_incarnation(session: Session, named: str | None) -> None:
    ours = incarnation(session)
    if named is not None and named != ours:
        raise InTheWay("incarnation-changed", incarnation=ours)


def lock_site(session: Session, site_id: str, although_archived: Callable[[], bool] = lambda: False) -> int:
    """Lock the site's row, so that sequence order is commit order; its head.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    although_archived : callable
        Asked on an archived site: whether this is a change that goes on there.

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
    if row.archived_at is not None and not although_archived():
        raise InTheWay("site-archived", archived_at=row.archived_at)
    return int(row.head)


def take(
    session: Session,
    member: Member,
    operations: Sequence[Operation],
    head: int,
    device: str | None = None,
    copied: AbstractSet[str] = frozenset(),
) -> Decision:
    """Decide a batch on a locked site and write it down; `copied` are devices of another phone than the sender's."""
    note_specs(session, member.site_id, operations)
    judge(session, member, operations, device)
    bound_held(session, member, operations)
    gathered = gather(session, member.site_id, head, operations)
    gathered.copied = copied
    judge_settling(session, member, gathered, operations)
    judge_photos(session, member, gathered, operations)
    judge_done(member, gathered, operations)
    judge_signed(session, member, gathered, operations)
    decision = decide(gathered, operations)
    write(session, member, decision)
    return decision


__all__ = ["lock_site", "push", "take"]
