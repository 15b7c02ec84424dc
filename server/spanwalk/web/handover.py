"""The hand-over report: what it would tell now, and itself as PDF and workbook."""

from __future__ import annotations

from dataclasses import asdict

from flask import Response, current_app

from spanwalk.messages.handover import (
    HandoverAsked,
    HandoverOut,
    HandoverQuery,
    ProgressAsked,
    ProgressOut,
    ProgressQuery,
)
from spanwalk.services.handover.making import made_pdf, made_workbook, text_signed, told
from spanwalk.services.handover.progress import progress_of
from spanwalk.services.handover.told import DONE, AcceptedTold
from spanwalk.storage.photos import PhotoStore
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, asks
from spanwalk.web.entered import entered_again
from spanwalk.web.files import XLSX, downloaded
from spanwalk.web.own_language import in_own_language

bp = Endpoints("handover", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Hand over")
OPEN_MOST = 300


@bp.route("/handover")
@requires(Right.READ)
@answers({200: HandoverOut})
@in_own_language
def in_short(site_id: str) -> Response:
    """What the report would tell now: how many fixtures are done, and what is open."""
    report = told(current_member())
    return json_answer(
        {
            "fixtures": len(report.fixtures),
            "done": report.counted().get(DONE, 0),
            "left_out": report.fixtures_left_out,
            "photos": len(report.photos),
            "releases": len(report.releases),
            "tests_open": report.tests.open,
            "open": [asdict(each) for each in report.open[:OPEN_MOST]],
            "open_in_all": len(report.open),
            "closed": len(report.closed),
            "accepted": [_accepted(each) for each in report.accepted],
        }
    )


def _accepted(told: AcceptedTold) -> dict[str, object]:
    names = ("id", "covers", "name", "day", "how", "content", "whole", "fixtures", "done", "open", "holds")
    return {name: getattr(told, name) for name in names} | {"changes": len(told.was) + len(told.now)}


@bp.route("/acceptances/<uuid:acceptance_id>.txt")
@requires(Right.READ)
@entered_again
@answers({200: "application/octet-stream"})
def signed(site_id: str, acceptance_id: str) -> Response:
    """What was signed, byte for byte: the SHA-256 of this file is the one that the signature names."""
    data = text_signed(current_member(), acceptance_id)
    return downloaded(data, "application/octet-stream", f"spanwalk-signed-{acceptance_id[:8]}.txt")


@bp.route("/handover/progress")
@requires(Right.READ)
@asks(ProgressQuery)
@answers({200: ProgressOut})
def progress(site_id: str, query: ProgressAsked) -> Response:
    """How far a report is that somebody asked for."""
    done, of = progress_of(current_member().site_id, query["asked"])
    return json_answer({"done": done, "of": of})


@bp.route("/handover.pdf")
@requires(Right.READ)
@entered_again
@asks(HandoverQuery)
@answers({200: "application/pdf"})
@in_own_language
def report(site_id: str, query: HandoverAsked) -> Response:
    """The report as a PDF; energy and money only to roles that read the sums of releases."""
    store: PhotoStore = current_app.extensions["spanwalk-photos"]
    data = made_pdf(current_member(), query["money"] == "yes", store, query["asked"])
    return downloaded(data, "application/pdf", "spanwalk-hand-over.pdf")


@bp.route("/handover.xlsx")
@requires(Right.READ)
@entered_again
@asks(HandoverQuery)
@answers({200: XLSX})
@in_own_language
def workbook(site_id: str, query: HandoverAsked) -> Response:
    """The same data as a workbook."""
    data = made_workbook(current_member(), query["money"] == "yes", query["asked"])
    return downloaded(data, XLSX, "spanwalk-hand-over.xlsx")
