"""Is the server there, which version, and does its database answer?"""

from __future__ import annotations

import logging
from importlib.metadata import version

from flask import Response
from flask_smorest import Blueprint
from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from spanwalk.storage.database import reading
from spanwalk.web.auth import Right, requires
from spanwalk.web.bodies import json_answer

bp = Blueprint("health", __name__, url_prefix="/api", description="State of the server")


@bp.route("/health")
@requires(Right.OPEN)
def health() -> Response:
    """State of the server: status, version, database."""
    try:
        with reading() as session:
            session.execute(text("SELECT incarnation FROM server")).one()
    except SQLAlchemyError:
        logging.getLogger("spanwalk").exception("the database does not answer")
        return json_answer(
            {"status": "failing", "version": version("spanwalk"), "database": "no answer"}, 503
        )
    return json_answer({"status": "ok", "version": version("spanwalk"), "database": "ok"})
