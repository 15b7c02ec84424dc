"""Which bars of the catalogue could lie in one cavity, alone or end to end? Twin: pwa/rules/fit/bar_rows.js."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from spanwalk.rules import constants
from spanwalk.rules.fit.fit import joints_ticks
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.record_view import Facet

Item = CatalogueItemView
MOST_BARS = constants.MOST_BARS
"""A driver feeds one to four bars."""
MOST_ROWS = constants.MOST_ROWS
"""Of a huge catalogue, the rows of several bars that light most."""
OVER_TICKS = constants.OVER_TICKS
"""Several bars up to 3 mm too long are still shown, with what is missing."""
SECTION = ("width_ticks", "height_ticks", "cover")
"""Bars end to end have one section and one cover, or they would not line up."""


def bar_rows(items: Sequence[Item], cavity_ticks: int | None) -> list[list[Item]]:
    """Rows of bars worth judging in a cavity.

    A bar by itself, unless it is a third longer than the cavity; two to four bars of one section, of at most two
    sorts, the longer first. Rows that leave more than a third of the cavity dark are left out.

    Parameters
    ----------
    items : sequence of view records
        Catalogue items with a `bar` facet.
    cavity_ticks : int or None
        Shortest cavity read, or the lamp's length; None where neither is known: then only bars by themselves.

    Returns
    -------
    list of list
        Items of each row in the order they lie.
    """
    ordered = sorted(
        (item for item in items if is_offered(item)), key=lambda item: (-bar_of(item)["length_ticks"], item["id"])
    )
    if cavity_ticks is None:
        return [[item] for item in ordered]
    single = [[item] for item in ordered if 3 * bar_of(item)["length_ticks"] <= 4 * cavity_ticks]
    several = [row for row in _several(ordered, cavity_ticks + OVER_TICKS) if _is_lit(row, cavity_ticks)]
    several.sort(key=lambda row: (-lit_ticks(row), len(row), ids(row)))
    return [row for row in single if _is_lit(row, cavity_ticks)] + several[:MOST_ROWS]


def _several(ordered: Sequence[Item], most_ticks: int) -> Iterator[list[Item]]:
    """Two to four bars of one section, at most two sorts, the longer first, no longer than they may be."""
    return (row for row in _every(ordered, most_ticks) if nominal_ticks(row) <= most_ticks)


def _every(ordered: Sequence[Item], most_ticks: int) -> Iterator[list[Item]]:
    for at, long in enumerate(ordered):
        for long_count in range(1, min(MOST_BARS, most_ticks // bar_of(long)["length_ticks"]) + 1):
            if long_count > 1:
                yield [long] * long_count
            for short in ordered[at + 1 :]:
                if all(bar_of(short)[name] == bar_of(long)[name] for name in SECTION):
                    for short_count in range(1, MOST_BARS - long_count + 1):
                        yield [long] * long_count + [short] * short_count


def _is_lit(row: Sequence[Item], cavity_ticks: int) -> bool:
    """Whether at most a third of the cavity stays dark."""
    return 3 * (cavity_ticks - lit_ticks(row)) <= cavity_ticks


def is_offered(item: Item) -> bool:
    """Whether an item may be chosen: nobody said that it is not offered, is retired or was recalled.

    >>> is_offered({"facets": {"identity": {}, "retired": {"retired": True}}})
    False
    """
    facets = item["facets"]
    retired = facets.get("retired", {}).get("retired") is True
    return facets["identity"].get("offered") is not False and not retired and not facets.get("recall")


def bar_of(item: Item) -> Facet:
    """The `bar` facet of a catalogue item."""
    bar: Facet = item["facets"]["bar"]
    return bar


def lit_ticks(row: Sequence[Item]) -> int:
    """Lit length of bars end to end [1/320 mm]."""
    return sum(bar_of(item)["lit_ticks"] for item in row)


def nominal_ticks(row: Sequence[Item]) -> int:
    """Length of bars end to end, joints in it, without tolerance [1/320 mm]."""
    length: int = sum(bar_of(item)["length_ticks"] for item in row)
    return length + joints_ticks([bar_of(item) for item in row])


def ids(row: Sequence[Item]) -> list[str]:
    """Ids of the items of a row, in order."""
    return [item["id"] for item in row]


__all__ = ["bar_of", "bar_rows", "ids", "is_offered", "lit_ticks", "nominal_ticks"]
