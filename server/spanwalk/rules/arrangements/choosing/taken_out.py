"""What comes out of a group's bodies, and which containers it goes into."""

from __future__ import annotations

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.now import Now, has_led_tubes, mains_of
from spanwalk.rules.gear import waste
from spanwalk.rules.gear.driver_in_body import NOT_SEEN


def taken_out(body: Body, current: Now) -> waste.Waste:
    """Lamps, ballasts, starters and batteries of a group."""
    counted = body.of_kind("ballast").get("ballast_count")
    if counted == 0 and current.ballasts_each and has_led_tubes(body):
        counted = None  # A tube on the ballast has one, whatever was counted.
    return waste.waste_of(
        body.fixtures,
        body.lamps_each,
        body.of_kind("lamps"),
        body.of_kind("ballast"),
        counted,
        body.emergency_fixtures,
        current.ballasts_each,
        body.of_group("duty").get("battery", NOT_SEEN),
        waste.pcb_rule(body.settings.get("region", "not-said"), mains_of(body)),
        mains_of(body),
    )


def containers_of(out: waste.Waste) -> dict[str, float]:
    """Sort of container -> pieces that go into it: see `job_charges.CONTAINERS`.

    Lamps whose length nobody saw go with the long ones, whose container takes both; LED tubes, starters and batteries go into
    none of them. Ballasts that may hold PCB, or of which it is not known, go apart.
    """
    pieces: dict[str | None, int] = {
        CONTAINER_OF_CLASS.get(out.lamp_class): out.lamps,
        CONTAINER_OF_BALLAST[out.suspicion]: out.ballasts,
    }
    return {sort: float(count) for sort, count in pieces.items() if sort is not None and count}


CONTAINER_OF_CLASS = {
    "straight-to-4-ft": "short-lamps",
    "straight-over-4-ft": "long-lamps",
    waste.NOT_SEEN: "long-lamps",
    "u-bend": "other-lamps",
    "circular": "other-lamps",
    "compact": "other-lamps",
}
"""The recycler's class of lamps -> sort of container (common practice, no source)."""
CONTAINER_OF_BALLAST = {
    waste.NOT_SUSPECT: "ballasts",
    waste.SUSPECT: "pcb-ballasts",
    waste.NOT_KNOWN: "pcb-ballasts",
}

__all__ = ["containers_of", "taken_out"]
