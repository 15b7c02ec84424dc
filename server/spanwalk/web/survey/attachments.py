"""Files beside a site's records: in whole, by their hash; out as downloads alone, never shown by a browser."""

from __future__ import annotations

from flask import Response, current_app, request

from spanwalk.messages.answers import PhotoOut
from spanwalk.services.attachments.attachments import ENDINGS, get_attachment, put_attachment
from spanwalk.storage.photos import PhotoStore
from spanwalk.web.files.files import downloaded
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers
from spanwalk.web.request.entered import entered_again

bp = Endpoints("attachments", __name__, url_prefix="/api/sites/<uuid:site_id>/attachments", description="Attachments")
BYTES = {"type": "string", "format": "binary"}
FILE = "application/octet-stream"
"""Whatever it is: a browser that is told so keeps it as a file, and opens nothing of it on our address."""


def _store() -> PhotoStore:
    store: PhotoStore = current_app.extensions["spanwalk-photos"]
    return store


@bp.route("/<sha256>", methods=("GET",))
@requires(Right.READ_PLAN)
@entered_again
@answers({200: FILE}, 422)
def get(site_id: str, sha256: str) -> Response:
    """A file as it was sent, to be kept; never shown in the page."""
    data, media = get_attachment(_store(), current_member(), sha256)
    return downloaded(data, FILE, f"spanwalk-attachment-{sha256[:12]}.{ENDINGS[media]}")


@bp.route("/<sha256>", methods=("PUT",))
@bp.doc(requestBody={"required": True, "content": {FILE: {"schema": BYTES}}})
@requires(Right.DECIDE)
@answers({200: PhotoOut, 201: PhotoOut}, 409, 413, 422, 429)
def put(site_id: str, sha256: str) -> Response:
    """Take a PDF, JPEG or PNG in: 201 when it is new, 200 when it was there; either is a receipt."""
    receipt = put_attachment(_store(), current_member(), sha256, request.get_data())
    return json_answer({"sha256": receipt.sha256, "bytes": receipt.bytes}, 201 if receipt.new else 200)
