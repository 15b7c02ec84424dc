"""The hand-over report: what it would tell now, and itself as PDF and workbook, made in the background and taken away."""

from __future__ import annotations

from dataclasses import asdict

from flask import Flask, Response, current_app

from spanwalk.messages.handover import (
    HandoverAsked,
    HandoverFileAsked,
    HandoverFileIn,
    HandoverFilesOut,
    HandoverOut,
    HandoverQuery,
)
from spanwalk.services.handover.making import text_signed, told
from spanwalk.services.handover.told import AcceptedTold
from spanwalk.services.handover_files.making import begin_file, make_file
from spanwalk.services.handover_files.telling import file_pieces, files_told
from spanwalk.services.handover_files.wanted import PDF, REPORTS, WORKBOOK, Wanted, wanted_by
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import PhotoStore
from spanwalk.web.files.files import XLSX, downloaded, streamed
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks, takes
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.own_language import in_own_language, own_language

bp = Endpoints("handover", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Hand over")


@bp.route("/handover")
@requires(Right.READ)
@answers({200: HandoverOut})
@in_own_language
def in_short(site_id: str) -> Response:
    """What the report would tell now: how many fixtures are done, and what is open."""
    report = told(current_member())
    return json_answer(
        {
            "fixtures": report.fixtures,
            "done": report.done,
            "left_out": report.left_out,
            "photos": report.photos,
            "releases": report.releases,
            "tests_open": report.tests_open,
            "open": [asdict(each) for each in report.open],
            "open_in_all": report.open_in_all,
            "closed": report.closed,
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


@bp.route("/handover/files", methods=("POST",))
@requires(Right.READ)
@takes(HandoverFileIn)
@answers({200: HandoverFilesOut}, 404, 429)
def make(site_id: str, body: HandoverFileAsked) -> Response:
    """Have the report or its workbook made in the background; who asks while it is being made gets that one."""
    have_made(wanted_by(current_member(), body["form"], body["money"], own_language()))
    return told_of(REPORTS)


@bp.route("/handover/files", methods=("GET",))
@requires(Right.READ)
@answers({200: HandoverFilesOut})
def files(site_id: str) -> Response:
    """How the report and its workbook stand, with and without money."""
    return told_of(REPORTS)


@bp.route("/handover.pdf")
@requires(Right.READ)
@entered_again
@asks(HandoverQuery)
@answers({200: "application/pdf"})
def report(site_id: str, query: HandoverAsked) -> Response:
    """The report as it was last made; energy and money only to roles that read the sums of releases."""
    wanted = wanted_by(current_member(), PDF, query["money"] == "yes", own_language())
    return taken(wanted, "application/pdf", "spanwalk-hand-over.pdf")


@bp.route("/handover.xlsx")
@requires(Right.READ)
@entered_again
@asks(HandoverQuery)
@answers({200: XLSX})
def workbook(site_id: str, query: HandoverAsked) -> Response:
    """The same data as a workbook, as it was last made."""
    wanted = wanted_by(current_member(), WORKBOOK, query["money"] == "yes", own_language())
    return taken(wanted, XLSX, "spanwalk-hand-over.xlsx")


def have_made(wanted: Wanted) -> None:
    """Have a file of the member's site made, unless it is being made."""
    member = current_member()
    with writing() as session:
        begun = begin_file(session, member.site_id, member.person_id, wanted)
    if begun is not None:
        app: Flask = current_app._get_current_object()  # type: ignore[attr-defined]
        make_file(app, member.site_id, begun, wanted)


def told_of(among: tuple[str, ...]) -> Response:
    """How files stand, as the member may read them."""
    with reading() as session:
        return json_answer({"files": files_told(session, current_member(), among, own_language())})


def taken(wanted: Wanted, media: str, name: str) -> Response:
    """A file of the member's site, handed out part by part."""
    store: PhotoStore = current_app.extensions["spanwalk-photos"]
    with reading() as session:
        size, pieces = file_pieces(session, store, current_member().site_id, wanted)
    return streamed(size, pieces, media, name)
