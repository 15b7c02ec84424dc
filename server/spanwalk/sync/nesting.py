"""How deep JSON is nested: one bound for whatever comes over the wire, since what is deeper cannot be written again."""

from __future__ import annotations

from collections.abc import Iterable
from typing import cast

NESTED_MOST = 16
"""Objects and lists within each other, in one operation, the operation itself the first."""


def nested_beyond(value: object, most: int = NESTED_MOST) -> bool:
    """Whether a JSON value holds more than so many objects and lists within each other.

    Examples
    --------
    >>> nested_beyond({"to": {"names": []}}, 3), nested_beyond({"to": {"names": []}}, 2)
    (False, True)
    """
    kind = type(value)
    if kind is dict:
        inside: Iterable[object] = cast("dict[str, object]", value).values()
    elif kind is list:
        inside = cast("list[object]", value)
    else:
        return False
    if most == 0:
        return True
    for item in inside:
        kind = type(item)
        if (kind is dict or kind is list) and nested_beyond(item, most - 1):
            return True
    return False


def cut(value: object, most: int = NESTED_MOST) -> object:
    """The same value with null where it is nested deeper.

    Examples
    --------
    >>> cut({"to": {"names": []}}, 2)
    {'to': {'names': None}}
    """
    if not isinstance(value, (dict, list)):
        return value
    if most == 0:
        return None
    if isinstance(value, dict):
        return {key: cut(item, most - 1) for key, item in value.items()}
    return [cut(item, most - 1) for item in value]
