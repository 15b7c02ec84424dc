"""Codes for fixtures, and label sheets to print."""

from __future__ import annotations

from flask import Response, request

from spanwalk.messages.answers import LabelsOut
from spanwalk.messages.bodies import LabelsIn, LabelsWanted, SheetAsked, SheetQuery
from spanwalk.services.labels.labels import labels_to_print, make_labels
from spanwalk.services.labels.sheets import label_pdf, sheet_of
from spanwalk.storage.database import reading, writing
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, asks, takes

bp = Endpoints("labels", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Labels")


@bp.route("/labels", methods=("POST",))
@requires(Right.DECIDE)
@takes(LabelsIn)
@answers({200: LabelsOut, 201: LabelsOut}, 409)
def make(site_id: str, body: LabelsWanted) -> Response:
    """Give each fixture of a floor or the site that has no label a code."""
    floor = body.get("floor") or None
    member = current_member()
    with writing() as session:
        made = make_labels(session, member.site_id, floor, member.person_id)
    return json_answer({"made": made}, 201 if made else 200)


@bp.route("/labels.pdf")
@requires(Right.READ)
@asks(SheetQuery)
@answers({200: "application/pdf"})
def sheets(site_id: str, query: SheetAsked) -> Response:
    """Sheets of labels: `floor`, `paper` (a4, letter) and `start`, the first free place."""
    paper, start = query["paper"], query["start"]
    sheet_of(paper, start)
    with reading() as session:
        labels = labels_to_print(session, current_member().site_id, query.get("floor") or None)
    answer = Response(label_pdf(labels, request.host_url, paper, start), mimetype="application/pdf")
    answer.headers["Content-Disposition"] = 'inline; filename="labels.pdf"'
    answer.headers["Cache-Control"] = "no-store"
    return answer
