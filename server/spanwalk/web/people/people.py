"""People: made by an owner, put on a site by its managers; phones listed and revoked; held work released."""

from __future__ import annotations

from flask import Response

from spanwalk.config import PUSH_OPERATIONS_MOST
from spanwalk.messages.answers import DevicesOut, HeldOut, PeopleOfFirmOut, PeopleOut, PersonMadeOut, SettledOut
from spanwalk.messages.bodies import (
    HeldIn,
    HeldSettled,
    NewPerson,
    PersonChange,
    PersonChangeIn,
    PersonIn,
    RoleIn,
    RoleOnSite,
    ShutOut,
    ShutOutIn,
)
from spanwalk.services.people import ranks
from spanwalk.services.people.passwords import check_password, hash_password
from spanwalk.services.people.people import new_person, people_of, person_named
from spanwalk.services.people.ranks import people_of_firm, set_owner, set_state
from spanwalk.services.refusals import NotThere, TooLarge
from spanwalk.services.sync import held
from spanwalk.services.sync.devices import list_devices, shut_out_device
from spanwalk.storage.database import reading, writing
from spanwalk.web.request.auth import Right, current_asker, current_member, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes
from spanwalk.web.request.entered import entered_again, require_entered

bp = Endpoints("people", __name__, url_prefix="/api", description="People, phones and held work")


@bp.route("/people", methods=("GET",))
@requires(Right.SERVER)
@answers({200: PeopleOfFirmOut})
def firm() -> Response:
    """Everybody, with their states and sites."""
    with reading() as session:
        return json_answer({"people": people_of_firm(session)})


@bp.route("/people", methods=("POST",))
@requires(Right.SERVER)
@entered_again
@takes(PersonIn)
@answers({201: PersonMadeOut})
def add(body: NewPerson) -> Response:
    """Make a person who can sign in."""
    check_password(body["password"], body["name"])
    hashed = hash_password(body["password"])
    with writing() as session:
        person_id = new_person(session, body["name"], hashed, body.get("owner") is True)
    return json_answer({"id": person_id, "name": " ".join(body["name"].split())}, 201)


@bp.route("/people/<uuid:person_id>", methods=("PUT",))
@requires(Right.SERVER)
@entered_again
@takes(PersonChangeIn)
@answers({200: PeopleOfFirmOut}, 409)
def change(person_id: str, body: PersonChange) -> Response:
    """Disable a person, say that they have left, let them in again; make them an owner, or no longer one."""
    with writing() as session:
        if "state" in body:
            set_state(session, current_person(), person_id, body["state"])
        if "owner" in body:
            set_owner(session, person_id, body["owner"])
    return firm()


@bp.route("/sites/<uuid:site_id>/people", methods=("GET",))
@requires(Right.READ)
@answers({200: PeopleOut})
def of_site(site_id: str) -> Response:
    """Names and roles of those who are or were on a site; conflicts show them."""
    with reading() as session:
        return json_answer({"people": people_of(session, site_id)})


@bp.route("/sites/<uuid:site_id>/people", methods=("PUT",))
@requires(Right.DECIDE)
@entered_again
@takes(RoleIn)
@answers({200: PeopleOut}, 409)
def put_on_site(site_id: str, body: RoleOnSite) -> Response:
    """Put a person (`name`) on a site in a `role`, or take them off (role null)."""
    name, role = body["name"], body.get("role")
    with writing() as session:
        person_id = person_named(session, name)
        if person_id is None:
            raise NotThere("person-unknown", value=name)
        ranks.put_on_site(session, current_asker(), site_id, person_id, role)
        return json_answer({"people": people_of(session, site_id)})


@bp.route("/sites/<uuid:site_id>/devices", methods=("GET",))
@requires(Right.DECIDE)
@answers({200: DevicesOut})
def devices(site_id: str) -> Response:
    """The phones of a site: who used each last, when, and what it has not sent yet."""
    with reading() as session:
        return json_answer({"devices": list_devices(session, site_id, current_person().phone)})


@bp.route("/sites/<uuid:site_id>/devices/<uuid:device_id>", methods=("DELETE",))
@requires(Right.DECIDE)
@answers({204: None}, 409)
def revoke(site_id: str, device_id: str) -> Response:
    """Shut a phone out of the site: it reads no more, its sign-ins end, and what it sends is held."""
    return _shut_out(device_id, True)


@bp.route("/sites/<uuid:site_id>/devices/<uuid:device_id>", methods=("PUT",))
@requires(Right.DECIDE)
@takes(ShutOutIn)
@answers({204: None}, 409)
def shut_out(site_id: str, device_id: str, body: ShutOut) -> Response:
    """Shut a phone out of the site, or let it in again, for which one proves who one is. Held work stays held until it is let in."""
    if not body["shut_out"]:
        require_entered()
    return _shut_out(device_id, body["shut_out"])


def _shut_out(device_id: str, out: bool) -> Response:
    with writing() as session:
        shut_out_device(session, current_asker(), current_member(), device_id, out)
    return Response(status=204)


@bp.route("/sites/<uuid:site_id>/held", methods=("GET",))
@requires(Right.DECIDE)
@answers({200: HeldOut})
def held_work(site_id: str) -> Response:
    """Operations that wait for a manager, in order of arrival."""
    with reading() as session:
        return json_answer({"held": held.list_held(session, site_id)})


@bp.route("/sites/<uuid:site_id>/held", methods=("POST",))
@requires(Right.DECIDE)
@entered_again
@takes(HeldIn)
@answers({200: SettledOut}, 409)
def settle_held(site_id: str, body: HeldSettled) -> Response:
    """Let held operations in (`release`: ids) or refuse them (`refuse`: ids)."""
    release, refuse = body.get("release", []), body.get("refuse", [])
    for name, ids in (("release", release), ("refuse", refuse)):
        if len(ids) > PUSH_OPERATIONS_MOST:
            raise TooLarge("ids-too-many", field=name, value=len(ids), most=PUSH_OPERATIONS_MOST)
    with writing() as session:
        return json_answer({"answers": held.settle_held(session, current_member(), release, refuse)})
