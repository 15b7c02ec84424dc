"""What besides its length stands against a row of bars here: moisture, width, height? Twin: pwa/rules/compatibility.js.

Only what the survey has is looked at. The plan looks at more: rows, fixing, driver, light.
"""

from __future__ import annotations

from collections.abc import Sequence

from spanwalk.rules import constants
from spanwalk.rules.bar_rows import Item, bar_of
from spanwalk.rules.record_types import KindView, RoomView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

MOISTURE = constants.MOISTURE
"""What surroundings are, from the mildest on."""
SIDES = (("width_ticks", "suits.width"), ("height_ticks", "suits.height"))


def unsuited(row: Sequence[Item], kind: KindView, room: RoomView) -> list[Said]:
    """Why a row of bars does not suit a body or its room, whatever its length.

    Parameters
    ----------
    row : sequence of view records
        Its bars, with `moisture`, `width_ticks` and `height_ticks` [1/320 mm] where the catalogue has them.
    kind, room : view records
        The kind's `housing` and the room's `surroundings`.

    Returns
    -------
    list of dict
        Codes and facts: `suits.moisture`, `suits.width`, `suits.height`; empty where nothing that is known stands against it.

    Examples
    --------
    >>> bar = {"facets": {"bar": {"moisture": "dry", "height_ticks": 3840}}}
    >>> kind, room = {"facets": {"housing": {"height_ticks": 3839}}}, {"facets": {"surroundings": {"moisture": "wet"}}}
    >>> [reason["code"] for reason in unsuited([bar], kind, room)]
    ['suits.moisture', 'suits.height']
    """
    bars = [bar_of(item) for item in row]
    found: list[Said] = []
    here = facet(room, "surroundings").get("moisture")
    made_for = min((bar["moisture"] for bar in bars if "moisture" in bar), key=MOISTURE.index, default=None)
    if here in MOISTURE and made_for is not None and MOISTURE.index(made_for) < MOISTURE.index(here):
        found.append({"code": "suits.moisture", "facts": {"made_for": made_for, "room_is": here}})
    for side, code in SIDES:
        housing: Facet = facet(kind, "housing")
        has, needs = housing.get(side), max((bar[side] for bar in bars if side in bar), default=0)
        if has is not None and needs > has:
            found.append({"code": code, "facts": {"needs_ticks": needs, "has_ticks": has}})
    return found


__all__ = ["unsuited"]
