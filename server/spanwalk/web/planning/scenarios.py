"""What if: what the plan comes to with other figures, before any of them is written."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.scenarios import ScenarioIn, ScenarioOut
from spanwalk.services.scenarios.asked import ScenarioAsked
from spanwalk.services.scenarios.told import scenario_of
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes

bp = Endpoints("scenarios", __name__, url_prefix="/api/sites/<uuid:site_id>", description="What if: scenarios")


@bp.route("/what-if", methods=("POST",))
@requires(Right.DECIDE)
@takes(ScenarioIn)
@answers({200: ScenarioOut}, 409)
def look(site_id: str, body: ScenarioAsked) -> Response:
    """What the plan comes to in a scenario, beside today, and what applying it would write; nothing is written."""
    with reading() as session:
        return json_answer(scenario_of(session, current_member().site_id, body))
