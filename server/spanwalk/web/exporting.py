"""The walk, to take away."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from spanwalk.services.exporting import walk_csv
from spanwalk.storage.database import reading
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import zipped

bp = Blueprint("exporting", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Exports")


@bp.route("/walk.csv")
@requires(Right.READ_PLAN)
def walk(site_id: str) -> Response:
    """Rooms and groups as CSV."""
    with reading() as session:
        text = walk_csv(session, current_member().site_id)
    answer = Response(text.encode(), mimetype="text/csv")
    answer.headers["Content-Disposition"] = 'attachment; filename="walk.csv"'
    answer.headers["Cache-Control"] = "no-store"
    return zipped(answer)
