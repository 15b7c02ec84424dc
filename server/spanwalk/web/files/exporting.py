"""Tables to take away."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from flask import Response
from sqlalchemy.orm import Session

from spanwalk.messages.bodies import OrderAsked, OrderQuery
from spanwalk.services.files.csv_out import order_csv, quantities_csv, walk_csv
from spanwalk.services.releases.emergency_tests import tests_csv
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import zipped
from spanwalk.web.request.contract import Endpoints, answers, asks
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.own_language import in_own_language

bp = Endpoints("exporting", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Exports")


@bp.route("/walk.csv")
@requires(Right.READ_PLAN)
@entered_again
@answers({200: "text/csv"})
@in_own_language
def walk(site_id: str) -> Response:
    """Rooms and groups as CSV."""
    return _table(walk_csv, "walk.csv")


@bp.route("/order.csv")
@requires(Right.READ_PLAN)
@entered_again
@asks(OrderQuery)
@answers({200: "text/csv"})
@in_own_language
def order(site_id: str, query: OrderAsked) -> Response:
    """What a release orders and earlier ones did not, as CSV: the newest that is not withdrawn, or `?release=` a number."""
    number = query["release"]
    return _table(partial(order_csv, number=number or None), f"order-release-{number}.csv" if number else "order.csv")


@bp.route("/quantities.csv")
@requires(Right.READ_PLAN)
@entered_again
@answers({200: "text/csv"})
@in_own_language
def quantities(site_id: str) -> Response:
    """What the ready groups would need by today's plan, as CSV; not a release, and it says so."""
    return _table(quantities_csv, "plan-quantities.csv")


@bp.route("/emergency-tests.csv")
@requires(Right.READ)
@entered_again
@answers({200: "text/csv"})
@in_own_language
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
