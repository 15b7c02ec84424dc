"""JSON text in and out of the database and the wire, fast. The same text as `sync.canonical`, tested so."""

from __future__ import annotations

from typing import Any

import orjson


def dumps(value: object) -> str:
    """JSON text, keys sorted."""
    return orjson.dumps(value, option=orjson.OPT_SORT_KEYS).decode()


# Any: our own text from the database; who reads it names what stands in it.
def loads(text: str | bytes) -> Any:
    """The value of a JSON text."""
    return orjson.loads(text)
