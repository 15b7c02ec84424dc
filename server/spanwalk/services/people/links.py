"""One-time links: an invitation to a site, or a new password. Only the hash of a link's secret is kept."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import TypedDict
from uuid import uuid4

from sqlalchemy import ColumnElement, or_, select, update
from sqlalchemy.orm import Session as Transaction
from sqlalchemy.orm import aliased

from spanwalk.services.clock import later, now
from spanwalk.services.people.names import check_name
from spanwalk.services.people.noticed import PASSWORD_BY_LINK, enter_change
from spanwalk.services.people.passwords import check_password, hash_password
from spanwalk.services.people.people import new_person, set_password_hash, set_role, site_name
from spanwalk.services.people.qr import qr_rows
from spanwalk.services.people.ranks import RANK, Asker, may_reset, refuse_role, roles_of, set_owner
from spanwalk.services.people.second_factor import factors_of
from spanwalk.services.people.signing_in import (
    Asked,
    SignedIn,
    begin_session,
    count_try,
    prove_second,
    refuse_too_often,
    token_hash,
)
from spanwalk.services.people.slowing import begin_guess, was_right
from spanwalk.services.refusals import InTheWay, NotThere, WrongInput
from spanwalk.storage import json_text
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import ACTIVE, Membership, OneTimeLink, Person, Site
from spanwalk.telemetry.security import security_event

INVITE, RESET = "invite", "reset"
DAYS = {INVITE: 7, RESET: 1}
"""Days that a link is good for: an invitation waits for somebody's first day, a new password is wanted now."""
DAY_S = 86400
PATHS = {INVITE: "/join", RESET: "/reset"}
TRIED = " link"
"""Wrong secrets count as wrong passwords do; no name begins with a space."""


class LinkMade(TypedDict):
    """A link, told once: who made it sends it on, or shows it to a camera."""

    id: str
    kind: str
    address: str
    qr: list[str]
    expires_at: str


class Gives(TypedDict):
    """What an invitation to the firm gives: whether one is an owner of it, and on which sites one is in the link's role."""

    owner: bool
    sites: list[str]


class LinkListed(TypedDict):
    """A link as it is listed: never its secret."""

    id: str
    kind: str
    role: str | None
    note: str | None
    name: str | None
    made_by: str | None
    made_at: str
    expires_at: str
    state: str


class LinkOpened(TypedDict):
    """What a link is for, as it tells who opened it; `firm`: an invitation to the firm, with `site` naming all its sites."""

    kind: str
    firm: bool
    owner: bool
    site: str | None
    role: str | None
    name: str | None
    made_by: str | None
    expires_at: str


@dataclass(frozen=True)
class Accepted:
    """Who came by a link, signed in."""

    token: str
    person: SignedIn
    site: str | None


def invite(session: Transaction, asker: Asker, site_id: str, role: str, note: str | None, origin: str) -> LinkMade:
    """A link by which somebody new comes onto a site in a role.

    Parameters
    ----------
    session : Session
        A writing transaction.
    asker : Asker
        Who invites; the role may not be above theirs.
    site_id, role : str
        Where to, and as what.
    note : str or None
        For whom it is, for the list of links.
    origin : str
        Scheme and host before the path.

    Raises
    ------
    NotAllowed
        A role above that of who invites.
    """
    refuse_role(asker, role)
    return _make(session, origin, kind=INVITE, site=site_id, role=role, note=note, made_by=asker.person.id)


