"""What an endpoint takes and answers: said once above its view, read by it, and written into the OpenAPI document."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import wraps
from typing import TypeVar

from apispec.ext.marshmallow.openapi import OpenAPIConverter
from flask import request
from flask_smorest import Blueprint
from marshmallow import Schema, ValidationError, fields

from spanwalk.messages.answers import ProblemOut
from spanwalk.messages.forms import Message, first_wrong
from spanwalk.messages.sync import BY_KIND, AnyOperation
from spanwalk.services.refusals import WrongInput
from spanwalk.telemetry.request_context import hide
from spanwalk.web.request.auth import SAFE_METHODS
from spanwalk.web.request.bodies import read_json

View = TypeVar("View", bound=Callable[..., object])
Told = type[Message] | str | tuple[str, ...] | None
"""What is answered: a message (JSON), a media type (bytes) or one of several, or nothing."""
SECRET = frozenset({"password", "old", "secret", "code", "passkey"})
"""Fields whose value no answer repeats, and no log line."""
OWN_PAGE = {
    "in": "header",
    "name": "Sec-Fetch-Site",
    "required": True,
    "schema": {"type": "string", "enum": ["same-origin", "none"]},
    "description": "On every change. A browser sets it by itself; another client says `none`.",
}
ANSWERS = {200: "Done", 201: "Made", 204: "Done; nothing to tell", 304: "The asker has it", 503: "Not now"}
PROBLEMS = {
    401: "Nobody is signed in, or the sign-in has ended",
    403: "Not allowed to who asks, or asked by another site's page",
    404: "Not there, or not to be known of by who asks",
    409: "In the way of how the server stands",
    413: "More than is taken at once",
    422: "Wrong: which field, its value, and what would be right",
    429: "Too many tries; Retry-After says how long to wait",
    503: "Cannot be done now; Retry-After says when to ask again",
    507: "No room is left",
}


def takes(message: type[Message]) -> Callable[[View], View]:
    """Hand a view its JSON body as `body`, read by a message.

    Parameters
    ----------
    message : type of Message
        What the body must be; the view gets what it loads.
    """
    return _reading("body", "body-field-wrong", message(), read_json, requestBody=json_body(message))


def json_body(message: type[Message]) -> dict[str, object]:
    """A JSON body, documented by a message."""
    return {"required": True, "content": {"application/json": {"schema": message}}}


def asks(message: type[Message]) -> Callable[[View], View]:
    """Hand a view its query as `query`, read by a message."""
    return _reading("query", "query-wrong", message(), request_query, parameters=[{"in": "query", "schema": message}])


def request_query() -> Mapping[str, object]:
    """The query of this request; of what is named twice, the first."""
    return request.args.to_dict()


def _reading(
    name: str, code: str, schema: Schema, read: Callable[[], Mapping[str, object]], **documented: object
) -> Callable[[View], View]:
    def decorate(view: View) -> View:
        @wraps(view)
        def reading(*args: object, **kwargs: object) -> object:
            return view(*args, **kwargs, **{name: load(schema, read(), code)})

        reading.takes = name  # type: ignore[attr-defined]
        described: View = Blueprint.doc(**documented)(reading)
        return described

    return decorate


def load(schema: Schema, sent: Mapping[str, object], code: str) -> dict[str, object]:
    """What was sent, read by a message.

    Raises
    ------
    WrongInput
        The first field that is wrong, with its value and what would be right.
    """
    hide(*(sent[name] for name in SECRET & sent.keys()))
    try:
        loaded: dict[str, object] = schema.load(sent)
    except ValidationError as wrong:
        found = first_wrong(schema, wrong.messages_dict, sent)
        hidden = {"value": "not shown"} if found.field in SECRET else {}
        raise WrongInput(code, **(found.facts | hidden)) from None
    return loaded


def answers(told: Mapping[int, Told], *problems: int) -> Callable[[View], View]:
    """Document what a view answers.

    Parameters
    ----------
    told : mapping of status to message or media type
        A message (JSON), a media type (bytes), several of them, or None (no body).
    *problems : int
        Statuses of refusals that `contract` does not find out by itself: see `problems_of`.
    """

    def decorate(view: View) -> View:
        for status, what in told.items():
            view = _answer(status, what)(view)
        view.problems = problems  # type: ignore[attr-defined]
        return view

    return decorate


def _answer(status: int, what: Told) -> Callable[[View], View]:
    response: dict[str, object] = {"description": ANSWERS[status]}
    if isinstance(what, str | tuple):
        media = (what,) if isinstance(what, str) else what
        response["content"] = {each: {"schema": _form_of(each)} for each in media}
    elif what is not None:
        response["content"] = {"application/json": {"schema": what}}
    described: Callable[[View], View] = Blueprint.doc(responses={status: response})
    return described


def _form_of(media: str) -> dict[str, str]:
    return {"type": "string"} if media.startswith("text/") else {"type": "string", "format": "binary"}


class Endpoints(Blueprint):  # type: ignore[misc]
    """A blueprint whose endpoints are documented with all that they may refuse, and with what a change needs."""

    @staticmethod
    def doc(**documented: object) -> Callable[[View], View]:
        """Write more of an endpoint into the document."""
        decorate: Callable[[View], View] = Blueprint.doc(**documented)
        return decorate

    def route(self, rule: str, *, methods: tuple[str, ...] = ("GET",), **options: object) -> Callable[[View], View]:
        """Route one method of an address to a view that `requires` a right."""
        register = super().route(rule, methods=list(methods), **options)
        (method,) = methods
        path = f"{self.url_prefix or ''}{rule}"

        def decorate(view: View) -> View:
            guarded = view.right.name != "OPEN"  # type: ignore[attr-defined]
            statuses = problems_of(method, path, guarded, getattr(view, "takes", ""), getattr(view, "problems", ()))
            told: dict[str, object] = {"responses": {status: problem_response(status) for status in statuses}}
            told["security"] = [{"session": []}] if guarded else []
            view = Blueprint.doc(**told)(view)
            if method not in SAFE_METHODS:
                view = _with_parameter(view, OWN_PAGE)
            registered: View = register(view)
            return registered

        return decorate


def _with_parameter(view: View, parameter: dict[str, object]) -> View:
    before = getattr(view, "_apidoc", {}).get("manual_doc", {}).get("parameters", [])
    described: View = Blueprint.doc(parameters=[*before, parameter])(view)
    return described


def problems_of(method: str, path: str, guarded: bool, reads: str, own: tuple[int, ...]) -> list[int]:
    """The statuses by which an endpoint may refuse: those it names, and those that follow from what it is.

    Parameters
    ----------
    method, path : str
        As the server routes them.
    guarded : bool
        Whether it needs a right.
    reads : str
        `body` or `query` where it reads one.
    own : tuple of int
        Those it names.
    """
    found = {503, *own}
    if guarded:
        found |= {401, 403}
    if method not in SAFE_METHODS:
        found |= {403, 507}
    if "<" in path:
        found |= {404}
    if reads:
        found |= {422}
    if reads == "body":
        found |= {413}
    return sorted(found)


def one_of_the_kinds(converter: OpenAPIConverter, field: fields.Field[object], **_: object) -> dict[str, object]:
    """How apispec shows an operation: one of three messages, by its `kind`."""
    if not isinstance(field, AnyOperation):
        return {}
    resolve: Callable[[object], dict[str, str]] = converter.resolve_nested_schema
    shown = {kind: resolve(message) for kind, message in BY_KIND.items()}
    mapping = {kind: each["$ref"] for kind, each in shown.items()}
    return {"oneOf": list(shown.values()), "discriminator": {"propertyName": "kind", "mapping": mapping}}


def problem_response(status: int) -> dict[str, object]:
    """A refusal as the document shows it."""
    return {"description": PROBLEMS[status], "content": {"application/problem+json": {"schema": ProblemOut}}}
