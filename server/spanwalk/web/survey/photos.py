"""Photos: whole, by their hash, in and out."""

from __future__ import annotations

from flask import Response, current_app, request

from spanwalk.messages.answers import PhotoOut
from spanwalk.messages.bodies import PhotoAsked, PhotoQuery
from spanwalk.services.photos.photos import get_photo, put_photo
from spanwalk.storage.photos import PhotoStore
from spanwalk.telemetry.counting import count, observe
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks

bp = Endpoints("photos", __name__, url_prefix="/api/sites/<uuid:site_id>/photos", description="Photos")
BYTES = {"type": "string", "format": "binary"}


def _store() -> PhotoStore:
    store: PhotoStore = current_app.extensions["spanwalk-photos"]
    return store


@bp.route("/<sha256>", methods=("PUT",))
@bp.doc(requestBody={"required": True, "content": {"image/jpeg": {"schema": BYTES}}})
@requires(Right.RECALL, of_shut_out=True)
@answers({200: PhotoOut, 201: PhotoOut}, 409, 413, 422, 429)
def put(site_id: str, sha256: str) -> Response:
    """Take a photo in: 201 when it is new, 200 when it was there; either is a receipt."""
    receipt = put_photo(_store(), current_member(), sha256, request.get_data())
    count("photos_received", new="yes" if receipt.new else "no")
    observe("photo_bytes", receipt.bytes)
    return json_answer({"sha256": receipt.sha256, "bytes": receipt.bytes}, 201 if receipt.new else 200)


@bp.route("/<sha256>", methods=("GET",))
@requires(Right.RECALL)
@asks(PhotoQuery)
@answers({200: "image/jpeg", 304: None})
def get(site_id: str, sha256: str, query: PhotoAsked) -> Response:
    """A photo, or with `?size=thumb` a small one. HEAD says whether it has arrived."""
    small = query.get("size") == "thumb"
    answer = Response(get_photo(_store(), current_member(), sha256, small), mimetype="image/jpeg")
    # A browser that keeps it shows it to whoever signs in next, and whatever they may see: the page has its own copy.
    answer.headers["Cache-Control"] = "no-store"
    answer.headers["Content-Disposition"] = f'inline; filename="{sha256[:12]}.jpg"'
    answer.add_etag()
    answer.make_conditional(request)
    return answer
