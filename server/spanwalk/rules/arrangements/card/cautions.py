"""The cautions that go with a conversion, each with the step of the work at which it is read.

This table is the one place where a caution's condition and its step stand; a crew's card carries them in its steps.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.candidate import Candidate
from spanwalk.rules.arrangements.now import has_led_tubes, mains_of
from spanwalk.rules.fit.by_lamp import is_by_lamp
from spanwalk.rules.gear.driver_in_body import DIMS, NOT_SEEN, WITHOUT_A_PAIR
from spanwalk.rules.gear.emergency import BATTERY, DUTIES, SECOND_SOURCE
from spanwalk.rules.gear.waste import SUSPECT, pcb_rule, suspicion_of

Proposal = Candidate | None


@dataclass(frozen=True)
class Caution:
    """A caution of the work.

    Parameters
    ----------
    name : str
        Its sentence is `plan.caution.<name>`.
    step : str
        The step at which it is read, `plan.step.<step>`, or several parted by spaces, of which the first on a card counts;
        before all steps where a card lacks them.
    holds : callable
        Whether it belongs to a group with its first candidate.
    """

    name: str
    step: str
    holds: Callable[[Body, Proposal], bool]


def _always(_body: Body, _proposal: Proposal) -> bool:
    return True


def _volts(body: Body) -> str:
    return str(body.of_group("supply").get("volts", NOT_SEEN))


def _is_high_volts(body: Body, _proposal: Proposal) -> bool:
    """By the survey, or, where nobody has seen the supply, by the label of the ballast."""
    mark = body.of_kind("ballast").get("volts_mark", NOT_SEEN)
    return _volts(body) in ("347", "400", "480") or (_volts(body) == NOT_SEEN and mark in ("347", "347-480"))


def _fits_by_lamp(_body: Body, proposal: Proposal) -> bool:
    return proposal is not None and is_by_lamp(proposal.layout.fit)


def _is_dc(body: Body, _proposal: Proposal) -> bool:
    return _volts(body) == "dc" or body.emergency == "central-battery"


def _is_controlled_emergency(body: Body, _proposal: Proposal) -> bool:
    return body.emergency in DUTIES and body.of_group("duty").get("control_now", NOT_SEEN) not in ("switch", NOT_SEEN)


def _is_dimmed_emergency(body: Body, _proposal: Proposal) -> bool:
    return body.emergency in DUTIES and body.of_group("duty").get("dimming", NOT_SEEN) not in ("none", NOT_SEEN)


def _shares_a_ballast(body: Body, _proposal: Proposal) -> bool:
    return body.feeds_neighbour or body.is_fed_by_neighbour


def _is_high(body: Body, _proposal: Proposal) -> bool:
    return body.of_room("ceiling").get("access", NOT_SEEN) in ("ladder", "platform", NOT_SEEN)


def _may_hold_pcb(body: Body, _proposal: Proposal) -> bool:
    """Magnetic gear without a mark, whatever its date; gear that nobody saw; and what the region's rule suspects, mark or not."""
    ballast = body.of_kind("ballast")
    if ballast.get("ballast", NOT_SEEN) in ("magnetic", NOT_SEEN) and ballast.get("pcb_mark") != "marked":
        return True
    return suspicion_of(ballast, pcb_rule(str(body.settings.get("region", "not-said")), mains_of(body))) == SUSPECT


def _has_capacitor(body: Body, _proposal: Proposal) -> bool:
    """One was seen, or nobody looked beside a choke, or where LED tubes took its place, on mains that may be 50 Hz."""
    ballast = body.of_kind("ballast")
    seen = ballast.get("capacitor", NOT_SEEN)
    had_choke = ballast.get("ballast") == "magnetic" or has_led_tubes(body)
    return seen == "seen" or (seen == NOT_SEEN and had_choke and mains_of(body) != 60)


def _has_lamps_with_mercury(body: Body, _proposal: Proposal) -> bool:
    return not has_led_tubes(body)


def _has_tubes_on_mains(body: Body, _proposal: Proposal) -> bool:
    return body.of_kind("lamps").get("fitted") == "led-tube-on-mains"


def _has_other_led_tubes(body: Body, proposal: Proposal) -> bool:
    return has_led_tubes(body) and not _has_tubes_on_mains(body, proposal)


def _signal(proposal: Proposal) -> str:
    """What the proposed driver is dimmed by; 'none' where it is not, or there is none."""
    driver = None if proposal is None else proposal.driver
    return "none" if driver is None else str(driver["facets"]["driver"].get("dimming", "none"))


def _is_dimmed_by(signal: str) -> Callable[[Body, Proposal], bool]:
    """By the driver where dimming is wanted, or by what is there today: its leads or its dimmer are met either way."""
    return lambda body, proposal: (
        (body.place.control_wanted in DIMS and _signal(proposal) == signal) or body.place.dimming == signal
    )


def _lacks_control_pair(body: Body, proposal: Proposal) -> bool:
    dims = body.place.control_wanted in DIMS and _signal(proposal) not in WITHOUT_A_PAIR
    return dims and body.of_kind("wiring").get("control_pair", NOT_SEEN) != "yes"


def _is_switched_in_parts(body: Body, _proposal: Proposal) -> bool:
    return body.of_group("supply").get("switching") in ("two-levels", "more")


