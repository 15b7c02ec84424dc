"""Orders: what is to be ordered for the newest release, ordering it, and each order's sheet for its supplier."""

from __future__ import annotations

from collections.abc import Callable

from flask import Response

from spanwalk.messages.ordering import DraftAsked, DraftIn, DraftOut, OrdersAsked, OrdersIn, OrdersOut
from spanwalk.services.clock import now
from spanwalk.services.ordering.drafting import Wanted, basis_of, draft_of
from spanwalk.services.ordering.making import DAY_LETTERS, make_orders
from spanwalk.services.ordering.sheets import order_csv, order_pdf, order_workbook
from spanwalk.services.ordering.told import OrderTold, order_told
from spanwalk.storage.database import reading, writing
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, takes
from spanwalk.web.entered import entered_again
from spanwalk.web.files import XLSX, downloaded

bp = Endpoints("ordering", __name__, url_prefix="/api/sites/<uuid:site_id>/orders", description="Orders")


@bp.route("/draft", methods=("POST",))
@requires(Right.DECIDE)
@takes(DraftIn)
@answers({200: DraftOut})
def draft(site_id: str, body: DraftAsked) -> Response:
    """What would be ordered now for the newest release that stands; nothing is kept of it."""
    with reading() as session:
        found = basis_of(session, current_member().site_id, now()[:DAY_LETTERS])
        return json_answer(draft_of(found, _wanted(body)))


@bp.route("", methods=("POST",))
@requires(Right.DECIDE)
@takes(OrdersIn)
@answers({201: OrdersOut}, 409)
def make(site_id: str, body: OrdersAsked) -> Response:
    """Order what the draft says: one order for each supplier, with the next numbers."""
    member, note = current_member(), (body.get("note") or "").strip()
    with writing() as session:
        made = make_orders(session, member.site_id, member.person_id, _wanted(body), body["content"], note)
        return json_answer(made, 201)


def _wanted(body: DraftAsked) -> Wanted:
    return Wanted(body["wanted_on"], {each["floor"]: each["on"] for each in body["floors"]})


@bp.route("/<uuid:order_id>.pdf")
@requires(Right.DECIDE)
@entered_again
@answers({200: "application/pdf"})
def sheet(site_id: str, order_id: str) -> Response:
    """The order's sheet for its supplier."""
    return _sheet(order_id, order_pdf, "application/pdf", "pdf")


@bp.route("/<uuid:order_id>.xlsx")
@requires(Right.DECIDE)
@entered_again
@answers({200: XLSX})
def workbook(site_id: str, order_id: str) -> Response:
    """The same as a workbook."""
    return _sheet(order_id, order_workbook, XLSX, "xlsx")


@bp.route("/<uuid:order_id>.csv")
@requires(Right.DECIDE)
@entered_again
@answers({200: "text/csv"})
def text(site_id: str, order_id: str) -> Response:
    """The same as CSV."""
    return _sheet(order_id, order_csv, "text/csv", "csv")


def _sheet(order_id: str, made: Callable[[OrderTold], bytes], media: str, ends: str) -> Response:
    with reading() as session:
        order = order_told(session, current_member().site_id, order_id)
    return downloaded(made(order), media, f"spanwalk-order-{order.number}.{ends}")
