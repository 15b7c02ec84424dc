"""Is the server there, which version, and does its database answer?"""

from __future__ import annotations

import logging
from importlib.metadata import version

from flask import Response
from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from spanwalk.messages.answers import HealthOut
from spanwalk.storage.database import reading
from spanwalk.web.auth import Right, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers

bp = Endpoints("health", __name__, url_prefix="/api", description="State of the server")


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
