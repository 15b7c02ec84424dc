"""How complete a site is, and its open points."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.answers import CompletenessOut
from spanwalk.services.planning.completeness import site_completeness
from spanwalk.storage.database import reading
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers

bp = Endpoints(
    "completeness",
    __name__,
    url_prefix="/api/sites/<uuid:site_id>",
    description="Completeness and open points",
)


@bp.route("/completeness")
@requires(Right.READ)
@answers({200: CompletenessOut})
def completeness(site_id: str) -> Response:
    """Shares complete by floor and room, and every open point with who can close it and where."""
    with reading() as session:
        return json_answer(site_completeness(session, current_member().site_id))
