"""What fits into each group, as the server judges it."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from spanwalk.services.fits import site_fits
from spanwalk.storage.database import reading
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer

bp = Blueprint("fits", __name__, url_prefix="/api/sites/<uuid:site_id>", description="What fits")


@bp.route("/fits")
@requires(Right.READ)
def fits(site_id: str) -> Response:
    """Each group's trusted cavity and every row of bars with its verdict, judged by the server."""
    with reading() as session:
        return json_answer(site_fits(session, current_member().site_id))
