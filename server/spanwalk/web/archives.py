"""The archive of a site: made in the background, told how far it is, taken away; an owner's."""

from __future__ import annotations

from flask import Flask, Response, current_app

from spanwalk.messages.archives import ArchiveOut
from spanwalk.services.archives.making import archive_pieces, archive_told, begin_archive, make_in_background
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import PhotoStore
from spanwalk.web.auth import Right, current_person, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers
from spanwalk.web.entered import entered_again

bp = Endpoints("archives", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Archives of sites")


def begin(site_id: str) -> None:
    """Have an archive made of a site, unless one is being made."""
    with writing() as session:
        made = begin_archive(session, site_id, current_person().id)
    if made is not None:
        app: Flask = current_app._get_current_object()  # type: ignore[attr-defined]
        make_in_background(app, made)


@bp.route("/archive", methods=("POST",))
@requires(Right.SERVER)
@answers({200: ArchiveOut})
def make(site_id: str) -> Response:
    """Have an archive made in the background; who asks while one is being made gets that one."""
    begin(site_id)
    return told(site_id)


@bp.route("/archive", methods=("GET",))
@requires(Right.SERVER)
@answers({200: ArchiveOut})
def told(site_id: str) -> Response:
    """How the newest archive stands."""
    with reading() as session:
        return json_answer(archive_told(session, site_id))


@bp.route("/archive.zip", methods=("GET",))
@requires(Right.SERVER)
@entered_again
@answers({200: "application/zip"})
def out(site_id: str) -> Response:
    """The newest archive, handed out part by part."""
    store: PhotoStore = current_app.extensions["spanwalk-photos"]
    with reading() as session:
        size, pieces = archive_pieces(session, store, site_id)
    answer = Response(pieces, mimetype="application/zip")
    answer.headers["Content-Length"] = str(size)
    answer.headers["Content-Disposition"] = f'attachment; filename="spanwalk-archive-{site_id[:8]}.zip"'
    answer.headers["Cache-Control"] = "no-store"
    return answer
