"""Codes for fixtures; labels, notices and the alignment page to print."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from flask import Response, current_app
from sqlalchemy.orm import Session

from spanwalk.config import Settings
from spanwalk.messages.answers import LabelPrintOut, LabelsOut, LabelsPrintedOut
from spanwalk.messages.bodies import (
    BlankIn,
    BlankWanted,
    LabelsIn,
    LabelsWanted,
    Printed,
    PrintedIn,
    SheetAsked,
    SheetQuery,
)
from spanwalk.services.labels.alignment import alignment_pdf
from spanwalk.services.labels.geometry import OwnNumbers, Sheet, first_place, sheet_of, sheets_told
from spanwalk.services.labels.labels import make_blank, make_labels
from spanwalk.services.labels.layout import Label
from spanwalk.services.labels.notice import (
    Notice,
    label_and_notice_pdf,
    languages_told,
    notice_pdf,
    refuse_too_small,
)
from spanwalk.services.labels.printing import (
    Wanted,
    labels_and_outdated,
    labels_to_print,
    mark_printed,
    notice_of,
    told_before,
)
from spanwalk.services.labels.sheets import label_pdf
from spanwalk.services.refusals import NotThere
from spanwalk.storage.database import reading, writing
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks, takes
from spanwalk.words import known, known_of_notices

bp = Endpoints("labels", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Labels")
NOTICES, BOTH, ALIGNMENT = "notices", "both", "alignment"


@bp.route("/labels", methods=("POST",))
@requires(Right.DECIDE)
@takes(LabelsIn)
@answers({200: LabelsOut, 201: LabelsOut}, 409)
def make(site_id: str, body: LabelsWanted) -> Response:
    """Give each fixture of a floor or the site that is converted and has no label a code."""
    floor = body.get("floor") or None
    member = current_member()
    with writing() as session:
        made = make_labels(session, member.site_id, floor, member.person_id)
    return json_answer({"made": made}, 201 if made else 200)


@bp.route("/labels/blank", methods=("POST",))
@requires(Right.DECIDE)
@takes(BlankIn)
@answers({201: LabelsOut}, 409)
def blank(site_id: str, body: BlankWanted) -> Response:
    """Make codes that hang on no fixture yet: a phone binds each on the way."""
    member = current_member()
    with writing() as session:
        made = make_blank(session, member.site_id, body["count"], member.person_id)
    return json_answer({"made": made}, 201)


@bp.route("/labels/printed", methods=("POST",))
@requires(Right.SURVEY)
@takes(PrintedIn)
@answers({200: LabelsPrintedOut}, 409)
def printed(site_id: str, body: Printed) -> Response:
    """Note that labels came out of the printer: they are not new any more."""
    member = current_member()
    wanted = Wanted(body["what"], body.get("floor"), body.get("room"), body.get("group"), body.get("position"))
    with writing() as session:
        marked = mark_printed(session, member.site_id, wanted, member.person_id)
    return json_answer({"marked": marked})


@bp.route("/labels/print")
@requires(Right.READ)
@asks(SheetQuery)
@answers({200: LabelPrintOut})
def before(site_id: str, query: SheetAsked) -> Response:
    """What is told before labels are printed: how many, what the first symbol says, and what cannot be printed."""
    sheet = _sheet(query)
    first = first_place(sheet, query["start"])
    wanted = _wanted(query)
    with reading() as session:
        labels, late = labels_and_outdated(session, current_member().site_id, wanted)
        notice = _notice(session, query)
    if query["sheet"] in (NOTICES, BOTH):
        refuse_too_small(notice, sheet, beside=query["sheet"] == BOTH)
    told = told_before(labels, sheet, first, _public_url(), notice)
    return json_answer(
        {**told, "outdated": late, "sheets": sheets_told(), "places": sheet.places, "languages": languages_told()}
    )


@bp.route("/labels.pdf")
@requires(Right.READ)
@asks(SheetQuery)
@answers({200: "application/pdf"})
def sheets(site_id: str, query: SheetAsked) -> Response:
    """Labels, notices or the alignment page, ready to be printed at 100 %."""
    answer = Response(_pdf(query), mimetype="application/pdf")
    answer.headers["Content-Disposition"] = 'inline; filename="labels.pdf"'
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _pdf(query: SheetAsked) -> bytes:
    sheet, start, wanted = _sheet(query), query["start"], query["sheet"]
    first_place(sheet, start)
    if wanted == ALIGNMENT:
        return alignment_pdf(sheet, known(query["language"]))
    labels, notice = _asked(query)
    if wanted == NOTICES:
        return notice_pdf(notice, sheet, start, query.get("count") or len(labels) or sheet.places)
    if not labels:
        raise NotThere("no-labels")
    if wanted == BOTH:
        return label_and_notice_pdf(notice, labels, _public_url(), sheet, start)
    return label_pdf(labels, _public_url(), sheet, start, notice.language)


def _asked(query: SheetAsked) -> tuple[Sequence[Label], Notice]:
    """The labels that are asked for, and what stands on a notice."""
    with reading() as session:
        return labels_to_print(session, current_member().site_id, _wanted(query)), _notice(session, query)


def _wanted(query: SheetAsked) -> Wanted:
    floor, room, group = query.get("floor") or None, query.get("room") or None, query.get("group") or None
    return Wanted(query["what"], floor, room, group, query.get("position"))


def _notice(session: Session, query: SheetAsked) -> Notice:
    language = known_of_notices(query["language"])
    return notice_of(session, current_member().site_id, query["date"], language, query["region"])


def _sheet(query: SheetAsked) -> Sheet:
    numbers = {name: query[name] for name in OwnNumbers.__annotations__ if name in query}  # type: ignore[literal-required]
    return sheet_of(query["paper"], cast("OwnNumbers", numbers), query["shift_right_mm"], query["shift_down_mm"])


def _public_url() -> str | None:
    settings: Settings = current_app.extensions["spanwalk"]
    return settings.public_url