def invite_to_firm(
    session: Transaction, asker: Asker, gives: Gives, role: str | None, note: str | None, origin: str
) -> LinkMade:
    """A link by which somebody new comes to the firm: onto several sites or none, as an owner or not.

    Parameters
    ----------
    session : Session
        A writing transaction.
    asker : Asker
        An owner of the firm.
    gives : Gives
        What it gives.
    role : str or None
        As what one is on its sites; needed where there are any.
    note : str or None
        For whom it is, for the list of links.
    origin : str
        Scheme and host before the path.

    Raises
    ------
    WrongInput
        Sites without a role.
    NotThere
        One of the sites is not there.
    """
    if gives["sites"] and role is None:
        raise WrongInput("link-role-missing", right=list(RANK))
    for site in gives["sites"]:
        if session.get(Site, site) is None:
            raise NotThere("site-unknown")
    sites = list(dict.fromkeys(gives["sites"]))
    firm = json_text.dumps({"owner": gives["owner"], "sites": sites})
    return _make(
        session, origin, kind=INVITE, role=role if sites else None, note=note, made_by=asker.person.id, firm=firm
    )


def reset(session: Transaction, asker: Asker, site_id: str | None, person_id: str, origin: str) -> LinkMade:
    """A link by which a person gives themselves a new password; earlier ones for them are withdrawn.

    Raises
    ------
    NotThere
        No such person on that site.
    NotAllowed
        They stand higher than who asks, here or on another of their sites.
    InTheWay
        They may not sign in at all.
    """
    person = may_reset(session, asker, site_id, person_id)
    return make_reset(session, person.id, origin, made_by=asker.person.id)


def make_reset(session: Transaction, person_id: str, origin: str, made_by: str | None = None) -> LinkMade:
    """A link for a new password, whoever asks; for the command line."""
    open_ones = OneTimeLink.used_at.is_(None) & OneTimeLink.withdrawn_at.is_(None)
    theirs = (OneTimeLink.kind == RESET) & (OneTimeLink.person == person_id)
    session.execute(update(OneTimeLink).where(theirs, open_ones).values(withdrawn_at=now()))
    return _make(session, origin, kind=RESET, person=person_id, made_by=made_by)


def _make(session: Transaction, origin: str, **values: str | None) -> LinkMade:
    kind = str(values["kind"])
    secret, link_id, expires = secrets.token_urlsafe(32), str(uuid4()), later(DAYS[kind] * DAY_S)
    session.add(OneTimeLink(id=link_id, secret_hash=token_hash(secret), made_at=now(), expires_at=expires, **values))
    session.flush()
    # After '#', a browser sends nothing to any server: the secret stands in no log.
    address = f"{origin.rstrip('/')}{PATHS[kind]}#{secret}"
    return LinkMade(id=link_id, kind=kind, address=address, qr=qr_rows(address), expires_at=expires)


def list_links(session: Transaction, site_id: str) -> list[LinkListed]:
    """Links to a site, and new passwords for its people, the newest first."""
    on_site = select(Membership.person).where(Membership.site == site_id)
    theirs = or_(OneTimeLink.site == site_id, (OneTimeLink.kind == RESET) & OneTimeLink.person.in_(on_site))
    return _listed(session, theirs)


def list_links_to_firm(session: Transaction) -> list[LinkListed]:
    """Invitations to the firm, the newest first."""
    return _listed(session, OneTimeLink.firm.is_not(None))


def _listed(session: Transaction, which: ColumnElement[bool]) -> list[LinkListed]:
    whose, maker = aliased(Person), aliased(Person)
    query = (
        select(OneTimeLink, whose.name.label("whose"), maker.name.label("maker"))
        .outerjoin(whose, whose.id == OneTimeLink.person)
        .outerjoin(maker, maker.id == OneTimeLink.made_by)
        .where(which)
        .order_by(OneTimeLink.made_at.desc(), OneTimeLink.id)
    )
    return [
        LinkListed(
            id=link.id,
            kind=link.kind,
            role=link.role,
            note=link.note,
            name=name,
            made_by=by,
            made_at=link.made_at,
            expires_at=link.expires_at,
            state=_state(link),
        )
        for link, name, by in session.execute(query)
    ]


def _state(link: OneTimeLink) -> str:
    if link.used_at is not None:
        return "used"
    if link.withdrawn_at is not None:
        return "withdrawn"
    return "expired" if link.expires_at <= now() else "open"


