"""Sign in, sign out, who am I; in the demo, who there is to sign in as."""

from __future__ import annotations

from typing import TypedDict

from flask import Response, current_app, g, request

from spanwalk.config import Settings
from spanwalk.messages.answers import DemoOut, SessionOut
from spanwalk.messages.bodies import SignIn, SignInIn
from spanwalk.services.people.people import SiteOfPerson, sites_of
from spanwalk.services.people.signing_in import COMPUTER, PHONE, SignedIn, note_seen, sign_in, sign_out
from spanwalk.services.refusals import NotThere
from spanwalk.storage.database import reading, writing
from spanwalk.web.auth import COOKIE, Right, current_person, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, takes

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


class SessionAbout(TypedDict):
    """Who is signed in, and their sites."""

    person: SignedInAs
    sites: list[SiteOfPerson]


def about(person: SignedIn) -> SessionAbout:
    """A person as the page knows them: who they are, what they chose, their sites."""
    with reading() as session:
        sites = sites_of(session, person.id)
    told: SignedInAs = {
        "id": person.id,
        "name": person.name,
        "owner": person.owner,
        "language": person.language,
        "units": person.units,
    }
    return {"person": told, "sites": sites}


def device_of_request() -> str:
    """Whether a phone or a computer asks, as far as its browser says."""
    mobile = request.headers.get("Sec-CH-UA-Mobile") == "?1" or "Mobi" in request.headers.get("User-Agent", "")
    return PHONE if mobile else COMPUTER


def with_cookie(answer: Response, token: str) -> Response:
    """An answer that signs who gets it in."""
    settings = _settings()
    answer.set_cookie(
        COOKIE,
        token,
        max_age=settings.session_days * 86400,
        httponly=True,
        samesite="Lax",
        secure=settings.secure_cookies or request.is_secure,
        path="/",
    )
    return answer


@bp.route("/session", methods=("POST",))
@requires(Right.OPEN)
@takes(SignInIn)
@answers({200: SessionOut}, 401, 429)
def begin(body: SignIn) -> Response:
    """Sign in with name and password; sets the session cookie."""
    address, days = request.remote_addr or "", _settings().session_days
    token, person = sign_in(body["name"], body["password"], address, days, device_of_request())
    g.person = person
    return with_cookie(json_answer(about(person)), token)


@bp.route("/session", methods=("GET",))
@requires(Right.SIGNED_IN)
@answers({200: SessionOut})
def show() -> Response:
    """Who is signed in, and the sites they are on."""
    person = current_person()
    note_seen(person)
    return json_answer(about(person))


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
