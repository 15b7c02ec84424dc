"""The OpenAPI document of all endpoints, made of the messages that they read and answer."""

from __future__ import annotations

from flask import Response, current_app

from spanwalk.messages.answers import DocumentOut
from spanwalk.web.request.auth import Right, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers

bp = Endpoints("document", __name__, url_prefix="/api", description="The OpenAPI document")


@bp.route("/openapi.json")
@requires(Right.OPEN)
@answers({200: DocumentOut})
def openapi() -> Response:
    """The OpenAPI document."""
    return json_answer(current_app.extensions["spanwalk-openapi"].document())
