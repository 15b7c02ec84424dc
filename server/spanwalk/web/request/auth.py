"""Who asks and on which phone, whether they may, and whether it is our own page that asks for them."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from enum import Enum
from functools import wraps
from typing import TypeVar, cast
from urllib.parse import urlsplit

from flask import Flask, current_app, g, request
from sqlalchemy.exc import DBAPIError

from spanwalk.config import Settings
from spanwalk.records import ROLES
from spanwalk.services.people.entering import keeps_people
from spanwalk.services.people.members import Member, find_member
from spanwalk.services.people.phones import note_on_site, phone_here
from spanwalk.services.people.ranks import Asker
from spanwalk.services.people.second_factor import factors_of
from spanwalk.services.people.signing_in import SignedIn, who_is
from spanwalk.services.refusals import NotAllowed, NotSignedIn, NotThere
from spanwalk.storage.database import reading, writing

COOKIE = "spanwalk_session"
PHONE_COOKIE = "spanwalk_phone"
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
View = TypeVar("View", bound=Callable[..., object])


class Right(Enum):
    """What an endpoint needs. The value names the roles that have it on a site."""

    OPEN = "anyone"
    """Anyone, signed in or not."""
    SIGNED_IN = "signed in"
    """Anyone who is signed in."""
    SERVER = "owner of the server"
    """An owner: sites, people, devices, backup."""
    PUSH = "push"
    """All roles, and those who have been taken off the site, whose work is held."""
    RECALL = "recall"
    """All roles of the site, the customer's facility manager too: what the building remembers."""
    READ = "read"
    """All roles of the firm on the site."""
    READ_PLAN = "read plan"
    """Those who read prices and money: all but the crew."""
    SURVEY = "survey"
    """Those who survey."""
    DECIDE = "decide"
    """Those who decide, release, print, export and keep the people of the site."""


ROLES_WITH: dict[Right, frozenset[str]] = {
    Right.PUSH: frozenset(ROLES),
    Right.RECALL: frozenset(ROLES),
    Right.READ: frozenset({"surveyor", "crew", "manager", "owner"}),
    Right.READ_PLAN: frozenset({"surveyor", "manager", "owner"}),
    Right.SURVEY: frozenset({"surveyor", "manager", "owner"}),
    Right.DECIDE: frozenset({"manager", "owner"}),
}


def requires(right: Right, of_shut_out: bool = False, before_factor: bool = False) -> Callable[[View], View]:
    """Let a view be called only by those who have a right, from a phone that is not shut out.

    A view of a site takes `site_id`; to those who are not on it the site answers as if it did not exist.
    Put it below `@bp.route`.

    Parameters
    ----------
    right : Right
        What is needed.
    of_shut_out : bool
        Whether a phone that is shut out may call it too: to say who it is, and to hand in what it still has.
    before_factor : bool
        Whether who must set up a second factor first may call it before they have: what their own page needs. What hands
        work in (`of_shut_out`) they may call too.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(*args: object, **kwargs: object) -> object:
            kwargs = {name: str(value) if name.endswith("_id") else value for name, value in kwargs.items()}
            check(right, cast("str | None", kwargs.get("site_id")), of_shut_out, before_factor)
            return view(*args, **kwargs)

        guarded.right = right  # type: ignore[attr-defined]
        guarded.of_shut_out = of_shut_out  # type: ignore[attr-defined]
        guarded.before_factor = before_factor or of_shut_out  # type: ignore[attr-defined]
        return guarded  # type: ignore[return-value]

    return decorate


def check(right: Right, site_id: str | None, of_shut_out: bool = False, before_factor: bool = False) -> None:
    """Raise unless who asks has the right, and the phone that they are signed in on is not shut out."""
    if right is Right.OPEN:
        return
    person = current_person()
    if right is Right.SERVER and not person.owner:
        raise NotAllowed("owner-only")
    if right in ROLES_WITH:
        g.member = _member(right, person, site_id)
    if not of_shut_out and (person.shut_out or _shut_out_of(person, site_id)):
        raise NotAllowed("device-revoked", device=person.phone)
    if not (of_shut_out or before_factor) and must_set_up_first(person):
        raise NotAllowed("second-factor-first")


def must_set_up_first(person: SignedIn) -> bool:
    """Whether the settings want a second factor of who keeps people and sites, and this person has none yet."""
    settings: Settings = current_app.extensions["spanwalk"]
    if not settings.second_factor_required:
        return False
    with reading() as session:
        return keeps_people(session, person) and not factors_of(session, person.id)


def _member(right: Right, person: SignedIn, site_id: str | None) -> Member:
    """Who asks, as a member of a site in whose role there is a right; the phone that they ask on is noted there."""
    if site_id is None:
        raise NotThere("site-unknown")
    with reading() as session:
        member = find_member(session, site_id, person.id, person.name)
        here = phone_here(session, site_id, person.phone)
    if member is None:
        raise NotThere("site-unknown")
    if member.role is None and right is not Right.PUSH:
        # Who was on it knows that there is one, and their pushes are taken: a phone must tell this from a deleted site.
        raise NotThere("site-left")
    if member.role is not None and member.role not in ROLES_WITH[right]:
        raise NotAllowed("role-not-enough", role=member.role, right=[r for r in ROLES if r in ROLES_WITH[right]])
    if not here.noted:
        # A disk that is full stops nobody from reading; two requests at once need it only once.
        with suppress(DBAPIError), writing() as session:
            note_on_site(session, site_id, person.phone, person.id)
    return replace(member, phone=person.phone, shut_out=here.shut_out or person.shut_out)


def _shut_out_of(person: SignedIn, site_id: str | None) -> bool:
    """Whether the phone that asks is shut out of the site that the request names, if it names one."""
    member: Member | None = g.get("member")
    if member is not None:
        return member.shut_out
    if site_id is None:
        return False
    with reading() as session:
        return phone_here(session, site_id, person.phone).shut_out


def current_person() -> SignedIn:
    """Who is signed in.

    Raises
    ------
    NotSignedIn
        Nobody, or the sign-in has expired.
    """
    person = signed_in()
    if person is None:
        raise NotSignedIn("not-signed-in")
    return person


def signed_in() -> SignedIn | None:
    """Who is signed in, or None."""
    if "person" not in g:
        token = request.cookies.get(COOKIE)
        if not token:
            g.person = None
        else:
            with reading() as session:
                g.person = who_is(session, token)
    person: SignedIn | None = g.person
    return person


def current_member() -> Member:
    """Who asks, as a member of the site that the request names."""
    member: Member = g.member
    return member


def current_asker() -> Asker:
    """Who asks, and their role on the site that the request names, if it names one."""
    member: Member | None = g.get("member")
    return Asker(current_person(), member.role if member is not None else None)


def _own_origin() -> bool:
    """Whether our own page sent an unsafe request, as far as a browser says so."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site in ("same-origin", "none")
    origin = request.headers.get("Origin")
    return origin is not None and urlsplit(origin).netloc == request.host


def guard_origin() -> None:
    """Refuse changes that another site's page makes a browser send."""
    if request.method not in SAFE_METHODS and not _own_origin():
        raise NotAllowed("origin-other", value=request.headers.get("Origin", "")[:200])


def register(app: Flask) -> None:
    """Guard every request of this app."""
    app.before_request(guard_origin)
