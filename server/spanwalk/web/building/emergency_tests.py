"""Emergency tests: which fixtures were tested, by whom, and which are due."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.answers import EmergencyTestsOut
from spanwalk.services.releases.emergency_tests import tests_of_site
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers

bp = Endpoints("emergency_tests", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Emergency tests")


@bp.route("/emergency-tests")
@requires(Right.READ)
@answers({200: EmergencyTestsOut})
def emergency_tests(site_id: str) -> Response:
    """Emergency fixtures that are released, each with its tests, the newest first; how many have none that passed."""
    with reading() as session:
        return json_answer(tests_of_site(session, current_member().site_id))
