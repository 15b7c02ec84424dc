"""Every refusal as problem details (RFC 9457): type, title, status, detail, code, and the facts."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from threading import Lock

import orjson
from flask import Flask, Response, request
from flask_smorest import Api, Blueprint
from sqlalchemy.exc import InterfaceError, NotSupportedError, OperationalError
from werkzeug.exceptions import HTTPException, InternalServerError, default_exceptions
from werkzeug.http import HTTP_STATUS_CODES

from spanwalk.services import refusals
from spanwalk.storage.photos import StoreFails, StoreFull
from spanwalk.telemetry.request_context import current_request
from spanwalk.web.request.own_language import own_language
from spanwalk.web.request.watching import note_refusal
from spanwalk.words import say

STATUS: dict[type[refusals.Refusal], int] = {
    refusals.WrongInput: 422,
    refusals.NotSignedIn: 401,
    refusals.NotAllowed: 403,
    refusals.NotThere: 404,
    refusals.InTheWay: 409,
    refusals.TooLarge: 413,
    refusals.TooOften: 429,
    refusals.Unavailable: 503,
    refusals.NoRoom: 507,
}
RETRY_AFTER_S = {429: 5, 503: 5, 507: 60}
log = logging.getLogger("spanwalk")


def problem(status: int, code: str, facts: Mapping[str, object] | None = None, **headers: str) -> Response:
    """A problem answer.

    Parameters
    ----------
    status : int
        HTTP status.
    code : str
        Kebab-case code; its sentence is the detail.
    facts : dict, optional
        What the sentence needs, given again for programs.
    **headers
        Further headers, underscores for hyphens.
    """
    told = facts or {}
    body = {
        **told,
        "type": f"urn:spanwalk:problem:{code}",
        "title": HTTP_STATUS_CODES.get(status, "Error"),
        "status": status,
        "detail": say(code, told, own_language()),
        "code": code,
    }
    text = orjson.dumps(body, default=str)
    answer = Response(text, status, mimetype="application/problem+json")
    answer.headers["Cache-Control"] = "no-store"
    for name, value in headers.items():
        answer.headers[name.replace("_", "-")] = value
    return answer


def refused(refusal: refusals.Refusal) -> Response:
    """A service's refusal as a problem."""
    note_refusal(refusal)
    status = next((STATUS[kind] for kind in type(refusal).__mro__ if kind in STATUS), 422)
    if status in RETRY_AFTER_S:
        wait = str(refusal.facts.get("seconds", RETRY_AFTER_S[status]))
        return problem(status, refusal.code, refusal.facts, Retry_After=wait)
    return problem(status, refusal.code, refusal.facts)


def http_error(error: HTTPException) -> Response:
    """An error of the web layer as a problem."""
    status = error.code or 500
    facts: dict[str, object] = {"method": request.method, "path": request.path}
    if status == 422:
        wrong = getattr(error, "data", {}).get("messages", {})
        return problem(422, "request-wrong", {"fields": wrong, "field": _first_field(wrong)})
    answer = problem(status, f"http-{status}", facts)
    if status == 405 and (allowed := getattr(error, "valid_methods", None)):
        answer.headers["Allow"] = ", ".join(sorted(allowed))
    return answer


def _first_field(messages: object, path: str = "") -> str:
    """The first field that is wrong, with what is wrong with it: 'json.name: Missing data…'."""
    if isinstance(messages, dict) and messages:
        name, inner = next(iter(messages.items()))
        return _first_field(inner, f"{path}.{name}" if path else str(name))
    told = messages[0] if isinstance(messages, list) and messages else messages
    return f"{path.removeprefix('json.').removeprefix('query.')}: {told}"


def _failed(error: Exception) -> Response:
    """What nobody foresaw: logged here, said without its inner text."""
    route = request.url_rule.rule if request.url_rule is not None else "none"
    log.exception("%s %s failed", request.method, route, exc_info=error)
    about = current_request()
    return problem(500, "http-500", {"method": request.method, "path": request.path, "request": about and about.id})


def _database_failed(error: OperationalError | InterfaceError) -> Response:
    log.warning("database: %s", error)
    return refused(refusals.of_database(error))


def _tables_changed(error: NotSupportedError) -> Response:
    """A statement was prepared for tables that a migration has changed since; prepared anew, it works."""
    log.warning("database: %s", error)
    return refused(refusals.Unavailable("database-busy"))


def _store_failed(error: StoreFails) -> Response:
    log.warning("photo store: %s", error)
    full = isinstance(error, StoreFull)
    return refused(refusals.NoRoom("disk-full") if full else refusals.Unavailable("photo-store-failing"))


class ProblemApi(Api):  # type: ignore[misc]
    """flask-smorest with our one form of error, and a document that is made when it is asked for."""

    def __init__(self, app: Flask) -> None:
        self._undocumented: list[tuple[Blueprint, list[object] | None]] = []
        self._documenting = Lock()
        super().__init__(app)

    DEFAULT_ERROR_RESPONSE_NAME = None

    def register_blueprint(self, blp: Blueprint, *, parameters: list[object] | None = None, **options: object) -> None:
        """Register a blueprint at once, and its part of the document when somebody first asks for that.

        The document takes longer to make than all the rest of an app, and most servers are never asked for it.
        """
        self._app.extensions["flask-smorest"]["blp_name_to_api"][blp.name] = self
        self._app.register_blueprint(blp, **options)
        self._undocumented.append((blp, parameters))

    def document(self) -> dict[str, object]:
        """The OpenAPI document of all blueprints registered so far."""
        with self._documenting:
            for blp, parameters in self._undocumented:
                blp.register_views_in_doc(self, self._app, self.spec, name=blp.name, parameters=parameters)
                self.spec.tag({"name": blp.name, "description": blp.description})
            self._undocumented.clear()
            made: dict[str, object] = self.spec.to_dict()
        return made

    def handle_http_exception(self, error: HTTPException) -> Response:
        """Answer a web error as a problem."""
        return http_error(error)

    def _register_error_handlers(self) -> None:
        """Left to `register`."""


def register(app: Flask) -> None:
    """Answer every error of this app as a problem."""
    app.register_error_handler(refusals.Refusal, refused)
    app.register_error_handler(OperationalError, _database_failed)
    app.register_error_handler(InterfaceError, _database_failed)
    app.register_error_handler(NotSupportedError, _tables_changed)
    app.register_error_handler(StoreFails, _store_failed)
    for code in default_exceptions:
        app.register_error_handler(code, http_error)
    app.register_error_handler(HTTPException, http_error)
    app.register_error_handler(InternalServerError, _failed)
    app.register_error_handler(Exception, _failed)
