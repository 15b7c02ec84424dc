"""What fits into each group, as the server judges it."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.answers import FitsOut
from spanwalk.services.planning.fits import site_fits
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers

bp = Endpoints("fits", __name__, url_prefix="/api/sites/<uuid:site_id>", description="What fits")


@bp.route("/fits")
@requires(Right.READ)
@answers({200: FitsOut})
def fits(site_id: str) -> Response:
    """Each group's trusted cavity and every row of bars with its verdict, judged by the server."""
    with reading() as session:
        return json_answer(site_fits(session, current_member().site_id))
