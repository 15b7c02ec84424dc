"""Second factors: one's own, set up and taken off; entering one again; an owner takes off those that somebody lost."""

from __future__ import annotations

from flask import Response, current_app

from spanwalk.config import Settings
from spanwalk.messages.proofs import (
    AuthenticatorIn,
    AuthenticatorOut,
    BeginIn,
    Begun,
    CodesOut,
    Entered,
    EnteredIn,
    FactorsOut,
    FirstCode,
    NewPasskey,
    PasskeyAskedOut,
    PasskeyIn,
)
from spanwalk.services.people import second_factor
from spanwalk.services.people.entering import enter_again, keeps_people
from spanwalk.services.people.ranks import take_off_factors
from spanwalk.storage.database import reading, writing
from spanwalk.web.request.asked import asked, here
from spanwalk.web.request.auth import Right, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes
from spanwalk.web.request.entered import entered_again, entered_to_set_up

bp = Endpoints("second_factor", __name__, url_prefix="/api", description="Second factors")


def _settings() -> Settings:
    settings: Settings = current_app.extensions["spanwalk"]
    return settings


@bp.route("/session/entered", methods=("POST",))
@requires(Right.SIGNED_IN, before_factor=True)
@takes(EnteredIn)
@answers({204: None}, 429)
def enter(body: Entered) -> Response:
    """Prove again who one is; without anything, be told by what."""
    enter_again(current_person(), body.get("password"), asked(body), _settings().enter_again_minutes)
    return Response(status=204)


@bp.route("/me/factors", methods=("GET",))
@requires(Right.SIGNED_IN, before_factor=True)
@answers({200: FactorsOut})
def index() -> Response:
    """One's own second factors, and whether one should have one."""
    person = current_person()
    with reading() as session:
        advised = keeps_people(session, person)
        told = {
            "factors": second_factor.factors_of(session, person.id),
            "codes_left": second_factor.codes_left(session, person.id),
            "advised": advised,
            "required": advised and _settings().second_factor_required,
        }
    return json_answer(told)


@bp.route("/me/factors/authenticator", methods=("POST",))
@requires(Right.SIGNED_IN, before_factor=True)
@entered_to_set_up
@takes(BeginIn)
@answers({201: AuthenticatorOut}, 409)
def begin_authenticator(body: Begun) -> Response:
    """A new key for an authenticator, to be scanned; it counts once a code of it has been entered."""
    person = current_person()
    with writing() as session:
        return json_answer(second_factor.begin_authenticator(session, person.id, person.name, here()), 201)


@bp.route("/me/factors/authenticator", methods=("PUT",))
@requires(Right.SIGNED_IN, before_factor=True)
@entered_to_set_up
@takes(AuthenticatorIn)
@answers({200: CodesOut}, 404)
def prove_authenticator(body: FirstCode) -> Response:
    """Take the authenticator into use by its first code; with the first second factor come recovery codes."""
    with writing() as session:
        codes = second_factor.prove_authenticator(session, current_person().id, body["code"])
    return json_answer({"codes": codes})


@bp.route("/me/factors/passkey", methods=("POST",))
@requires(Right.SIGNED_IN, before_factor=True)
@entered_to_set_up
@takes(BeginIn)
@answers({200: PasskeyAskedOut}, 409)
def begin_passkey(body: Begun) -> Response:
    """What the browser needs to make a passkey."""
    person = current_person()
    with writing() as session:
        return json_answer({"options": second_factor.begin_passkey(session, person.id, person.name, here())})


@bp.route("/me/factors/passkey", methods=("PUT",))
@requires(Right.SIGNED_IN, before_factor=True)
@entered_to_set_up
@takes(PasskeyIn)
@answers({200: CodesOut})
def keep_passkey(body: NewPasskey) -> Response:
    """Keep the passkey that the browser made; with the first second factor come recovery codes."""
    with writing() as session:
        codes = second_factor.keep_passkey(session, current_person().id, here(), body["name"], body["passkey"])
    return json_answer({"codes": codes})


@bp.route("/me/factors/codes", methods=("POST",))
@requires(Right.SIGNED_IN, before_factor=True)
@entered_to_set_up
@takes(BeginIn)
@answers({200: CodesOut}, 404)
def new_codes(body: Begun) -> Response:
    """New recovery codes; those before are good no more."""
    with writing() as session:
        return json_answer({"codes": second_factor.new_recovery_codes(session, current_person().id)})


@bp.route("/me/factors/<uuid:factor_id>", methods=("DELETE",))
@requires(Right.SIGNED_IN, before_factor=True)
@entered_to_set_up
@answers({204: None})
def remove(factor_id: str) -> Response:
    """Take off one of one's own second factors."""
    with writing() as session:
        second_factor.remove_factor(session, current_person().id, factor_id)
    return Response(status=204)


@bp.route("/people/<uuid:person_id>/factors", methods=("DELETE",))
@requires(Right.SERVER)
@entered_again
@answers({204: None})
def take_off(person_id: str) -> Response:
    """Take off the second factors of somebody who has lost them; their sign-ins end."""
    with writing() as session:
        take_off_factors(session, person_id)
    return Response(status=204)