def withdraw(session: Transaction, asker: Asker, site_id: str, link_id: str) -> None:
    """Withdraw a link that nobody has used.

    Raises
    ------
    NotThere
        No such link of this site.
    NotAllowed
        It gives a role above that of who asks.
    InTheWay
        It is used, withdrawn or expired.
    """
    _withdraw(session, asker, link_id, list_links(session, site_id))


def withdraw_from_firm(session: Transaction, asker: Asker, link_id: str) -> None:
    """Withdraw an invitation to the firm that nobody has used; it raises as `withdraw` does."""
    _withdraw(session, asker, link_id, list_links_to_firm(session))


def _withdraw(session: Transaction, asker: Asker, link_id: str, among: list[LinkListed]) -> None:
    if link_id not in {each["id"] for each in among}:
        raise NotThere("link-unknown")
    link = session.execute(select(OneTimeLink).where(OneTimeLink.id == link_id)).scalar_one()
    refuse_role(asker, link.role)
    _refuse_closed(link)
    link.withdrawn_at = now()


def _refuse_closed(link: OneTimeLink) -> None:
    state = _state(link)
    if state != "open":
        raise InTheWay(f"link-{state}")


def open_link(secret: str, address: str) -> LinkOpened:
    """What a link is for; opening it does not use it up.

    Raises
    ------
    TooOften
        Too many secrets that are none, from this address.
    NotThere
        There is no such link.
    InTheWay
        It is used, withdrawn or expired.
    """
    _refuse_guessing(secret, address)
    with reading() as session:
        link = _good_link(session, secret)
        person = _name_of(session, link.person)
        made_by = _name_of(session, link.made_by)
        gives = _gives(session, link)
        named = gives["sites"] if gives else [link.site] if link.site else []
        site = ", ".join(site_name(session, each) for each in named) or None
        owner = gives is not None and gives["owner"]
        return LinkOpened(
            kind=link.kind,
            firm=gives is not None,
            owner=owner,
            site=site,
            role=link.role,
            name=person,
            made_by=made_by,
            expires_at=link.expires_at,
        )


def _gives(session: Transaction, link: OneTimeLink) -> Gives | None:
    """What an invitation to the firm gives, of its sites those that are there still; None for another link."""
    if link.firm is None:
        return None
    said: Gives = json_text.loads(link.firm)
    there = set(session.execute(select(Site.id).where(Site.id.in_(said["sites"]))).scalars())
    return {"owner": said["owner"], "sites": [each for each in said["sites"] if each in there]}


def _refuse_guessing(secret: str, address: str) -> None:
    """Raise if there is no such link, and count that against the address."""
    with reading() as session:
        refuse_too_often(session, TRIED, address, "link-too-often")
        known = session.execute(select(OneTimeLink.id).where(OneTimeLink.secret_hash == token_hash(secret))).first()
    if known is None:
        with writing() as session:
            count_try(session, TRIED, address)
        raise NotThere("link-unknown")


def _name_of(session: Transaction, person_id: str | None) -> str | None:
    return session.execute(select(Person.name).where(Person.id == person_id)).scalar_one_or_none()


def _good_link(session: Transaction, secret: str) -> OneTimeLink:
    """A link that can still be used, locked while this transaction lasts; who made it may still give what it gives."""
    query = select(OneTimeLink).where(OneTimeLink.secret_hash == token_hash(secret)).with_for_update()
    link = session.execute(query).scalar_one_or_none()
    if link is None:
        raise NotThere("link-unknown")
    _refuse_closed(link)
    if link.kind == INVITE and not _maker_still_may(session, link):
        raise InTheWay("link-withdrawn")
    return link


def _maker_still_may(session: Transaction, link: OneTimeLink) -> bool:
    if link.made_by is None:
        return True
    maker = session.execute(select(Person).where(Person.id == link.made_by)).scalar_one()
    role = roles_of(session, maker.id).get(str(link.site))
    if link.firm is not None:
        return maker.state == ACTIVE and maker.owner
    enough = maker.owner or (role in ("manager", "owner") and RANK[role] >= RANK[str(link.role)])
    return maker.state == ACTIVE and enough


