"""Who may do what to whom: nobody lowers, removes or resets one of a higher role, and the last owner stays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypedDict

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session as Transaction

from spanwalk import records
from spanwalk.services.clock import now
from spanwalk.services.people.people import set_role, site_name
from spanwalk.services.people.second_factor import factors_of, take_off_all
from spanwalk.services.people.signing_in import SignedIn, end_sessions
from spanwalk.services.refusals import InTheWay, NotAllowed, NotThere
from spanwalk.storage.tables import ACTIVE, LEFT, Installation, Membership, OneTimeLink, Person

RANK = {"facility": 0, "crew": 0, "surveyor": 1, "manager": 2, "owner": 3}
OFF_THE_SITE = -1
OWNER_OF_THE_FIRM = 4


class RoleOnSite(TypedDict):
    """A site that a person is on, and as what."""

    id: str
    name: str
    role: str


class PersonOfFirm(TypedDict):
    """Someone of the firm, as its owners see them."""

    id: str
    name: str
    owner: bool
    state: str
    state_since: str | None
    has_password: bool
    factors: int
    anonymised: bool
    sites: list[RoleOnSite]


@dataclass(frozen=True)
class Asker:
    """Who asks, and their role on the site that it is about; None: it is about none."""

    person: SignedIn
    role: str | None = None

    @property
    def rank(self) -> int:
        """How high they stand there."""
        return OWNER_OF_THE_FIRM if self.person.owner else RANK.get(self.role or "", OFF_THE_SITE)


def _person(session: Transaction, person_id: str) -> Person:
    row = session.execute(select(Person).where(Person.id == person_id)).scalar_one_or_none()
    if row is None:
        raise NotThere("person-unknown", value=person_id)
    return row


def _one_at_a_time(session: Transaction) -> None:
    """Wait for others who change who may do what: two owners cannot put each other out in the same moment."""
    session.execute(select(Installation.id).with_for_update())


def roles_of(session: Transaction, person_id: str) -> dict[str, str]:
    """The roles of a person by site, of the sites that they are on now."""
    query = select(Membership.site, Membership.role).where(
        Membership.person == person_id, Membership.ended_at.is_(None)
    )
    return dict(session.execute(query).all())


def put_on_site(session: Transaction, asker: Asker, site_id: str, person_id: str, role: str | None) -> None:
    """Put a person on a site in a role, change the role, or (None) take them off, if the asker may.

    Raises
    ------
    NotAllowed
        The person stands higher than who asks, or the role does.
    InTheWay
        They are the last owner of the site.
    """
    _one_at_a_time(session)
    person = _person(session, person_id)
    role_now = roles_of(session, person_id).get(site_id)
    if role_now is not None and role_now != role and _rank_of(person, role_now) > asker.rank:
        raise NotAllowed("person-above", name=person.name)
    refuse_role(asker, role)
    if role_now == "owner" and role != "owner" and not _other_owners(session, site_id, person_id):
        raise InTheWay("last-owner-of-site", name=person.name, site=site_name(session, site_id))
    set_role(session, site_id, person_id, role)


def refuse_role(asker: Asker, role: str | None) -> None:
    """Raise if a role is above who would give it.

    Raises
    ------
    NotAllowed
        With the roles that may give it.
    """
    if role in RANK and RANK[str(role)] > asker.rank:
        may = [each for each in records.ROLES if RANK[each] >= RANK[str(role)]]
        raise NotAllowed("role-not-enough", role=str(asker.role), right=may)


def _rank_of(person: Person, role: str | None) -> int:
    return OWNER_OF_THE_FIRM if person.owner else RANK.get(role or "", OFF_THE_SITE)


def _other_owners(session: Transaction, site_id: str, person_id: str) -> bool:
    query = (
        select(Person.id)
        .join(Membership, Membership.person == Person.id)
        .where(
            Membership.site == site_id,
            Membership.role == "owner",
            Membership.ended_at.is_(None),
            Person.state == ACTIVE,
            Person.id != person_id,
        )
    )
    return session.execute(query.limit(1)).first() is not None


def may_reset(session: Transaction, asker: Asker, site_id: str | None, person_id: str) -> Person:
    """The person whose password the asker may have set anew.

    Raises
    ------
    NotThere
        No such person, or none of that site.
    NotAllowed
        They stand higher, or are on a site where the asker could not do it.
    """
    person = _person(session, person_id)
    roles = roles_of(session, person_id)
    if site_id is not None and site_id not in roles:
        raise NotThere("person-unknown", value=person_id)
    if person.owner and not asker.person.owner:
        raise NotAllowed("person-above", name=person.name)
    if not asker.person.owner:
        own = roles_of(session, asker.person.id)
        for site, role in roles.items():
            if RANK[role] > RANK.get(own.get(site, ""), OFF_THE_SITE):
                raise NotAllowed("person-above" if site == site_id else "person-elsewhere-too", name=person.name)
            if own.get(site) not in ("manager", "owner"):
                raise NotAllowed("person-elsewhere-too", name=person.name)
    if person.state != ACTIVE:
        raise InTheWay(f"person-{person.state}", name=person.name)
    return person


def set_state(session: Transaction, asker: SignedIn | None, person_id: str, state: str) -> None:
    """Let a person sign in no more (disabled), say that they have left the firm, or let them in again.

    Their sign-ins end, links that they made or that were made for them are withdrawn, work that waits stays. Who has
    left is off every site. A site that had no other owner gets who asks.

    Raises
    ------
    NotThere
        No such person.
    InTheWay
        They are the last owner of the firm, or to be let in after their name was taken out.
    """
    _one_at_a_time(session)
    person = _person(session, person_id)
    if person.state == state:
        return
    if state == ACTIVE and person.anonymised_at is not None:
        raise InTheWay("person-anonymised", name=person.name)
    if state != ACTIVE:
        refuse_last_owner(session, person)
        _hand_over(session, asker, person_id)
        end_sessions(session, person_id)
        withdraw_links_of(session, person_id)
    if state == LEFT:
        for site_id in roles_of(session, person_id):
            set_role(session, site_id, person_id, None)
    values = {"state": state, "state_since": now()} | ({"owner": False} if state == LEFT else {})
    session.execute(update(Person).where(Person.id == person_id).values(**values))


def refuse_last_owner(session: Transaction, person: Person) -> None:
    """Raise if nobody else keeps the firm.

    Raises
    ------
    InTheWay
        They are the last owner of the firm.
    """
    others = (
        select(func.count()).select_from(Person).where(Person.owner, Person.state == ACTIVE, Person.id != person.id)
    )
    if person.owner and person.state == ACTIVE and session.execute(others).scalar_one() == 0:
        raise InTheWay("last-owner", name=person.name)


def _hand_over(session: Transaction, asker: SignedIn | None, person_id: str) -> None:
    for site_id, role in roles_of(session, person_id).items():
        alone = role == "owner" and not _other_owners(session, site_id, person_id)
        if alone and asker is not None and asker.id != person_id:
            set_role(session, site_id, asker.id, "owner")


def withdraw_links_of(session: Transaction, person_id: str) -> None:
    """Withdraw the open links that a person made, and those that were made for them."""
    theirs = (OneTimeLink.made_by == person_id) | (OneTimeLink.person == person_id)
    unused = OneTimeLink.used_at.is_(None) & OneTimeLink.withdrawn_at.is_(None)
    session.execute(update(OneTimeLink).where(theirs, unused).values(withdrawn_at=now()))


def set_owner(session: Transaction, person_id: str, owner: bool) -> None:
    """Make a person an owner of the firm, or no longer one.

    Raises
    ------
    NotThere
        No such person.
    InTheWay
        They are the last owner, or may not sign in.
    """
    _one_at_a_time(session)
    person = _person(session, person_id)
    if owner and person.state != ACTIVE:
        raise InTheWay(f"person-{person.state}", name=person.name)
    if not owner:
        refuse_last_owner(session, person)
    session.execute(update(Person).where(Person.id == person_id).values(owner=owner))


def people_of_firm(session: Transaction) -> list[PersonOfFirm]:
    """Everybody, by name, with the sites that they are on."""
    names: dict[str, str] = {}
    found = []
    for row in session.execute(select(Person).order_by(Person.name_key)).scalars():
        roles = roles_of(session, row.id)
        for site_id in roles:
            names.setdefault(site_id, site_name(session, site_id))
        found.append(
            PersonOfFirm(
                id=row.id,
                name=row.name,
                owner=row.owner,
                state=row.state,
                state_since=row.state_since,
                has_password=row.password_hash is not None,
                factors=len(factors_of(session, row.id)),
                anonymised=row.anonymised_at is not None,
                sites=[RoleOnSite(id=site, name=names[site], role=role) for site, role in sorted(roles.items())],
            )
        )
    return found


def take_off_factors(session: Transaction, person_id: str) -> None:
    """Take off the second factors of somebody who has lost them, with their recovery codes; their sign-ins end.

    Raises
    ------
    NotThere
        No such person.
    """
    person = _person(session, person_id)
    take_off_all(session, person.id)
    end_sessions(session, person.id)
