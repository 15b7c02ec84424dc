"""Sign in, sign out, who am I; in the demo, who there is to sign in as."""

from __future__ import annotations

from typing import TypedDict

from flask import Response, current_app, request

from spanwalk.config import Settings
from spanwalk.messages.answers import DemoOut, SessionOut
from spanwalk.messages.bodies import SignIn, SignInIn
from spanwalk.services.people.people import SignedIn, SiteOfPerson, note_failure, sign_in, sign_out, sites_of
from spanwalk.services.refusals import NotSignedIn, NotThere
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


class SessionAbout(TypedDict):
    """Who is signed in, and their sites."""

    person: SignedInAs
    sites: list[SiteOfPerson]


def _about(person: SignedIn) -> SessionAbout:
    with reading() as session:
        sites = sites_of(session, person.id)
    return {"person": {"id": person.id, "name": person.name, "owner": person.owner}, "sites": sites}


@bp.route("/session", methods=("POST",))
@requires(Right.OPEN)
@takes(SignInIn)
@answers({200: SessionOut}, 401, 429)
def begin(body: SignIn) -> Response:
    """Sign in with name and password; sets the session cookie."""
    name, password = body["name"], body["password"]
    address, settings = request.remote_addr or "", _settings()
    try:
        with writing() as session:
            token, person = sign_in(session, name, password, address, settings.session_days)
    except NotSignedIn:
        with writing() as session:
            note_failure(session, name, address)
        raise
    answer = json_answer(_about(person))
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


@bp.route("/session", methods=("GET",))
@requires(Right.SIGNED_IN)
@answers({200: SessionOut})
def show() -> Response:
    """Who is signed in, and the sites they are on."""
    return json_answer(_about(current_person()))


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
