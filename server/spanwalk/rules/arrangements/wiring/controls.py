"""How many sensors a group takes: each serves what its sheet says it covers."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.constants import TICKS_PER_MM
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.said import Said

MM_PER_M = 1000
SENSORS = {
    "occupancy": "occupancy-sensor",
    "daylight": "daylight-sensor",
    "occupancy-and-daylight": "daylight-sensor",
}
"""Control wanted -> purpose of the accessory that does it."""


@dataclass(frozen=True)
class Sensors:
    """Sensors of a group: the item, how many, and what that rests on."""

    item: CatalogueItemView
    number: int
    told: Said


def sensor_wanted(body: Body) -> str | None:
    """The purpose of the sensor that the group's duty asks for; None where it asks for none."""
    return SENSORS.get(body.place.control_wanted)


def sensors_of(body: Body) -> Sensors | None:
    """Sensors that a group takes; None where it wants none or the catalogue offers none.

    A sensor serves the area that its item says, up to the height that it says; the group takes as many as its room's
    floor needs, and never more than one for each fixture. Groups of one room are on switches of their own and take their
    own. Where the area is not said, the room was not measured, or it is higher than the area holds for, each fixture takes
    one, as before areas were known.

    References
    ----------
    .. [1] Area by the sheet at a mounting height: common practice, no source.
    """
    purpose = sensor_wanted(body)
    item = None if purpose is None else body.catalogue.accessory(purpose)
    if item is None:
        return None
    facet, size = item["facets"]["accessory"], body.of_room("size")
    why = _why_one_each(facet, size)
    if why is not None:
        return Sensors(item, body.fixtures, {"code": why, "facts": {"code": code_of(item), "number": body.fixtures}})
    area_m2 = _metres(size["length_ticks"]) * _metres(size["width_ticks"])
    number = min(sensors_for(area_m2, float(facet["covers_m2"])), body.fixtures)
    facts = {
        "code": code_of(item),
        "number": number,
        "covers_m2": facet["covers_m2"],
        "area_m2": round(area_m2, 1),
        "fixtures": body.fixtures,
    }
    return Sensors(item, number, {"code": "plan.sensors.by-area", "facts": facts})


def sensors_for(area_m2: float, covers_m2: float) -> int:
    """Sensors for a floor of so much, each of which serves so much [m²]; at least one.

    >>> sensors_for(80.0, 40.0), sensors_for(80.1, 40.0), sensors_for(3.0, 40.0)
    (2, 3, 1)
    """
    return max(ceil(round(area_m2 / covers_m2, 6)), 1)


def _why_one_each(facet: Facet, size: Facet) -> str | None:
    """Why each fixture takes a sensor of its own; None where the area tells."""
    if "covers_m2" not in facet:
        return "plan.sensors.area-not-said"
    if "length_ticks" not in size or "width_ticks" not in size:
        return "plan.sensors.room-not-measured"
    if "covers_height_ticks" not in facet:
        return None
    if "height_ticks" not in size:
        return "plan.sensors.height-not-measured"
    return "plan.sensors.too-high" if size["height_ticks"] > facet["covers_height_ticks"] else None


def _metres(ticks: int) -> float:
    return ticks / TICKS_PER_MM / MM_PER_M
