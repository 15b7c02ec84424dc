"""How deep JSON is nested: one bound for whatever comes over the wire, since what is deeper cannot be written again."""

from __future__ import annotations

from spanwalk.sync.canonical import Json

NESTED_MOST = 16
"""Objects and lists within each other, in one operation, the operation itself the first."""


def nested_beyond(value: Json, most: int = NESTED_MOST) -> bool:
    """Whether a JSON value holds more than so many objects and lists within each other.

    Examples
    --------
    >>> nested_beyond({"to": {"names": []}}, 3), nested_beyond({"to": {"names": []}}, 2)
    (False, True)
    """
    kind = type(value)
    if kind is dict:
        value = value.values()
    elif kind is not list:
        return False
    if most == 0:
        return True
    for item in value:
        kind = type(item)
        if (kind is dict or kind is list) and nested_beyond(item, most - 1):
            return True
    return False


def cut(value: Json, most: int = NESTED_MOST) -> Json:
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
