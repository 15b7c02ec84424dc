"""Sign in, sign out, who am I; in the demo, who there is to sign in as."""

from __future__ import annotations

from typing import TypedDict

from flask import Response, current_app, g, request
from sqlalchemy.orm import Session as Transaction

from spanwalk.config import Settings
from spanwalk.messages.answers import DemoOut, SessionOut
from spanwalk.messages.bodies import SignIn, SignInIn
from spanwalk.services.people.noticed import Change, changes_of
from spanwalk.services.people.people import SiteOfPerson, sites_of
from spanwalk.services.people.phones import enrol, is_shut_out, phone_of_secret, sites_shut_out_of
from spanwalk.services.people.signing_in import COMPUTER, PHONE, SignedIn, sign_in, sign_out
from spanwalk.services.refusals import NotThere
from spanwalk.storage.database import reading, writing
from spanwalk.web.request.asked import asked
from spanwalk.web.request.auth import (
    COOKIE,
    PHONE_COOKIE,
    Right,
    current_person,
    must_set_up_first,
    requires,
    signed_in,
)
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes

DAY_S = 86400
PHONE_DAYS = 400
"""As long as browsers keep a cookie (RFC 6265bis, 5.5: from memory); each sign-in begins it anew."""
CLEARED = '"cache"'
"""What a browser throws away at a sign-out. Its stores it keeps: what is not sent lies there, and the page sorts it."""

bp = Endpoints("sessions", __name__, url_prefix="/api", description="Sign-in")


def _settings() -> Settings:
    settings: Settings = current_app.extensions["spanwalk"]
    return settings


class SignedInAs(TypedDict):
    """A person as screens show them."""

    id: str
    name: str
    owner: bool
    language: str | None
    units: str | None


class SiteShutOut(SiteOfPerson):
    """A site that the phone which asks is shut out of."""

    shut_out: bool


class SessionAbout(TypedDict):
    """Who is signed in, and their sites."""

    person: SignedInAs
    sites: list[SiteOfPerson | SiteShutOut]
    changes: list[Change]
    factor_first: bool


def about(person: SignedIn) -> SessionAbout:
    """A person as the page knows them: who they are, what they chose, their sites; what is new in how they sign in."""
    with reading() as session:
        phone = person.phone or phone_of_secret(session, request.cookies.get(PHONE_COOKIE))
        sites = _but_those_shut_out(session, phone, sites_of(session, person.id))
        changes = changes_of(session, person.id, person.session, phone)
    told: SignedInAs = {
        "id": person.id,
        "name": person.name,
        "owner": person.owner,
        "language": person.language,
        "units": person.units,
    }
    new = [each for each in changes if each["new"]]
    return {"person": told, "sites": sites, "changes": new, "factor_first": must_set_up_first(person)}


def _but_those_shut_out(
    session: Transaction, phone: str | None, sites: list[SiteOfPerson]
) -> list[SiteOfPerson | SiteShutOut]:
    """Sites as the phone that asks may know them: of one that it is shut out of, that it is."""
    if phone is None:
        return [*sites]
    of_all, of_these = is_shut_out(session, phone), sites_shut_out_of(session, phone)
    told: list[SiteOfPerson | SiteShutOut] = []
    for site in sites:
        out = of_all or site["id"] in of_these
        told.append({**site, "people": [], "shut_out": True} if out else site)
    return told


def device_of_request() -> str:
    """Whether a phone or a computer asks, as far as its browser says."""
    mobile = request.headers.get("Sec-CH-UA-Mobile") == "?1" or "Mobi" in request.headers.get("User-Agent", "")
    return PHONE if mobile else COMPUTER


def with_cookie(answer: Response, token: str) -> Response:
    """An answer that signs who gets it in, on the phone that asks: the sign-in is that phone's alone."""
    phone = enrol(token, request.cookies.get(PHONE_COOKIE), device_of_request())
    with_lasting_cookie(answer, token)
    _set_cookie(answer, PHONE_COOKIE, phone.secret, days=PHONE_DAYS)
    return answer


def with_lasting_cookie(answer: Response, token: str) -> Response:
    """An answer whose sign-in lasts on for as many days without use as the settings say."""
    _set_cookie(answer, COOKIE, token, days=_settings().session_days)
    return answer


def _set_cookie(answer: Response, name: str, value: str, days: int) -> None:
    secure = _settings().secure_cookies or request.is_secure
    answer.set_cookie(name, value, max_age=days * DAY_S, httponly=True, samesite="Lax", secure=secure, path="/")


@bp.route("/session", methods=("POST",))
@requires(Right.OPEN)
@takes(SignInIn)
@answers({200: SessionOut}, 401, 429)
def begin(body: SignIn) -> Response:
    """Sign in with name and password; sets the session cookie."""
    days = _settings().session_days
    token, person = sign_in(body["name"], body["password"], asked(body), days, device_of_request())
    g.person = person
    return with_cookie(json_answer(about(person)), token)


@bp.route("/session", methods=("GET",))
@requires(Right.SIGNED_IN, of_shut_out=True, before_factor=True)
@answers({200: SessionOut})
def show() -> Response:
    """Who is signed in, and the sites they are on."""
    return json_answer(about(current_person()))


@bp.route("/session/if-any")
@requires(Right.OPEN)
@answers({200: SessionOut, 204: None})
def show_if_any() -> Response:
    """Who is signed in, and the sites they are on, as `/session` tells it; 204 where nobody is: for a page that knows of nobody."""
    person = signed_in()
    return Response(status=204) if person is None else json_answer(about(person))


@bp.route("/session", methods=("DELETE",))
@requires(Right.OPEN)
@answers({204: None})
def end() -> Response:
    """Sign out; the cookie goes, whether or not it was worth anything."""
    token = request.cookies.get(COOKIE)
    if token:
        with writing() as session:
            sign_out(session, token)
    answer = Response(status=204)
    answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="Lax")
    answer.headers["Clear-Site-Data"] = CLEARED
    return answer


@bp.route("/demo")
@requires(Right.OPEN)
@answers({200: DemoOut}, 404)
def demo() -> Response:
    """How to sign in as each of the demo's people; not there unless this is the demo."""
    password = _settings().demo_password
    if password is None:
        raise NotThere("not-the-demo")
    from spanwalk.services.demo.people import demo_people

    with reading() as session:
        people = [person | {"password": password} for person in demo_people(session)]
    return json_answer({"people": people})
