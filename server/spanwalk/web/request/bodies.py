"""Bodies in and out: JSON read strictly, long answers compressed when the other side can read that."""

from __future__ import annotations

import gzip
from collections.abc import Callable, Mapping

import brotli
import orjson
from flask import Response, request

from spanwalk.services.refusals import WrongInput

CODED_FROM_BYTES = 1000
BROTLI_QUALITY, GZIP_LEVEL = 5, 5
CODINGS: Mapping[str, Callable[[bytes], bytes]] = {
    "br": lambda data: bytes(brotli.compress(data, quality=BROTLI_QUALITY)),
    "gzip": lambda data: gzip.compress(data, GZIP_LEVEL, mtime=0),
}
"""Content codings, the shortest first: of records as JSON brotli makes a fifth less than gzip in about the same time."""


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
    """An answer of JSON, compressed if it is long and the other side takes that."""
    text = body.encode() if isinstance(body, str) else orjson.dumps(body)
    return zipped(Response(text, status, mimetype="application/json"))


def zipped(answer: Response) -> Response:
    """The same answer, compressed where that helps and is accepted."""
    answer.vary.add("Accept-Encoding")
    data = answer.get_data()
    accepted = next((each for each in CODINGS if request.accept_encodings.quality(each) > 0), None)
    if len(data) >= CODED_FROM_BYTES and accepted is not None:
        answer.set_data(CODINGS[accepted](data))
        answer.headers["Content-Encoding"] = accepted
    return answer
