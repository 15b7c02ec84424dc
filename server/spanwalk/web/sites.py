"""Sites: the list of one's own; an owner makes new ones."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from spanwalk.services.people import sites_of
from spanwalk.services.sites import add_site
from spanwalk.storage.database import reading, writing
from spanwalk.web.auth import Right, current_person, requires
from spanwalk.web.bodies import json_answer, read_json, text_of

bp = Blueprint("sites", __name__, url_prefix="/api/sites", description="Sites")


@bp.route("", methods=["GET"])
@requires(Right.SIGNED_IN)
def index() -> Response:
    """The sites that who asks is on."""
    with reading() as session:
        return json_answer({"sites": sites_of(session, current_person().id)})


@bp.route("", methods=["POST"])
@requires(Right.SERVER)
def add() -> Response:
    """Make a site; who makes it is on it as owner."""
    body = read_json()
    name = text_of(body, "name", most=80)
    settings = body.get("settings")
    with writing() as session:
        site_id = add_site(session, name, current_person().id, settings=settings if settings else None)
    return json_answer({"id": site_id, "name": name, "role": "owner"}, 201)
