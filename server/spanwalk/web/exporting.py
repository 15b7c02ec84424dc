"""Tables to take away."""

from __future__ import annotations

from collections.abc import Callable

from flask import Response
from flask_smorest import Blueprint
from sqlalchemy.orm import Session

from spanwalk.services.emergency_tests import tests_csv
from spanwalk.services.exporting import order_csv, walk_csv
from spanwalk.storage.database import reading
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import zipped

bp = Blueprint("exporting", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Exports")


@bp.route("/walk.csv")
@requires(Right.READ_PLAN)
def walk(site_id: str) -> Response:
    """Rooms and groups as CSV."""
    return _table(walk_csv, "walk.csv")


@bp.route("/order.csv")
@requires(Right.READ_PLAN)
def order(site_id: str) -> Response:
    """What the ready groups need, with spares, as CSV."""
    return _table(order_csv, "order.csv")


@bp.route("/emergency-tests.csv")
@requires(Right.READ)
def emergency_tests(site_id: str) -> Response:
    """The record of emergency tests, and which fixtures have none, as CSV."""
    return _table(tests_csv, "emergency-tests.csv")


def _table(made: Callable[[Session, str], str], name: str) -> Response:
    with reading() as session:
        text = made(session, current_member().site_id)
    answer = Response(text.encode(), mimetype="text/csv")
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    answer.headers["Cache-Control"] = "no-store"
    return zipped(answer)
