"""Phones: what one is told of itself, one's own, the firm's, and a code that brings a second one in."""

from __future__ import annotations

from flask import Response, current_app, request

from spanwalk.config import Settings
from spanwalk.messages.answers import (
    EnrolmentMadeOut,
    EnrolmentOpenedOut,
    EnrolmentStateOut,
    OwnPhonesOut,
    PhoneItselfOut,
    PhonesOfFirmOut,
    SessionOut,
)
from spanwalk.messages.bodies import EnrolmentIn, Link, LinkIn, NewEnrolment, ShutOut, ShutOutIn
from spanwalk.services.people import enrolling, phones
from spanwalk.storage.database import reading, writing
from spanwalk.web.people.sessions import about, device_of_request, with_cookie
from spanwalk.web.request.asked import asked
from spanwalk.web.request.auth import PHONE_COOKIE, Right, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes
from spanwalk.web.request.entered import require_entered

bp = Endpoints("phones", __name__, url_prefix="/api", description="Phones that people sign in on")


@bp.route("/phone", methods=("GET",))
@requires(Right.OPEN)
@answers({200: PhoneItselfOut})
def itself() -> Response:
    """What the phone that asks is shut out of, signed in or not: it puts away what it has of that."""
    return json_answer(phones.phone_itself(request.cookies.get(PHONE_COOKIE)))


@bp.route("/phones", methods=("GET",))
@requires(Right.SERVER)
@answers({200: PhonesOfFirmOut})
def of_firm() -> Response:
    """All phones that anybody has signed in on."""
    with reading() as session:
        return json_answer({"phones": phones.list_phones(session, current_person().phone)})


@bp.route("/phones/<uuid:phone_id>", methods=("PUT",))
@requires(Right.SERVER)
@takes(ShutOutIn)
@answers({200: PhonesOfFirmOut}, 409)
def shut_out(phone_id: str, body: ShutOut) -> Response:
    """Shut a phone out of all sites, which ends its sign-ins, or let it in again, for which one proves who one is."""
    if not body["shut_out"]:
        require_entered()
    with writing() as session:
        phones.shut_out_of_all(session, current_person(), phone_id, body["shut_out"])
    return of_firm()


@bp.route("/me/phones", methods=("GET",))
@requires(Right.SIGNED_IN, before_factor=True)
@answers({200: OwnPhonesOut})
def own() -> Response:
    """The phones that who asks has signed in on, with the sign-ins that still hold."""
    with reading() as session:
        return json_answer({"phones": phones.own_phones(session, current_person())})


@bp.route("/me/phones/<uuid:phone_id>", methods=("DELETE",))
@requires(Right.SIGNED_IN, before_factor=True)
@answers({204: None})
def end_on(phone_id: str) -> Response:
    """End one's own sign-ins on a phone."""
    with writing() as session:
        phones.end_own_sessions_on(session, current_person(), phone_id)
    return Response(status=204)


@bp.route("/me/enrolments", methods=("POST",))
@requires(Right.SIGNED_IN)
@takes(EnrolmentIn)
@answers({201: EnrolmentMadeOut}, 429)
def make(body: NewEnrolment) -> Response:
    """A code that signs who asks in on a second phone: good once, for five minutes."""
    settings: Settings = current_app.extensions["spanwalk"]
    origin = settings.public_url or request.host_url
    made = enrolling.make_enrolment(current_person(), body["password"], asked(), origin)
    return json_answer(made, 201)


@bp.route("/me/enrolments/<uuid:enrolment_id>", methods=("GET",))
@requires(Right.SIGNED_IN)
@answers({200: EnrolmentStateOut})
def state(enrolment_id: str) -> Response:
    """What has become of a code of one's own."""
    with reading() as session:
        return json_answer(enrolling.state_of_enrolment(session, current_person(), enrolment_id))


@bp.route("/me/enrolments/<uuid:enrolment_id>", methods=("DELETE",))
@requires(Right.SIGNED_IN)
@answers({204: None})
def withdraw(enrolment_id: str) -> Response:
    """Withdraw a code of one's own."""
    with writing() as session:
        enrolling.withdraw_enrolment(session, current_person(), enrolment_id)
    return Response(status=204)


@bp.route("/enrolments/open", methods=("POST",))
@requires(Right.OPEN)
@takes(LinkIn)
@answers({200: EnrolmentOpenedOut}, 404, 409)
def show(body: Link) -> Response:
    """Whom a code signs in; that does not use it up. The secret comes in the body: addresses stand in logs."""
    return json_answer(enrolling.open_enrolment(body["secret"]))


@bp.route("/enrolments/accept", methods=("POST",))
@requires(Right.OPEN)
@takes(LinkIn)
@answers({200: SessionOut}, 404, 409)
def accept(body: Link) -> Response:
    """Come in by a code on the phone that asks."""
    settings: Settings = current_app.extensions["spanwalk"]
    token, person = enrolling.accept_enrolment(body["secret"], settings.session_days, device_of_request())
    return with_cookie(json_answer(about(person)), token)
