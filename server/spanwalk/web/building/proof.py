"""Proof packs: for the rebate desk, for who collects the waste, power density and carbon, each as one zip."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.handover import HandoverFilesOut, ProofAsked, ProofFileIn, ProofQuery
from spanwalk.services.handover_files.wanted import WHICH_PACK, Wanted, wanted_by
from spanwalk.web.building.handover import have_made, taken, told_of
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.contract import Endpoints, answers, asks, takes
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.own_language import own_language

bp = Endpoints("proof", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Proof packs")


@bp.route("/proof/files", methods=("POST",))
@requires(Right.DECIDE)
@takes(ProofFileIn)
@answers({200: HandoverFilesOut}, 404, 429)
def make(site_id: str, body: ProofAsked) -> Response:
    """Have one pack, or all of them as one zip, made in the background; who asks while it is being made gets that one."""
    have_made(_wanted(body))
    return told_of(WHICH_PACK)


@bp.route("/proof/files", methods=("GET",))
@requires(Right.DECIDE)
@answers({200: HandoverFilesOut})
def files(site_id: str) -> Response:
    """How the packs stand."""
    return told_of(WHICH_PACK)


@bp.route("/proof.zip")
@requires(Right.DECIDE)
@entered_again
@asks(ProofQuery)
@answers({200: "application/zip"})
def packs(site_id: str, query: ProofAsked) -> Response:
    """A pack as it was last made: workbooks and pages, with attachments and small photos."""
    return taken(_wanted(query), "application/zip", f"spanwalk-proof-{query['pack']}.zip")


def _wanted(asked: ProofAsked) -> Wanted:
    return wanted_by(current_member(), asked["pack"], False, own_language())
