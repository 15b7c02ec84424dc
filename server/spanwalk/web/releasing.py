"""Releases: the plan frozen for crews."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from spanwalk.services.releasing import release
from spanwalk.storage.database import writing
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer, read_json, text_of

bp = Blueprint("releasing", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Releases for crews")
LONGEST_NOTE = 2000


@bp.route("/releases", methods=["POST"])
@requires(Right.DECIDE)
def make_release(site_id: str) -> Response:
    """Freeze the proposal of each ready group; the answer says which were left out, and why."""
    note = text_of(read_json(), "note", most=LONGEST_NOTE, required=False)
    member = current_member()
    with writing() as session:
        return json_answer(release(session, member.site_id, member.person_id, note), 201)
