"""The body of `some_body` as an emergency group: a pack that goes with its bar and driver, sixteen fixtures, four with a battery."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.planning.some_body import BARS_AND_DRIVER, MM, body, item
from tests.support.cards import card_of

from spanwalk.rules.arrangements.plan import plan_group, plan_in_short

Json = Any
PACK = {
    "purpose": "emergency-pack", "length_ticks": 100 * MM, "width_ticks": 30 * MM, "height_ticks": 25 * MM, "out_v_min": 20, "out_v_max": 60,
    "output_w": 10, "duration_min": 90, "volts_min": 120, "volts_max": 277, "unswitched_feed": True, "battery": "nickel-metal-hydride",
    "coldest_c": 0, "hottest_c": 50,
}  # fmt: skip
WITH_BATTERIES = {
    "count": {"count": 16},
    "duty": {
        "emergency": "battery-in-fixture",
        "emergency_positions": [1, 5, 9, 13],
        "battery": "nickel-cadmium",
        "unswitched_feed": "yes",
    },
}
ON_A_GENERATOR = {
    "count": {"count": 16},
    "duty": {"emergency": "generator-or-inverter", "emergency_positions": [2, 4], "second_source": "EP-1 circuit 4"},
}
PRICES = {"bar": 12.9, "driver": 16.4, "pack": 64, "sensor": 20}
SPACE = {"ballast_space": {"length_ticks": 430 * MM, "width_ticks": 90 * MM, "height_ticks": 40 * MM}}


def changed(base: Mapping[str, Json], **duty: Json) -> dict[str, Json]:
    """An emergency group with fields of its duty changed."""
    return {**base, "duty": {**base["duty"], **duty}}


def emergency_body(
    pack: Mapping[str, Json] | None = None, group: Mapping[str, Json] | None = None, **changes: Json
) -> Any:
    """The emergency group with fields of its pack laid over; a field None is left out."""
    merged = {name: value for name, value in {**PACK, **(pack or {})}.items() if value is not None}
    given = {
        "items": [*BARS_AND_DRIVER, item("PACK", "accessory", merged)],
        "prices": PRICES,
        "kind": SPACE,
        "settings": {"emergency_min": 90},
    }
    return body(**(given | {"group": WITH_BATTERIES if group is None else group} | changes))


def emergency_plan(
    pack: Mapping[str, Json] | None = None, group: Mapping[str, Json] | None = None, **changes: Json
) -> dict[str, Json]:
    """The plan of that group."""
    return plan_group(emergency_body(pack, group, **changes))


def emergency_card(
    pack: Mapping[str, Json] | None = None, group: Mapping[str, Json] | None = None, **changes: Json
) -> dict[str, Json]:
    """The card of that group, as a release would freeze it."""
    some = emergency_body(pack, group, **changes)
    return card_of(some, plan_in_short(some))