def accept(secret: str, name: str | None, password: str, asked: Asked, days: int, device: str) -> Accepted:
    """Come by a link with a password of one's own, and be signed in. The password is hashed before anything is written.

    Parameters
    ----------
    secret : str
        What stands after '#' in the link.
    name : str or None
        One's own name, for an invitation.
    password : str
        The password from now on.
    asked : Asked
        Where the request came from, and what was shown of a second factor: a new password needs it where there is one.
    days : int
        Days without use until the sign-in ends.
    device : str
        `phone` or `computer`.

    Raises
    ------
    TooOften, NotThere, InTheWay
        As for opening it.
    WrongInput
        A name or password that cannot be taken; the link stays good.
    NotAllowed
        A new password for somebody who may not sign in.
    NotSignedIn
        A second factor is needed, or was wrong; the link stays good.
    Unavailable
        Too many passwords are being looked at.
    """
    _refuse_guessing(secret, asked.address)
    with reading() as session:
        link = _good_link(session, secret)
        whose = _name_of(session, link.person) if link.kind == RESET else name or ""
        if link.kind == INVITE:
            check_name(whose or "", session.execute(select(Person.name)).scalars())
    check_password(password, whose or "")
    if link.kind == RESET:
        _prove_second(str(link.person), str(whose), asked)
    hashed = hash_password(password)
    with writing() as session:
        link = _good_link(session, secret)
        person_id = _settle(session, link, name or "", hashed)
        if link.kind == RESET:
            enter_change(session, PASSWORD_BY_LINK, person_id, asked.known)
        link.used_at, link.person = now(), person_id
        token, person = begin_session(session, person_id, days, device)
        return Accepted(token, person, _first_site(session, link))


def _prove_second(person_id: str, name: str, asked: Asked) -> None:
    with reading() as session:
        if not factors_of(session, person_id):
            return
    guess = begin_guess(name, asked.address, person_id, asked.known)
    prove_second(person_id, asked, guess)
    with writing() as session:
        was_right(session, guess)


def _settle(session: Transaction, link: OneTimeLink, name: str, hashed: str) -> str:
    if link.kind == RESET:
        set_password_hash(session, str(link.person), hashed)
        security_event("password-reset", subject=str(link.person))
        return str(link.person)
    gives = _gives(session, link)
    person_id = new_person(session, name, hashed, owner=gives is not None and gives["owner"])
    for site in gives["sites"] if gives else [str(link.site)]:
        set_role(session, site, person_id, link.role)
    return person_id


def _first_site(session: Transaction, link: OneTimeLink) -> str | None:
    """The site that one sees first; None where there are none, or several to choose among."""
    gives = _gives(session, link)
    if gives is None:
        return link.site
    return gives["sites"][0] if len(gives["sites"]) == 1 else None


def take(secret: str, person: SignedIn, address: str) -> str | None:
    """Come onto a site by an invitation as somebody who has a name here already; the site's id, None where it is not one.

    A role that they have there is not lowered; nor is an owner of the firm made less.

    Raises
    ------
    TooOften, NotThere, InTheWay
        As for opening it; `link-no-invitation` for a new password.
    """
    _refuse_guessing(secret, address)
    with writing() as session:
        link = _good_link(session, secret)
        if link.kind != INVITE:
            raise InTheWay("link-no-invitation")
        gives, held = _gives(session, link), roles_of(session, person.id)
        for site in gives["sites"] if gives else [str(link.site)]:
            if RANK.get(held.get(site, ""), -1) < RANK[str(link.role)]:
                set_role(session, site, person.id, link.role)
        if gives is not None and gives["owner"]:
            set_owner(session, person.id, True)
        link.used_at, link.person = now(), person.id
        return _first_site(session, link)
