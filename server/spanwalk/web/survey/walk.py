"""How the walk goes: pace, what is to be read again, readings of a kind."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.walk import StripAsked, StripOut, StripQuery, WalkAsked, WalkOut, WalkQuery
from spanwalk.rules.measuring.remeasure import Risks
from spanwalk.services.walk.told import strip_of, walk_of
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks

bp = Endpoints("walk", __name__, url_prefix="/api/sites/<uuid:site_id>", description="How the walk goes")


@bp.route("/walk")
@requires(Right.READ_PLAN)
@asks(WalkQuery)
@answers({200: WalkOut}, 409)
def walk(site_id: str, query: WalkAsked) -> Response:
    """Pace by hours stated, hours left with their doubt, and lots of readings with what is to be read again."""
    with reading() as session:
        return json_answer(walk_of(session, current_member().site_id, Risks(**query)))


@bp.route("/walk/readings")
@requires(Right.READ_PLAN)
@asks(StripQuery)
@answers({200: StripOut}, 404)
def readings(site_id: str, query: StripAsked) -> Response:
    """Readings of one kind, with the lengths that its lamps make likely and what its groups are trusted to have."""
    with reading() as session:
        return json_answer(strip_of(session, current_member().site_id, query["kind"]))
