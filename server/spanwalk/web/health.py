"""Is the server there, can it work, and what does it count?"""

from __future__ import annotations

import hmac
import logging
from importlib.metadata import version

from flask import Response, current_app, request
from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from spanwalk.config import Settings
from spanwalk.messages.answers import HealthOut, ReadyOut
from spanwalk.services.clock import now
from spanwalk.services.health import figures_now, readiness
from spanwalk.services.refusals import NotSignedIn, NotThere
from spanwalk.storage.database import reading
from spanwalk.storage.tables import db
from spanwalk.telemetry.counting import begin_counting
from spanwalk.web.request.auth import Right, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers

bp = Endpoints("health", __name__, url_prefix="/api", description="State of the server")
STOPPING = "spanwalk-stopping"
"""In `app.extensions`, set by a server that has been told to end."""


@bp.route("/health")
@requires(Right.OPEN)
@answers({200: HealthOut, 503: HealthOut})
def health() -> Response:
    """State of the server: status, version, database."""
    try:
        with reading() as session:
            session.execute(text("SELECT incarnation FROM server")).one()
    except SQLAlchemyError:
        logging.getLogger("spanwalk").exception("the database does not answer")
        return json_answer({"status": "failing", "version": version("spanwalk"), "database": "no answer"}, 503)
    return json_answer({"status": "ok", "version": version("spanwalk"), "database": "ok"})


@bp.route("/ready")
@requires(Right.OPEN)
@answers({200: ReadyOut, 503: ReadyOut})
def ready() -> Response:
    """Whether work may be sent here: database, its tables, photo store, and that it is not about to end."""
    stopping = current_app.extensions.get(STOPPING, False)
    told = readiness(db.engine, current_app.extensions["spanwalk-photos"], stopping)
    about = {
        "ready": told.ready,
        "version": version("spanwalk"),
        "database": told.database,
        "tables": told.tables,
        "photos": told.photos,
        "stopping": told.stopping,
    }
    return json_answer(about, 200 if told.ready else 503)


@bp.route("/metrics")
@requires(Right.OPEN)
@answers({200: "text/plain"}, 401, 404)
def metrics() -> Response:
    """Figures of this process and of the database, to those who send the token of the settings: `Authorization: Bearer …`."""
    settings: Settings = current_app.extensions["spanwalk"]
    if settings.metrics_token is None:
        raise NotThere("metrics-off")
    told = request.headers.get("Authorization", "").removeprefix("Bearer ")
    if not hmac.compare_digest(told.encode(), settings.metrics_token.encode()):
        raise NotSignedIn("metrics-token-wrong")
    with reading() as session:
        gauges = figures_now(session, str(db.engine.url), now())
    return Response(begin_counting().text(gauges), content_type="text/plain; version=0.0.4; charset=utf-8")
