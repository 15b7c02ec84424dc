"""What stands against converting a body at all, whichever bar would go in. Twin: pwa/rules/fit/not_converted.js."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules import constants
from spanwalk.rules.record_types import GroupView, KindView, RoomView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

LED_TUBES = ("led-tube-on-mains", "led-tube-on-the-ballast", "led-tube-on-own-driver")
"""LED tubes in the sockets: a body with them may be converted, where a manager says so with a reason."""
NOT_BETWEEN_SOCKETS = tuple(constants.NOT_BETWEEN_SOCKETS)
"""Lamps that do not lie between two sockets: a bar has no row of theirs to lie in. Both ends of a U-bend are at one end of it."""
TOO_LONG = tuple(constants.TOO_LONG)
"""Lamps whose row is too long for this method, whatever was read of it: bars in line would meet far from any socket, and
nothing here proves how they are held there (common practice, no source). Two lamps of 4 ft end to end are not one of 8 ft."""


NEVER = frozenset(constants.NEVER)
"""Codes of reasons that nothing on the site can change: no cavity of such a body is worth reading."""


def is_never(kind: KindView | None) -> bool:
    """Whether bodies of a kind are never converted by this method, whatever is read of them: U-bends, circular lamps, 8 ft."""
    lamps = facet(kind, "lamps")
    return lamps.get("cap") in NOT_BETWEEN_SOCKETS or lamps.get("nominal_ft") in TOO_LONG


def not_converted(kind: KindView, room: RoomView) -> list[Said]:
    """Each reason against a conversion of such a body in such a room; none where nothing was seen that stands against it."""
    return list(_reasons(kind, room))


def led_tubes_undecided(group: GroupView, kind: KindView) -> list[Said]:
    """What holds back a body with LED tubes in its sockets: a manager's decision to convert it all the same, with a reason; none where it was made or there are no such tubes."""
    fitted, decision = facet(kind, "lamps").get("fitted"), facet(group, "decision")
    decided = decision.get("accepts_led_tubes") is True and bool(decision.get("reason"))
    return (
        [] if decided or fitted not in LED_TUBES else [{"code": "plan.blocked.led-tubes", "facts": {"fitted": fitted}}]
    )


def _reasons(kind: KindView, room: RoomView) -> Iterator[Said]:
    fitted = facet(kind, "lamps").get("fitted")
    if facet(room, "surroundings").get("hazardous") == "yes":
        yield {"code": "plan.not.hazardous", "facts": {}}
    if fitted == "built-in-led":
        yield {"code": "plan.not.built-in-led", "facts": {}}
    cap = facet(kind, "lamps").get("cap")
    if cap in NOT_BETWEEN_SOCKETS:
        yield {"code": "plan.not.between-sockets", "facts": {"cap": cap}}
    length = facet(kind, "lamps").get("nominal_ft")
    if length in TOO_LONG:
        yield {"code": "plan.not.too-long", "facts": {"length": length}}
    if fitted == "none":
        yield {"code": "plan.not.nothing-fitted", "facts": {}}
    if facet(kind, "ballast").get("leaking") == "yes":
        yield {"code": "plan.not.leaking-ballast", "facts": {}}
    if facet(kind, "wiring").get("earth") == "missing":
        yield {"code": "plan.not.no-earth", "facts": {}}
