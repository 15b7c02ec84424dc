"""What dims the group, judged against the released drivers. Twin: pwa/rules/since_release/control.js."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules import constants
from spanwalk.rules.since_release.seen import LOOK, STOP, Change, Seen, change, said_by

DIMS = tuple(constants.DIMS)
"""Controls before a group that dim it, or may: by which signal, another field says."""
SURELY_DIMS = tuple(constants.SURELY_DIMS)
"""Those of them that are nothing but dimmers: a signal of none contradicts them."""
NO_SIGNAL = (None, "none")


def dimmer(seen: Seen) -> Iterator[Change]:
    """A dimmer that the released driver does not take, or of which nobody says by what it dims.

    A driver that is not made for a dimmer before it can overheat, flicker or fail; one for another signal does too. Where the
    body has no driver of its own, nobody has judged the neighbour's by it: that stops as well.
    """
    signal = seen.now("group", "duty", "dimming")
    was, control = seen.before("group", "duty", "control_now"), seen.now("group", "duty", "control_now")
    found = seen.before("group", "duty", "dimming")
    said = said_by(seen.group, "duty")
    drivers = [seen.item(each).get("dimming") for each in seen.items("drivers")]
    if signal not in NO_SIGNAL and not _is_taken(signal, found, drivers):
        yield change("group.duty.dimming", STOP, found, signal, said)
    elif signal != found:
        yield change("group.duty.dimming", LOOK, found, signal, said)
    if control != was:
        yield change(
            "group.duty.control_now", STOP if _is_unknown_dimmer(control, signal) else LOOK, was, control, said
        )


def _is_taken(signal: object, found: object, drivers: list[object]) -> bool:
    """Whether each driver takes the signal; without a driver here only one that was there at the release."""
    return all(each == signal for each in drivers) if drivers else signal == found


def _is_unknown_dimmer(control: object, signal: object) -> bool:
    """Whether something dims, or may, and no signal is named that was judged."""
    return control in SURELY_DIMS if signal == "none" else signal is None and control in DIMS
