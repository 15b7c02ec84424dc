"""The figures of the reference tables, each with its source, and what the site sets in their place."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.answers import FiguresOut
from spanwalk.services.planning.figures import site_figures
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers
from spanwalk.web.request.own_language import in_own_language

bp = Endpoints("figures", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Figures and their sources")


@bp.route("/figures")
@requires(Right.READ_PLAN)
@answers({200: FiguresOut})
@in_own_language
def all_figures(site_id: str) -> Response:
    """Every table, row and figure with its source, how it is known, and the site's own value where one stands."""
    with reading() as session:
        return json_answer(site_figures(session, current_member().site_id, current_person().id))
