"""What besides its length stands against a row of bars here: moisture, width, height, dark ends, fixing? Twin: pwa/rules/fit/compatibility.js.

Only what the survey has is looked at. The plan looks at more: rows, driver, light.
"""

from __future__ import annotations

from collections.abc import Sequence

from spanwalk.rules import constants
from spanwalk.rules.fit.bar_rows import Item, bar_of, lit_ticks
from spanwalk.rules.integer_math import ceil_div
from spanwalk.rules.record_types import KindView, RoomView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

MOISTURE = constants.MOISTURE
"""What surroundings are, from the mildest on."""
LEAST_LIT_PCT = constants.LEAST_LIT_PCT
"""Least share of a cavity that bars must light [%] (common practice: see `arrangements.layout`)."""
WITHOUT_MAGNETS = ("screws", "clips")
SIDES = (("width_ticks", "suits.width"), ("height_ticks", "suits.height"))


def unsuited(row: Sequence[Item], kind: KindView, room: RoomView, cavity_ticks: int | None = None) -> list[Said]:
    """Why a row of bars does not suit a body or its room, whatever its length.

    Parameters
    ----------
    row : sequence of view records
        Its bars, with `moisture`, `width_ticks` and `height_ticks` [1/320 mm] where the catalogue has them.
    kind, room : view records
        The kind's `housing` and the room's `surroundings`.
    cavity_ticks : int or None
        Length that the row is to light [1/320 mm]; None where it is not known.

    Returns
    -------
    list of dict
        Codes and facts: `suits.moisture`, `suits.width`, `suits.height`, `suits.lit`, `suits.fixing`; empty where nothing
        that is known stands against it.

    Examples
    --------
    >>> bar = {"facets": {"bar": {"moisture": "dry", "height_ticks": 3840, "lit_ticks": 370000}}}
    >>> kind, room = {"facets": {"housing": {"height_ticks": 3839}}}, {"facets": {"surroundings": {"moisture": "wet"}}}
    >>> [reason["code"] for reason in unsuited([bar], kind, room)]
    ['suits.moisture', 'suits.height']
    """
    bars = [bar_of(item) for item in row]
    found: list[Said] = []
    here, made_for = _moisture_here(room), _made_for(row)
    if here in MOISTURE and made_for is not None and MOISTURE.index(made_for) < MOISTURE.index(here):
        found.append({"code": "suits.moisture", "facts": {"made_for": made_for, "room_is": here}})
    for side, code in SIDES:
        housing: Facet = facet(kind, "housing")
        has, needs = housing.get(side), max((bar[side] for bar in bars if side in bar), default=0)
        if has is not None and needs > has:
            found.append({"code": code, "facts": {"needs_ticks": needs, "has_ticks": has}})
    lit, wanted = lit_ticks(row), 0 if cavity_ticks is None else ceil_div(cavity_ticks * LEAST_LIT_PCT, 100)
    if lit < wanted:
        found.append({"code": "suits.lit", "facts": {"lit_ticks": lit, "wanted_ticks": wanted}})
    if facet(kind, "housing").get("magnet_holds") == "no" and _only_magnets(row):
        found.append({"code": "suits.fixing", "facts": {}})
    return found


def unsure(row: Sequence[Item], kind: KindView, room: RoomView) -> list[Said]:
    """What nobody has seen yet and may stand against a row of bars.

    Parameters
    ----------
    row : sequence of view records
        Its bars.
    kind, room : view records
        The kind's `housing` and the room's `surroundings`.

    Returns
    -------
    list of dict
        Codes and facts: `held.moisture-not-seen` where the bars are not made for the wettest, `held.magnet-not-tried` where
        only magnets would hold them.

    Examples
    --------
    >>> bar = {"facets": {"bar": {"moisture": "dry", "fixing": ["magnets", "screws"]}}}
    >>> unsure([bar], {"facets": {}}, {"facets": {}})
    [{'code': 'held.moisture-not-seen', 'facts': {'made_for': 'dry'}}]
    """
    found: list[Said] = []
    made_for = _made_for(row)
    if _moisture_here(room) not in MOISTURE and made_for not in (None, MOISTURE[-1]):
        found.append({"code": "held.moisture-not-seen", "facts": {"made_for": made_for}})
    if facet(kind, "housing").get("magnet_holds", "not-seen") == "not-seen" and _only_magnets(row):
        found.append({"code": "held.magnet-not-tried", "facts": {}})
    return found


def _moisture_here(room: RoomView) -> str | None:
    return facet(room, "surroundings").get("moisture")


def _made_for(row: Sequence[Item]) -> str | None:
    """The mildest surroundings that one of the bars is made for; None where the catalogue says nothing."""
    bars = [bar_of(item) for item in row]
    return min((bar["moisture"] for bar in bars if "moisture" in bar), key=MOISTURE.index, default=None)


def _only_magnets(row: Sequence[Item]) -> bool:
    """Whether a bar is among them that can be neither screwed nor clipped; the catalogue may say nothing of it."""
    every = [bar_of(item)["fixing"] for item in row if bar_of(item).get("fixing")]
    return bool(every) and not any(all(way in each for each in every) for way in WITHOUT_MAGNETS)


__all__ = ["unsuited", "unsure"]
