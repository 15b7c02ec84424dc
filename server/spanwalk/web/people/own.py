"""What everybody keeps for themselves: name, language, units, password, where they are signed in."""

from __future__ import annotations

from flask import Response, g

from spanwalk.messages.answers import ChangesOut, OwnSessionsOut, SessionOut
from spanwalk.messages.bodies import NewPassword, OwnIn, PasswordIn
from spanwalk.services.people.noticed import changes_of
from spanwalk.services.people.own import Choices, choose
from spanwalk.services.people.signing_in import change_password, end_own_session, end_sessions, own_sessions
from spanwalk.storage.database import reading, writing
from spanwalk.web.people.sessions import about
from spanwalk.web.request.asked import asked
from spanwalk.web.request.auth import Right, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes

bp = Endpoints("own", __name__, url_prefix="/api", description="One's own name, choices and sign-ins")


@bp.route("/me", methods=("PUT",))
@requires(Right.SIGNED_IN, before_factor=True)
@takes(OwnIn)
@answers({200: SessionOut})
def change(body: Choices) -> Response:
    """Change one's own name, language or units; what is not named stays."""
    with writing() as session:
        person = choose(session, current_person(), body)
    g.person = person
    return json_answer(about(person))


@bp.route("/session/password", methods=("PUT",))
@requires(Right.SIGNED_IN, before_factor=True)
@takes(PasswordIn)
@answers({204: None}, 429)
def password(body: NewPassword) -> Response:
    """Change one's own password, saying the old one; every other sign-in of that person ends."""
    change_password(current_person(), body["old"], body["password"], asked())
    return Response(status=204)


@bp.route("/me/sessions", methods=("GET",))
@requires(Right.SIGNED_IN, before_factor=True)
@answers({200: OwnSessionsOut})
def sessions() -> Response:
    """Where who asks is signed in."""
    with reading() as session:
        return json_answer({"sessions": own_sessions(session, current_person())})


@bp.route("/me/sessions", methods=("DELETE",))
@requires(Right.SIGNED_IN, before_factor=True)
@answers({204: None})
def end_others() -> Response:
    """End all of one's own sign-ins but this one."""
    person = current_person()
    with writing() as session:
        end_sessions(session, person.id, but=person.session)
    return Response(status=204)


@bp.route("/me/sessions/<uuid:session_id>", methods=("DELETE",))
@requires(Right.SIGNED_IN, before_factor=True)
@answers({204: None})
def end_one(session_id: str) -> Response:
    """End one of one's own sign-ins."""
    with writing() as session:
        end_own_session(session, current_person(), session_id)
    return Response(status=204)


@bp.route("/me/changes", methods=("GET",))
@requires(Right.SIGNED_IN, before_factor=True)
@answers({200: ChangesOut})
def changes() -> Response:
    """What changed of late in how who asks signs in: password, second factors, recovery codes."""
    person = current_person()
    with reading() as session:
        return json_answer({"changes": changes_of(session, person.id, person.session, person.phone)})


@bp.route("/me/changes", methods=("POST",))
@requires(Right.SIGNED_IN, before_factor=True)
@answers({204: None})
def changes_seen() -> Response:
    """Say that one has read them; the entry in the audit under this name is what remembers it (`services/people/noticed`)."""
    return Response(status=204)
