"""What stands against converting a body at all, whichever bar would go in. Twin: pwa/rules/not_converted.js."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.record_types import KindView, RoomView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

LED_TUBES = ("led-tube-on-mains", "led-tube-on-the-ballast")


def not_converted(kind: KindView, room: RoomView) -> list[Said]:
    """Each reason against a conversion of such a body in such a room; none where nothing was seen that stands against it."""
    return list(_reasons(kind, room))


def _reasons(kind: KindView, room: RoomView) -> Iterator[Said]:
    fitted = facet(kind, "lamps").get("fitted")
    if facet(room, "surroundings").get("hazardous") == "yes":
        yield {"code": "plan.not.hazardous", "facts": {}}
    if fitted == "built-in-led":
        yield {"code": "plan.not.built-in-led", "facts": {}}
    if fitted in LED_TUBES:
        yield {"code": "plan.not.led-tubes", "facts": {"fitted": fitted}}
    if fitted == "none":
        yield {"code": "plan.not.nothing-fitted", "facts": {}}
    if facet(kind, "ballast").get("leaking") == "yes":
        yield {"code": "plan.not.leaking-ballast", "facts": {}}
    if facet(kind, "wiring").get("earth") == "missing":
        yield {"code": "plan.not.no-earth", "facts": {}}
