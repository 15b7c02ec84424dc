"""The archive of a site: made in the background, told how far it is, taken away; an owner's."""

from __future__ import annotations

from flask import Flask, Response, current_app

from spanwalk.messages.archives import ArchiveOut
from spanwalk.services.archives.making import archive_pieces, archive_told, begin_archive, make_archive
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import PhotoStore
from spanwalk.web.files.files import streamed
from spanwalk.web.request.auth import Right, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers
from spanwalk.web.request.entered import entered_again

bp = Endpoints("archives", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Archives of sites")


def go_on(site_id: str, begun: str | None) -> None:
    """Make the archive that was begun in a transaction that stands now; None: another is being made."""
    if begun is not None:
        app: Flask = current_app._get_current_object()  # type: ignore[attr-defined]
        make_archive(app, site_id, begun)


@bp.route("/archive", methods=("POST",))
@requires(Right.SERVER)
@answers({200: ArchiveOut})
def make(site_id: str) -> Response:
    """Have an archive made in the background; who asks while one is being made gets that one."""
    with writing() as session:
        begun = begin_archive(session, site_id, current_person().id)
    go_on(site_id, begun)
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
    return streamed(size, pieces, "application/zip", f"spanwalk-archive-{site_id[:8]}.zip")
