"""Offers and change orders for customers, kept as they were made; and pre-approval sheets for rebates."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.offering import (
    ChangeAsked,
    ChangeIn,
    OfferAsked,
    OfferIn,
    OfferMade,
    OfferOut,
)
from spanwalk.messages.papers import PaperAsked, PaperQuery
from spanwalk.services.offering.change import ChangeTold, change_pdf, change_workbook
from spanwalk.services.offering.gathering import money_of, offer_of
from spanwalk.services.offering.keeping import kept_offer, make_change, make_offer
from spanwalk.services.offering.pages import offer_pdf, offer_workbook
from spanwalk.services.offering.programme import sheet_of, sheet_pdf, sheet_workbook
from spanwalk.storage.database import reading, writing
from spanwalk.web.files.files import XLSX
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks, takes
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.forms_of_files import PDF, in_form
from spanwalk.web.request.own_language import in_own_language, own_language
from spanwalk.words import reading_in

bp = Endpoints("offering", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Offers")
DAYS = 30


@bp.route("/offers/draft")
@requires(Right.DECIDE)
@answers({200: OfferOut})
def in_short(site_id: str) -> Response:
    """What an offer would set side by side now; nothing is kept of it."""
    with reading() as session:
        offer = offer_of(session, current_member().site_id, DAYS)
    names = ("name", "groups", "fixtures", "items", "kwh_now", "kwh_then")
    options = [
        {**{name: getattr(each, name) for name in names}, "money": dict(money_of(each))} for each in offer.options
    ]
    return json_answer({"currency": offer.currency, "options": options})


@bp.route("/offers", methods=("POST",))
@requires(Right.DECIDE)
@takes(OfferIn)
@answers({201: OfferMade}, 409)
def make(site_id: str, body: OfferAsked) -> Response:
    """Keep what is ready by today's plan as an offer, with the next number."""
    member, note, language = current_member(), body["note"].strip(), body["language"] or own_language()
    with writing() as session:
        made = make_offer(session, member.site_id, member.person_id, body["days"], note, language)
        return json_answer(made, 201)


@bp.route("/offers/change", methods=("POST",))
@requires(Right.DECIDE)
@takes(ChangeIn)
@answers({201: OfferMade}, 409)
def change(site_id: str, body: ChangeAsked) -> Response:
    """Keep what differs between two releases as a change order, with the next number."""
    member, reason, language = current_member(), body["reason"].strip(), body["language"] or own_language()
    with writing() as session:
        made = make_change(
            session, member.site_id, member.person_id, body["one"], body["other"], reason, body["changes"], language
        )
        return json_answer(made, 201)


@bp.route("/offers/<uuid:offer_id>.<any(pdf, xlsx):form>")
@requires(Right.DECIDE)
@entered_again
@answers({200: (PDF, XLSX)})
def offer(site_id: str, offer_id: str, form: str) -> Response:
    """An offer or a change order that the customer can sign: always as it was made, and in that language."""
    with reading() as session:
        kept = kept_offer(session, current_member().site_id, offer_id)
    with reading_in(kept.told.language):
        if isinstance(kept.told, ChangeTold):
            changes = {"pdf": change_pdf, "xlsx": change_workbook}
            return in_form(kept.told, changes, form, f"change-order-{kept.number}")
        offers = {"pdf": offer_pdf, "xlsx": offer_workbook}
        return in_form(kept.told, offers, form, f"offer-{kept.number}")


@bp.route("/programmes/<uuid:programme_id>.<any(pdf, xlsx):form>")
@requires(Right.DECIDE)
@entered_again
@asks(PaperQuery)
@answers({200: (PDF, XLSX)})
@in_own_language
def programme(site_id: str, programme_id: str, form: str, query: PaperAsked) -> Response:
    """The figures that were chosen for a rebate programme, in the language that is asked for."""
    with reading() as session:
        told = sheet_of(session, current_member().site_id, programme_id)
    return in_form(told, {"pdf": sheet_pdf, "xlsx": sheet_workbook}, form, "rebate-figures")
