"""Offers for customers, change orders between releases, and pre-approval sheets for rebates."""

from __future__ import annotations

from collections.abc import Callable

from flask import Response

from spanwalk.messages.offering import ChangeAsked, ChangeQuery, OfferAsked, OfferOut, OfferQuery
from spanwalk.services.offering.change import ChangeTold, change_of, change_pdf, change_workbook
from spanwalk.services.offering.gathering import Offer, money_of, offer_of
from spanwalk.services.offering.pages import offer_pdf, offer_workbook
from spanwalk.services.offering.programme import Sheet, sheet_of, sheet_pdf, sheet_workbook
from spanwalk.storage.database import reading
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, asks
from spanwalk.web.entered import entered_again
from spanwalk.web.files import XLSX, downloaded

bp = Endpoints("offering", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Offers")
PDF = "application/pdf"
DAYS = 30


@bp.route("/offer")
@requires(Right.DECIDE)
@answers({200: OfferOut})
def in_short(site_id: str) -> Response:
    """What an offer would set side by side now."""
    with reading() as session:
        offer = offer_of(session, current_member().site_id, DAYS)
    names = ("name", "groups", "fixtures", "items", "kwh_now", "kwh_then")
    options = [
        {**{name: getattr(each, name) for name in names}, "money": dict(money_of(each))} for each in offer.options
    ]
    return json_answer({"currency": offer.currency, "options": options})


@bp.route("/offer.pdf")
@requires(Right.DECIDE)
@entered_again
@asks(OfferQuery)
@answers({200: PDF})
def offer(site_id: str, query: OfferAsked) -> Response:
    """An offer that the customer can sign."""
    return _offer(query, offer_pdf, PDF, "pdf")


@bp.route("/offer.xlsx")
@requires(Right.DECIDE)
@entered_again
@asks(OfferQuery)
@answers({200: XLSX})
def offer_sheets(site_id: str, query: OfferAsked) -> Response:
    """The same as a workbook."""
    return _offer(query, offer_workbook, XLSX, "xlsx")


def _offer(query: OfferAsked, made: Callable[[Offer], bytes], media: str, ends: str) -> Response:
    with reading() as session:
        told = offer_of(session, current_member().site_id, query["days"], query["note"].strip())
    return downloaded(made(told), media, f"spanwalk-offer.{ends}")


@bp.route("/change-order.pdf")
@requires(Right.DECIDE)
@entered_again
@asks(ChangeQuery)
@answers({200: PDF})
def change(site_id: str, query: ChangeAsked) -> Response:
    """What differs between two releases, for the customer to sign."""
    return _change(query, change_pdf, PDF, "pdf")


@bp.route("/change-order.xlsx")
@requires(Right.DECIDE)
@entered_again
@asks(ChangeQuery)
@answers({200: XLSX})
def change_sheets(site_id: str, query: ChangeAsked) -> Response:
    """The same as a workbook."""
    return _change(query, change_workbook, XLSX, "xlsx")


def _change(query: ChangeAsked, made: Callable[[ChangeTold], bytes], media: str, ends: str) -> Response:
    with reading() as session:
        told = change_of(session, current_member().site_id, query["one"], query["other"], query["reason"].strip())
    return downloaded(made(told), media, f"spanwalk-change-order.{ends}")


@bp.route("/programmes/<uuid:programme_id>.pdf")
@requires(Right.DECIDE)
@entered_again
@answers({200: PDF})
def programme(site_id: str, programme_id: str) -> Response:
    """The figures that were chosen for a rebate programme."""
    return _programme(programme_id, sheet_pdf, PDF, "pdf")


@bp.route("/programmes/<uuid:programme_id>.xlsx")
@requires(Right.DECIDE)
@entered_again
@answers({200: XLSX})
def programme_sheets(site_id: str, programme_id: str) -> Response:
    """The same as a workbook."""
    return _programme(programme_id, sheet_workbook, XLSX, "xlsx")


def _programme(programme_id: str, made: Callable[[Sheet], bytes], media: str, ends: str) -> Response:
    with reading() as session:
        told = sheet_of(session, current_member().site_id, programme_id)
    return downloaded(made(told), media, f"spanwalk-rebate-figures.{ends}")
