"""The records that a value points to."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import cast

from spanwalk.records.specification import IDENTITY, PARENT, spec


def references(type_name: str, facet: str, value: dict[str, object]) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """The records that a facet's value points to: field, id, types allowed."""
    known = spec().types.get(type_name)
    if known is None:
        return
    if facet == IDENTITY and known.parent is not None:
        yield PARENT, cast("str", value[PARENT]), (known.parent,)
    for name, types in _reference_fields(type_name, facet):
        if name in value:
            yield name, cast("str", value[name]), types


@cache
def _reference_fields(type_name: str, facet: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    about = spec().types[type_name].facets.get(facet)
    if about is None:
        return ()
    return tuple((field.name, field.choices) for field in about.fields.values() if field.of.points)
