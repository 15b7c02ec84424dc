"""A label scanned by anyone, without signing in."""

from __future__ import annotations

from flask import Response, request

from spanwalk.messages.answers import ScannedOut
from spanwalk.services.labels.scanned_by_anyone import look_up
from spanwalk.web.request.auth import Right, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers

bp = Endpoints("scanned_by_anyone", __name__, url_prefix="/api", description="A label scanned by anyone")


@bp.route("/labels/<code>")
@requires(Right.OPEN)
@answers({200: ScannedOut}, 404, 422, 429, 507)
def show(code: str) -> Response:
    """What the label's site shows to whoever scans it; a site that shows nothing answers as if there were no label."""
    answer = json_answer(look_up(code, request.remote_addr or ""))
    answer.headers["X-Robots-Tag"] = "noindex"
    return answer
