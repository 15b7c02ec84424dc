"""A copy of a whole site, out and in; an owner's."""

from __future__ import annotations

import tempfile
from pathlib import Path

from flask import Response, current_app, request

from spanwalk.messages.files import SiteBroughtOut
from spanwalk.services.files.site_copy import bring_site, copy_site
from spanwalk.storage.database import reading, writing
from spanwalk.web.files.files import downloaded
from spanwalk.web.request.auth import Right, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.limits import COPY_BYTES_MOST

bp = Endpoints("site_copy", __name__, url_prefix="/api", description="Copies of sites")
"""More comes in by the command `spanwalk bring-site`."""
BYTES = {"type": "string", "format": "binary"}


@bp.route("/sites/<uuid:site_id>/copy.zip", methods=("GET",))
@requires(Right.SERVER)
@entered_again
@answers({200: "application/zip"})
def out(site_id: str) -> Response:
    """The whole site: records, log, checks, photos, tables, as one zip that says what is in it."""
    with tempfile.TemporaryDirectory(prefix="spanwalk-") as folder:
        path = Path(folder) / "copy.zip"
        with reading() as session:
            copy_site(session, current_app.extensions["spanwalk-photos"], site_id, path)
        return downloaded(path.read_bytes(), "application/zip", f"spanwalk-site-{site_id[:8]}.zip")


@bp.route("/site-copies", methods=("POST",))
@bp.doc(requestBody={"required": True, "content": {"application/zip": {"schema": BYTES}}})
@requires(Right.SERVER)
@entered_again
@answers({201: SiteBroughtOut}, 409, 413, 422, 429)
def bring() -> Response:
    """Take a copy of a site in, with its ids; refused where the site is here already, or the copy is not whole."""
    request.max_content_length = COPY_BYTES_MOST
    with tempfile.TemporaryDirectory(prefix="spanwalk-") as folder:
        path = Path(folder) / "copy.zip"
        with path.open("wb") as kept:
            while some := request.stream.read(1_000_000):
                kept.write(some)
        with writing() as session:
            made = bring_site(session, current_app.extensions["spanwalk-photos"], path, current_person().id)
    return json_answer({"id": made}, 201)
