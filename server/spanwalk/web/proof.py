"""Proof packs: for the rebate desk, for who collects the waste, power density and carbon, as one zip."""

from __future__ import annotations

from flask import Response, current_app

from spanwalk.messages.handover import ProofAsked, ProofQuery
from spanwalk.services.proof.packs import proof_zip
from spanwalk.storage.photos import PhotoStore
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.contract import Endpoints, answers, asks
from spanwalk.web.entered import entered_again
from spanwalk.web.files import downloaded

bp = Endpoints("proof", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Proof packs")


@bp.route("/proof.zip")
@requires(Right.DECIDE)
@entered_again
@asks(ProofQuery)
@answers({200: "application/zip"})
def packs(site_id: str, query: ProofAsked) -> Response:
    """One pack, or all of them, as workbooks and pages, with attachments and small photos."""
    store: PhotoStore = current_app.extensions["spanwalk-photos"]
    wanted = () if query["pack"] == "all" else (query["pack"],)
    data = proof_zip(current_member(), wanted, store, query["asked"])
    return downloaded(data, "application/zip", f"spanwalk-proof-{query['pack']}.zip")
