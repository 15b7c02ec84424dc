"""Releases: the plan frozen for crews."""

from __future__ import annotations

from typing import Any

from flask import Response

from spanwalk.messages.answers import ReleaseOut
from spanwalk.messages.bodies import ReleaseIn
from spanwalk.services.releasing import release
from spanwalk.storage.database import writing
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, takes

bp = Endpoints("releasing", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Releases for crews")


@bp.route("/releases", methods=("POST",))
@requires(Right.DECIDE)
@takes(ReleaseIn)
@answers({201: ReleaseOut}, 409)
def make_release(site_id: str, body: dict[str, Any]) -> Response:
    """Freeze the proposal of each ready group; the answer says which were left out, and why."""
    member = current_member()
    with writing() as session:
        return json_answer(release(session, member.site_id, member.person_id, body.get("note") or ""), 201)
