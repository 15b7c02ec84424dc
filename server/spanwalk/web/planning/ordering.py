"""Orders: what is to be ordered for the newest release, ordering it, and each order's sheet for its supplier."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.ordering import DraftAsked, DraftIn, DraftOut, OrdersAsked, OrdersIn, OrdersOut
from spanwalk.messages.papers import PaperAsked, PaperQuery
from spanwalk.services.days import today_at
from spanwalk.services.ordering.drafting import Wanted, basis_of, draft_of
from spanwalk.services.ordering.making import make_orders
from spanwalk.services.ordering.sheets import order_csv, order_pdf, order_workbook
from spanwalk.services.ordering.told import order_told
from spanwalk.storage.database import reading, writing
from spanwalk.web.files.files import XLSX
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks, takes
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.forms_of_files import CSV, PDF, in_form
from spanwalk.web.request.own_language import in_own_language

bp = Endpoints("ordering", __name__, url_prefix="/api/sites/<uuid:site_id>/orders", description="Orders")


@bp.route("/draft", methods=("POST",))
@requires(Right.DECIDE)
@takes(DraftIn)
@answers({200: DraftOut})
def draft(site_id: str, body: DraftAsked) -> Response:
    """What would be ordered now for the newest release that stands; nothing is kept of it."""
    with reading() as session:
        site_id = current_member().site_id
        found = basis_of(session, site_id, today_at(session, site_id))
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


@bp.route("/<uuid:order_id>.<any(pdf, xlsx, csv):form>")
@requires(Right.DECIDE)
@entered_again
@asks(PaperQuery)
@answers({200: (PDF, XLSX, CSV)})
@in_own_language
def sheet(site_id: str, order_id: str, form: str, query: PaperAsked) -> Response:
    """The order's sheet for its supplier, in the language that is asked for."""
    with reading() as session:
        order = order_told(session, current_member().site_id, order_id)
    forms = {"pdf": order_pdf, "xlsx": order_workbook, "csv": order_csv}
    return in_form(order, forms, form, f"order-{order.number}")
