"""Who may do what an operation does: its person, and whoever sends it; else it is refused, or held."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.people.members import Member, memberships
from spanwalk.services.sync.devices import shut_out_among
from spanwalk.storage.tables import Device, PhoneOfPerson, Site
from spanwalk.sync.model import IDENTITY, Flaw, Gathered, Operation

HANDS_IN_FOR_ALL = frozenset({"manager", "owner"})
"""Roles that hand in what others made on whichever phone: a file from a phone that is broken, say."""
CATALOGUE = "catalogue"
OF_A_CATALOGUE = ("site", "money", "catalogue_item", "price", "photo", "question")
"""Types of record that the site with the firm's catalogue may hold."""


def judge(session: Session, member: Member, operations: Sequence[Operation], device: str | None) -> None:
    """Give each operation its flaw if its person has no right, or hold it if person, device or phone is off the site."""
    if member.role == records.SERVER:
        return
    roles = memberships(session, member.site_id)
    kind = site_kind(session, member.site_id)
    for operation in operations:
        operation.flaw = operation.flaw or kind_flaw(kind, operation)
    made_on = {each.device for each in operations} | ({device} if device else set())
    revoked = shut_out_among(session, member.site_id, made_on)
    users = _users(session, member, operations)
    for operation in operations:
        operation.via = None if operation.by == member.person_id else member.person_id
        role = roles.get(operation.by)
        shut_out = member.shut_out or operation.device in revoked or device in revoked
        off = role is None or member.role is None or shut_out
        operation.held = operation.flaw is None and (off or _beyond_sender(member, operation, users))
        if role is not None and operation.flaw is None:
            operation.flaw = right_flaw(role, operation)


def _beyond_sender(member: Member, operation: Operation, users: AbstractSet[str]) -> bool:
    """Whether it was made by another than who sends it, and the sender may not hand it in for them.

    A phone that changed hands sends what its former user left, and who keeps the people of a site hands in for all of
    them; but nobody signs for another, and nobody gains a right by it.
    """
    if operation.by == member.person_id or member.role is None:
        return False
    may = member.role in HANDS_IN_FOR_ALL or operation.by in users
    return not may or right_flaw(str(member.role), operation) is not None


def _users(session: Session, member: Member, operations: Sequence[Operation]) -> set[str]:
    """Of the people who made operations that another sends, those who were signed in on the sender's phone before.

    Of a copy from before phones were enrolled: who used it last, while no other phone is known to hold it.
    """
    others = {each.by for each in operations if each.by != member.person_id}
    if not others or member.phone is None:
        return set()
    enrolled = select(PhoneOfPerson.person).where(PhoneOfPerson.phone == member.phone, PhoneOfPerson.person.in_(others))
    made_on = {each.device for each in operations if each.by in others}
    ours = (Device.phone == member.phone) | Device.phone.is_(None)
    left = select(Device.person).where(
        Device.site == member.site_id, Device.id.in_(made_on), Device.person.in_(others), ours
    )
    return {*session.execute(enrolled).scalars(), *session.execute(left).scalars()}


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


def kind_flaw(kind: str, operation: Operation) -> Flaw | None:
    """The flaw of an operation on a record that has no place on a site of this kind: no room stands in a catalogue.

    A building has records of every type, items of its own among them.
    """
    if kind != CATALOGUE or operation.type in OF_A_CATALOGUE or operation.type not in records.spec().types:
        return None
    types = records.spec().types
    right = [types[each].title for each in OF_A_CATALOGUE]
    return Flaw("not-in-a-catalogue", {"type": types[operation.type].title, "right": right})


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


def site_kind(session: Session, site_id: str) -> str:
    """Whether a site is a building or holds the firm's catalogue."""
    return session.execute(select(Site.kind).where(Site.id == site_id)).scalar_one()


__all__ = ["judge", "judge_settling", "kind_flaw", "right_flaw", "settling_flaw", "site_kind"]
