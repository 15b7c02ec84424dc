"""People: made by an owner, put on a site by its managers; phones listed and revoked; held work released."""

from __future__ import annotations

from flask import Response

from spanwalk.config import PUSH_OPERATIONS_MOST
from spanwalk.messages.answers import DevicesOut, HeldOut, PeopleOut, PersonMadeOut, SettledOut
from spanwalk.messages.bodies import (
    HeldIn,
    HeldSettled,
    NewPassword,
    NewPerson,
    PasswordIn,
    PersonIn,
    RoleIn,
    RoleOnSite,
)
from spanwalk.services.people.people import add_person, people_of, person_named, set_password, set_role
from spanwalk.services.refusals import NotAllowed, NotThere, TooLarge
from spanwalk.services.sync import held
from spanwalk.services.sync.devices import list_devices, revoke_device
from spanwalk.storage.database import reading, writing
from spanwalk.web.auth import Right, current_member, current_person, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, takes

bp = Endpoints("people", __name__, url_prefix="/api", description="People, phones and held work")


@bp.route("/people", methods=("POST",))
@requires(Right.SERVER)
@takes(PersonIn)
@answers({201: PersonMadeOut})
def add(body: NewPerson) -> Response:
    """Make a person who can sign in."""
    with writing() as session:
        person_id = add_person(session, body["name"], body["password"], body.get("owner") is True)
    return json_answer({"id": person_id, "name": " ".join(body["name"].split())}, 201)


@bp.route("/session/password", methods=("PUT",))
@requires(Right.SIGNED_IN)
@takes(PasswordIn)
@answers({204: None})
def change_password(body: NewPassword) -> Response:
    """Change one's own password; every sign-in of that person ends."""
    with writing() as session:
        set_password(session, current_person().id, body["password"])
    return Response(status=204)


@bp.route("/sites/<uuid:site_id>/people", methods=("GET",))
@requires(Right.READ)
@answers({200: PeopleOut})
def of_site(site_id: str) -> Response:
    """Names and roles of those who are or were on a site; conflicts show them."""
    with reading() as session:
        return json_answer({"people": people_of(session, site_id)})


@bp.route("/sites/<uuid:site_id>/people", methods=("PUT",))
@requires(Right.DECIDE)
@takes(RoleIn)
@answers({200: PeopleOut})
def put_on_site(site_id: str, body: RoleOnSite) -> Response:
    """Put a person (`name`) on a site in a `role`, or take them off (role null)."""
    name, role = body["name"], body.get("role")
    if current_member().role != "owner" and role == "owner":
        raise NotAllowed("role-not-enough", role=str(current_member().role), right=["owner"])
    with writing() as session:
        person_id = person_named(session, name)
        if person_id is None:
            raise NotThere("person-unknown", value=name)
        set_role(session, site_id, person_id, role)
        return json_answer({"people": people_of(session, site_id)})


@bp.route("/sites/<uuid:site_id>/devices", methods=("GET",))
@requires(Right.DECIDE)
@answers({200: DevicesOut})
def devices(site_id: str) -> Response:
    """The phones of a site: who used each last, when, and what it has not sent yet."""
    with reading() as session:
        return json_answer({"devices": list_devices(session, site_id)})


@bp.route("/sites/<uuid:site_id>/devices/<uuid:device_id>", methods=("DELETE",))
@requires(Right.DECIDE)
@answers({204: None})
def revoke(site_id: str, device_id: str) -> Response:
    """Revoke a phone: it reads no more, and what it sends is held."""
    with writing() as session:
        revoke_device(session, site_id, device_id)
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
