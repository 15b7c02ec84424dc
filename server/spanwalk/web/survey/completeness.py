"""How complete a site is, and its open points."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.answers import CompletenessOut, PointsByOut, PointsOfOut
from spanwalk.messages.bodies import (
    CompletenessAsked,
    CompletenessQuery,
    PointsByAsked,
    PointsByQuery,
    PointsOfAsked,
    PointsOfQuery,
)
from spanwalk.services.planning.completeness import site_completeness, site_in_short
from spanwalk.services.planning.open_point_lists import Shown, points_by, points_of
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks

bp = Endpoints(
    "completeness",
    __name__,
    url_prefix="/api/sites/<uuid:site_id>",
    description="Completeness and open points",
)


@bp.route("/completeness")
@requires(Right.READ)
@asks(CompletenessQuery)
@answers({200: CompletenessOut})
def completeness(site_id: str, query: CompletenessAsked) -> Response:
    """Shares complete by floor and room, and every open point with who can close it and where, unless `points` is `no`."""
    with reading() as session:
        told = site_completeness if query["points"] == "yes" else site_in_short
        return json_answer(told(session, current_member().site_id))


@bp.route("/open-points")
@requires(Right.READ)
@asks(PointsByQuery)
@answers({200: PointsByOut})
def open_points_by(site_id: str, query: PointsByAsked) -> Response:
    """How many points are open by floor, room, kind, who can close them or who has them."""
    with reading() as session:
        return json_answer(points_by(session, current_member().site_id, query["by"], _shown(query)))


@bp.route("/open-points/of")
@requires(Right.READ)
@asks(PointsOfQuery)
@answers({200: PointsOfOut})
def open_points_of(site_id: str, query: PointsOfAsked) -> Response:
    """A page of the open points of one floor, room, kind, role or person; `from` how many are passed over."""
    with reading() as session:
        member, by = current_member(), query["by"]
        return json_answer(points_of(session, member.site_id, by, query["value"], _shown(query), query["start"]))


def _shown(query: PointsByAsked) -> Shown:
    """Which points are asked for."""
    return Shown(query.get("role"), query.get("person"))
