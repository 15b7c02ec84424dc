"""One text for one value: what hashes and digests are taken of. Twin: pwa/sync/canonical.js."""

from __future__ import annotations

import hashlib
import json

NUMBER_LEAST = 0.0001
NUMBER_MOST = 1e15
"""Between these (and at zero) Python and JavaScript write a number alike."""


def canonical(value: object) -> str:
    """Write a JSON value in its one canonical form.

    Keys sorted, no spaces, nothing escaped that need not be, whole numbers without a point.

    Parameters
    ----------
    value : JSON value
        Keys in plain ASCII; numbers as `tidy` leaves them.

    Returns
    -------
    str
        The text.

    Examples
    --------
    >>> canonical({"b": 1.5, "a": ["é", True]})
    '{"a":["é",true],"b":1.5}'
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def tidy(value: object) -> object:
    """The same value with whole numbers as integers, as JavaScript would write them.

    Examples
    --------
    >>> tidy({"watts": 32.0, "list": [-0.0, 1.25]})
    {'watts': 32, 'list': [0, 1.25]}
    """
    if isinstance(value, float):
        return int(value) if value.is_integer() and abs(value) < NUMBER_MOST else value
    if isinstance(value, dict):
        return {key: tidy(item) for key, item in value.items()}
    if isinstance(value, list):
        return [tidy(item) for item in value]
    return value


def sha256_of(text: str) -> str:
    """SHA-256 of a text in UTF-8, in lower-case hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def operation_hash(operation: dict[str, object]) -> str:
    """Hash of what an operation says: all of it but its id and what it was formerly called."""
    return sha256_of(canonical({k: v for k, v in operation.items() if k not in ("id", "formerly")}))


def same_value(left: object, right: object) -> bool:
    """Whether two values are one. True is not 1, and 1.0 is 1."""
    return bool(left == right) and canonical(tidy(left)) == canonical(tidy(right))
