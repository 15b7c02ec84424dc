"""Releases: the plan frozen for crews."""

from __future__ import annotations

from flask import Response, request
from flask_smorest import Blueprint

from spanwalk.services.release_differences import TODAY, differences
from spanwalk.services.releasing import release
from spanwalk.storage.database import reading, writing
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer, read_json, text_of

bp = Blueprint("releasing", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Releases for crews")
LONGEST_NOTE = 2000
LONGEST_NUMBER = 10


@bp.route("/releases", methods=["POST"])
@requires(Right.DECIDE)
def make_release(site_id: str) -> Response:
    """Freeze the proposal of each ready group; the answer says which were left out, and why."""
    note = text_of(read_json(), "note", most=LONGEST_NOTE, required=False)
    member = current_member()
    with writing() as session:
        return json_answer(release(session, member.site_id, member.person_id, note), 201)


@bp.route("/releases/differences", methods=["GET"])
@requires(Right.READ_PLAN)
def compare(site_id: str) -> Response:
    """What differs from one release (`?from=` its number) to another, or to today (`?to=` a number, or `today`)."""
    one, other = (request.args.get(name, default)[:LONGEST_NUMBER] for name, default in (("from", ""), ("to", TODAY)))
    with reading() as session:
        return json_answer(differences(session, current_member().site_id, one, other))
