"""Files brought in: sent, asked about, accepted, taken back; and templates for them."""

from __future__ import annotations

from collections.abc import Iterable

from flask import Flask, Response, current_app, request

from spanwalk.messages.files import (
    FileAnswerIn,
    FileAsked,
    FileBegunOut,
    FileQuery,
    FilesOut,
    FileStateOut,
    TemplateAsked,
    TemplateQuery,
)
from spanwalk.services.files import imports
from spanwalk.services.files.kinds import columns_of
from spanwalk.services.files.table import Asked
from spanwalk.services.files.templates import template
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks, takes

bp = Endpoints("files", __name__, url_prefix="/api/sites/<uuid:site_id>/imports", description="Files in")
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
BYTES = {"type": "string", "format": "binary"}


def _app() -> Flask:
    app: Flask = current_app._get_current_object()  # type: ignore[attr-defined]
    return app


def streamed(size: int, pieces: Iterable[bytes], media: str, name: str) -> Response:
    """A file of so many bytes, handed out piece by piece as it comes out of the store."""
    answer = downloaded(pieces, media, name)
    answer.headers["Content-Length"] = str(size)
    return answer


def downloaded(data: bytes | Iterable[bytes], media: str, name: str) -> Response:
    """Bytes to be kept as a file of a name, never from a cache."""
    answer = Response(data, mimetype=media)
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    answer.headers["Cache-Control"] = "no-store"
    return answer


@bp.route("", methods=("GET",))
@requires(Right.SURVEY)
@answers({200: FilesOut})
def kinds(site_id: str) -> Response:
    """Kinds of file with their columns, and the last files of the site."""
    with reading() as session:
        stored = imports.imports_of(session, current_member().site_id)
        taken = imports.kinds_taken(session, current_member().site_id)
    told = [
        {
            "kind": kind,
            "columns": [
                {"name": each.name, "title": each.title, "must": each.must, "measures": each.measures}
                for each in columns_of(kind).values()
            ],
        }
        for kind in taken
    ]
    return json_answer({"kinds": told, "imports": stored})


@bp.route("", methods=("POST",))
@bp.doc(requestBody={"required": True, "content": {"application/octet-stream": {"schema": BYTES}}})
@requires(Right.SURVEY)
@asks(FileQuery)
@answers({201: FileBegunOut}, 413, 429)
def begin(site_id: str, query: FileAsked) -> Response:
    """Send a file; it is read in the background, and nothing of it is written yet."""
    made = imports.begin(current_member(), query["kind"], query["name"], request.get_data(), _app())
    return json_answer({"id": made}, 201)


@bp.route("/<uuid:import_id>", methods=("GET",))
@requires(Right.SURVEY)
@answers({200: FileStateOut})
def told(site_id: str, import_id: str) -> Response:
    """How far a file is, what has to be asked, what is wrong in it, and what it would change."""
    with reading() as session:
        return json_answer(imports.import_told(session, current_member().site_id, import_id))


@bp.route("/<uuid:import_id>/answer", methods=("POST",))
@requires(Right.SURVEY)
@takes(FileAnswerIn)
@answers({204: None}, 409)
def answer(site_id: str, import_id: str, body: Asked) -> Response:
    """Say which sheet, which columns, which units or which decimal mark; the file is looked at anew."""
    imports.answer(current_member(), import_id, body, _app())
    return Response(status=204)


@bp.route("/<uuid:import_id>/accept", methods=("POST",))
@requires(Right.SURVEY)
@answers({204: None}, 409)
def accept(site_id: str, import_id: str) -> Response:
    """Write what was shown: all of it or nothing."""
    imports.accept(current_member(), import_id, _app())
    return Response(status=204)


@bp.route("/<uuid:import_id>/cancel", methods=("POST",))
@requires(Right.SURVEY)
@answers({204: None}, 409)
def cancel(site_id: str, import_id: str) -> Response:
    """Let a file go of which nothing has been written."""
    imports.cancel(current_member(), import_id)
    return Response(status=204)


@bp.route("/<uuid:import_id>/undo", methods=("POST",))
@requires(Right.SURVEY)
@answers({204: None}, 409)
def undo(site_id: str, import_id: str) -> Response:
    """Take an import back, but for what somebody built on since."""
    imports.undo(current_member(), import_id, _app())
    return Response(status=204)


@bp.route("/template.xlsx", methods=("GET",))
@requires(Right.SURVEY)
@asks(TemplateQuery)
@answers({200: XLSX})
def template_workbook(site_id: str, query: TemplateAsked) -> Response:
    """A workbook of a kind to be filled in, with an invented row."""
    return downloaded(template(query["kind"], "xlsx"), XLSX, f"spanwalk-{query['kind']}.xlsx")


@bp.route("/template.csv", methods=("GET",))
@requires(Right.SURVEY)
@asks(TemplateQuery)
@answers({200: "text/csv"})
def template_text(site_id: str, query: TemplateAsked) -> Response:
    """The same as CSV."""
    return downloaded(template(query["kind"], "csv"), "text/csv", f"spanwalk-{query['kind']}.csv")
