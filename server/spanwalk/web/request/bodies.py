"""Bodies in and out: JSON read strictly, long answers zipped when the other side can unzip."""

from __future__ import annotations

import gzip

import orjson
from flask import Response, request

from spanwalk.services.refusals import WrongInput

GZIP_FROM_BYTES = 1000
GZIP_LEVEL = 5


def read_json() -> dict[str, object]:
    """The request's body as an object.

    Raises
    ------
    WrongInput
        Not JSON, or not an object.
    """
    try:
        body = orjson.loads(request.get_data())
    except orjson.JSONDecodeError:
        raise WrongInput("body-not-json") from None
    if not isinstance(body, dict):
        raise WrongInput("body-not-object")
    return body


def json_answer(body: object, status: int = 200) -> Response:
    """An answer of JSON, zipped if it is long and the other side takes gzip."""
    text = body.encode() if isinstance(body, str) else orjson.dumps(body)
    return zipped(Response(text, status, mimetype="application/json"))


def zipped(answer: Response) -> Response:
    """The same answer, zipped where that helps and is accepted."""
    answer.vary.add("Accept-Encoding")
    data = answer.get_data()
    if len(data) >= GZIP_FROM_BYTES and request.accept_encodings.quality("gzip") > 0:
        answer.set_data(gzip.compress(data, GZIP_LEVEL, mtime=0))
        answer.headers["Content-Encoding"] = "gzip"
    return answer