def _has_tiles(body: Body, _proposal: Proposal) -> bool:
    return body.of_room("ceiling").get("ceiling") in ("lay-in-grid", "concealed-grid")


def _may_hold_asbestos(body: Body, _proposal: Proposal) -> bool:
    return body.of_room("ceiling").get("asbestos") == "may-hold-asbestos"


def _has_unknown_size(_body: Body, proposal: Proposal) -> bool:
    return proposal is not None and any(check.facts.get("look_at_first") for check in proposal.checks)


def _is_accepted_only(_body: Body, proposal: Proposal) -> bool:
    return proposal is not None and any(check.name == "fit-accepted" for check in proposal.checks)


def _leaves_a_row_empty(body: Body, proposal: Proposal) -> bool:
    return proposal is not None and len(proposal.layout.rows) < body.rows


CAUTIONS: tuple[Caution, ...] = (
    Caution("led-tubes-on-mains", "isolate", _has_tubes_on_mains),
    Caution("led-tubes", "isolate", _has_other_led_tubes),
    Caution("isolate", "isolate", _always),
    Caution(
        "shared-neutral", "isolate", lambda body, _: body.of_group("supply").get("shared_neutral", NOT_SEEN) != "no"
    ),
    Caution("two-switched-lines", "isolate", _is_switched_in_parts),
    Caution("high-volts", "isolate", _is_high_volts),
    Caution("direct-current", "isolate", _is_dc),
    Caution("second-source", "isolate-second isolate", lambda body, _: body.emergency in SECOND_SOURCE),
    Caution("control-now-before-emergency", "isolate", _is_controlled_emergency),
    Caution("dimmed-emergency", "isolate", _is_dimmed_emergency),
    Caution("battery-stays-live", "old-pack-find isolate", lambda body, _: body.emergency == BATTERY),
    Caution("neighbour", "isolate", _shares_a_ballast),
    Caution("at-height", "isolate", _is_high),
    Caution("asbestos", "isolate", _may_hold_asbestos),
    Caution("tiles", "isolate", _has_tiles),
    Caution("food", "isolate", lambda body, _: body.of_room("surroundings").get("clean_or_food") == "yes"),
    Caution("mercury", "take-lamps", _has_lamps_with_mercury),
    Caution("tried-only", "take-lamps take-tubes", _is_accepted_only),
    Caution("by-lamp", "take-lamps take-tubes", _fits_by_lamp),
    Caution("pcb", "take-ballast take-capacitor look-for-capacitor", _may_hold_pcb),
    Caution("capacitor", "take-capacitor look-for-capacitor", _has_capacitor),
    Caution("old-marks", "label-and-notice", lambda body, _: has_led_tubes(body)),
    Caution("two-levels", "mount-driver", _is_switched_in_parts),
    Caution("no-magnet", "lay-bars", lambda body, _: body.of_kind("housing").get("magnet_holds", NOT_SEEN) != "yes"),
    Caution("sealed-body", "lay-bars", lambda body, _: body.of_kind("housing").get("body") == "vapour-tight"),
    Caution("look-at-first", "lay-bars", _has_unknown_size),
    Caution("doubtful-count", "lay-bars", lambda body, _: body.of_group("count").get("sure") == "doubtful"),
    Caution("trial", "lay-bars", lambda body, _: bool((body.body_row or {}).get("trial"))),
    Caution("control-pair", "control control-dali-2", _lacks_control_pair),
    Caution("dali-2", "control-dali-2 control isolate", _is_dimmed_by("dali-2")),
    Caution("phase-cut", "control-phase-cut connect-supply isolate", _is_dimmed_by("phase-cut")),
    Caution("wireless", "control-wireless look", _is_dimmed_by("wireless")),
    Caution("empty-row", "leave-empty", _leaves_a_row_empty),
    Caution("live-proof", "prove-sockets", _always),
    Caution("emergency", "test-pack test-second", lambda body, _: body.emergency not in ("none", NOT_SEEN)),
)
"""All of them, in the order of the work."""

_CODE = "plan.caution."
_STEPS_OF = {f"{_CODE}{each.name}": [f"plan.step.{step}" for step in each.step.split()] for each in CAUTIONS}


def cautions(body: Body, proposal: Proposal) -> list[str]:
    """Codes of the cautions that a crew and a manager must read for this group, in the order of the work."""
    return [f"{_CODE}{each.name}" for each in CAUTIONS if each.holds(body, proposal)]


def by_step(codes: Iterable[str], steps: Iterable[str]) -> dict[str, list[str]]:
    """Cautions by the step at which they are read, all as codes.

    Parameters
    ----------
    codes : iterable of str
        Cautions.
    steps : iterable of str
        Steps of the card, in order.

    >>> by_step(["plan.caution.isolate", "plan.caution.pcb"], ["plan.step.isolate", "plan.step.take-ballast"])
    {'plan.step.isolate': ['plan.caution.isolate'], 'plan.step.take-ballast': ['plan.caution.pcb']}
    >>> by_step(["plan.caution.pcb"], ["plan.step.isolate"])
    {'plan.step.isolate': ['plan.caution.pcb']}
    """
    there = list(steps)
    found: dict[str, list[str]] = {}
    for code in codes:
        step = next((each for each in _STEPS_OF.get(code, []) if each in there), there[0])
        found.setdefault(step, []).append(code)
    return found
