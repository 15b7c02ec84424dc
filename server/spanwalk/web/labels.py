"""Codes for fixtures, and label sheets to print."""

from __future__ import annotations

from flask import Response, request
from flask_smorest import Blueprint

from spanwalk.services.label_sheets import label_pdf, sheet_of
from spanwalk.services.labels import labels_to_print, make_labels
from spanwalk.storage.database import reading, writing
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer, read_json, text_of

bp = Blueprint("labels", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Labels")


@bp.route("/labels", methods=["POST"])
@requires(Right.DECIDE)
def make(site_id: str) -> Response:
    """Give each fixture of a floor or the site that has no label a code."""
    floor = text_of(read_json(), "floor", most=36, required=False) or None
    member = current_member()
    with writing() as session:
        made = make_labels(session, member.site_id, floor, member.person_id)
    return json_answer({"made": made}, 201 if made else 200)


@bp.route("/labels.pdf")
@requires(Right.READ)
def sheets(site_id: str) -> Response:
    """Sheets of labels: `floor`, `paper` (a4, letter) and `start`, the first free place."""
    paper, start = request.args.get("paper", "a4"), request.args.get("start", "1")
    sheet_of(paper, start)
    with reading() as session:
        labels = labels_to_print(session, current_member().site_id, request.args.get("floor") or None)
    answer = Response(label_pdf(labels, request.host_url, paper, start), mimetype="application/pdf")
    answer.headers["Content-Disposition"] = 'inline; filename="labels.pdf"'
    answer.headers["Cache-Control"] = "no-store"
    return answer
