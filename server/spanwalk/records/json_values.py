"""JSON values that every side writes alike and every store keeps."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from typing import cast

import orjson

DATA_BYTES_MOST = 200_000
LETTERS_OF_A_BYTE = 6
"""Of JSON text in UTF-8, when it is written with all but plain letters escaped."""
DEPTH_MOST = 12
NUMBER_LEAST, NUMBER_MOST = 1e-4, 1e15
SHOWN_LETTERS_MOST = 80

UNSTORABLE = re.compile("[\0\ud800-\udfff]")
RECORD_ID = re.compile("[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")


def storable(text: str) -> bool:
    """Whether a text can be kept: no NUL, no half of a surrogate pair."""
    return UNSTORABLE.search(text) is None


def is_record_id(value: object) -> bool:
    """Whether a value is a UUID in lower case with hyphens."""
    return isinstance(value, str) and RECORD_ID.fullmatch(value) is not None


def plain_json(value: object, depth: int = 0) -> bool:
    """Whether a JSON value is written alike by all sides: ASCII keys, numbers from 0.0001 to 1e15."""
    if depth > DEPTH_MOST:
        return False
    if isinstance(value, dict):
        keys = all(isinstance(key, str) and key.isascii() and storable(key) for key in value)
        return keys and all(plain_json(item, depth + 1) for item in value.values())
    if isinstance(value, list):
        return all(plain_json(item, depth + 1) for item in value)
    if isinstance(value, float):
        return value == 0 or NUMBER_LEAST <= abs(value) < NUMBER_MOST
    if isinstance(value, int):
        return abs(value) < NUMBER_MOST
    return value is None or (isinstance(value, str) and storable(value))


def is_data(value: object) -> bool:
    """Whether a value is data: plain JSON but null, not too long."""
    return value is not None and plain_json(value) and len(json.dumps(value)) <= DATA_BYTES_MOST


def plainly_data(value: object) -> bool:
    """Whether a value is data beyond doubt, at one look: short, storable, its keys and numbers as all sides write them."""
    try:
        text = orjson.dumps(value)  # refuses half a surrogate pair, and keys that are not text
    except TypeError:
        return False
    short_enough = len(text) * LETTERS_OF_A_BYTE <= DATA_BYTES_MOST
    return short_enough and b"\\u0000" not in text and _plainly_inside(value, 1)


def _plainly_inside(value: object, depth: int) -> bool:
    """Whether a value is an object or a list, not too deep, of which all keys and numbers are right beyond doubt."""
    kind = type(value)
    if depth == DEPTH_MOST or (kind is not dict and kind is not list):
        return False
    if kind is dict:
        inside_of = cast("dict[str, object]", value)
        if not all(map(str.isascii, inside_of)):
            return False
        inside: Iterable[object] = inside_of.values()
    else:
        inside = cast("list[object]", value)
    for item in inside:
        kind = type(item)
        if kind is str or kind is bool or item is None:
            continue
        if kind is int or kind is float:
            number = cast("float", item)
            if not is_tidy_number(number) or (number and not NUMBER_LEAST <= abs(number) < NUMBER_MOST):
                return False
        elif not _plainly_inside(item, depth + 1):
            return False
    return True


def is_tidy_number(value: object) -> bool:
    """Whether a value is a number as all sides write it; a whole one has no point."""
    return type(value) is int or (type(value) is float and not value.is_integer())


def short(value: object) -> object:
    """A value short enough for a sentence, and printable."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return value
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=True)
    text = text.encode("utf-8", "replace").decode().replace("\0", "?")
    return text if len(text) <= SHOWN_LETTERS_MOST else text[: SHOWN_LETTERS_MOST - 3] + "..."
