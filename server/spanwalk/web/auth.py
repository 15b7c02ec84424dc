"""Who asks, whether they may, and whether it is our own page that asks for them."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from functools import wraps
from typing import TypeVar, cast
from urllib.parse import urlsplit

from flask import Flask, g, request

from spanwalk.records import ROLES
from spanwalk.services.people.members import Member, find_member
from spanwalk.services.people.signing_in import SignedIn, who_is
from spanwalk.services.people.standing import Asker
from spanwalk.services.refusals import NotAllowed, NotSignedIn, NotThere
from spanwalk.storage.database import reading

COOKIE = "spanwalk_session"
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
    READ = "read"
    """All roles of the site."""
    READ_PLAN = "read plan"
    """Those who read prices and money: all but the crew."""
    SURVEY = "survey"
    """Those who survey."""
    DECIDE = "decide"
    """Those who decide, release, print, export and keep the people of the site."""


ROLES_WITH: dict[Right, frozenset[str]] = {
    Right.PUSH: frozenset(ROLES),
    Right.READ: frozenset(ROLES),
    Right.READ_PLAN: frozenset({"surveyor", "manager", "owner"}),
    Right.SURVEY: frozenset({"surveyor", "manager", "owner"}),
    Right.DECIDE: frozenset({"manager", "owner"}),
}


def requires(right: Right) -> Callable[[View], View]:
    """Let a view be called only by those who have a right.

    A view of a site takes `site_id`; to those who are not on it the site answers as if it did not exist.
    Put it below `@bp.route`.

    Parameters
    ----------
    right : Right
        What is needed.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(*args: object, **kwargs: object) -> object:
            kwargs = {name: str(value) if name.endswith("_id") else value for name, value in kwargs.items()}
            check(right, cast("str | None", kwargs.get("site_id")))
            return view(*args, **kwargs)

        guarded.right = right  # type: ignore[attr-defined]
        return guarded  # type: ignore[return-value]

    return decorate


def check(right: Right, site_id: str | None) -> None:
    """Raise unless who asks has the right."""
    if right is Right.OPEN:
        return
    person = current_person()
    if right is Right.SIGNED_IN:
        return
    if right is Right.SERVER:
        if not person.owner:
            raise NotAllowed("owner-only")
        return
    if site_id is None:
        raise NotThere("site-unknown")
    with reading() as session:
        member = find_member(session, site_id, person.id, person.name)
    if member is None:
        raise NotThere("site-unknown")
    if member.role is None and right is not Right.PUSH:
        # Who was on it knows that there is one, and their pushes are taken: a phone must tell this from a deleted site.
        raise NotThere("site-left")
    if member.role is not None and member.role not in ROLES_WITH[right]:
        raise NotAllowed("role-not-enough", role=member.role, right=[r for r in ROLES if r in ROLES_WITH[right]])
    g.member = member


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
