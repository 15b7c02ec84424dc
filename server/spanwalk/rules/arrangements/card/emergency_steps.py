"""Emergency on a crew's card, by position: which steps, checks and cautions belong to which fixtures of the group only.

A conversion is one for the whole group and cards are shown one for each fixture, so what is for some fixtures only carries
its ``positions``; what carries none is for all. The page picks with pwa/views/crew/at_position.js.
"""

from __future__ import annotations

from collections.abc import Sequence

from spanwalk.rules.arrangements.card import crew_step
from spanwalk.rules.arrangements.card.card_types import CheckAt
from spanwalk.rules.arrangements.card.crew_step import Step
from spanwalk.rules.arrangements.plan_types import EmergencyTold
from spanwalk.rules.gear.emergency import BATTERY, SECOND_SOURCE

AT_POSITIONS = (
    "emergency",
    "battery-stays-live",
    "second-source",
    "direct-current",
    "control-now-before-emergency",
    "dimmed-emergency",
)
"""Cautions for emergency fixtures only; the one about d.c. where only the emergency supply is d.c."""
BATTERY_CHECKS = ("old-battery-out", "unswitched-feed-on", "pack-charges")
SECOND_SOURCE_CHECKS = ("second-source-proved-dead",)
"""Checks that block 'done' at emergency fixtures, beside those of every fixture."""


def with_emergency(steps: Sequence[Step], emergency: EmergencyTold) -> list[Step]:
    """The steps of a conversion with those of its emergency fixtures among them, each with its positions, in working order.

    A second source is isolated after the named circuit and proved dead with it. An old pack comes out before a lamp is
    touched, since its battery keeps the sockets live. The new pack is connected before earth and label. Charging and the
    test come last, after every feed has been restored.

    Parameters
    ----------
    steps : sequence of dict
        Steps for every fixture, in order: ``code`` and ``facts``.
    emergency : mapping
        `emergency` of a card: ``duty``, ``positions`` and the rest of `telling.emergency_told`.

    Examples
    --------
    >>> every = [{"code": f"plan.step.{name}", "facts": {}} for name in ("isolate", "prove-dead", "take-lamps", "check-earth", "restore")]
    >>> source = {"duty": "generator-or-inverter", "positions": [2], "second_source": "EP-1 circuit 4"}
    >>> [step["code"].removeprefix("plan.step.") for step in with_emergency(every, source)]
    ['isolate', 'isolate-second', 'prove-dead', 'prove-dead-second', 'take-lamps', 'check-earth', 'restore', 'test-second']
    """
    if not emergency["positions"]:
        return list(steps)
    before_proof, after_proof, fitting, last = _of_duty(emergency)
    proof, earth = (
        _at(steps, ("plan.step.prove-dead",), 0),
        _at(steps, ("plan.step.check-earth", "plan.step.label", "plan.step.restore"), len(steps)),
    )
    return [
        *steps[:proof],
        *before_proof,
        *steps[proof : proof + 1],
        *after_proof,
        *steps[proof + 1 : earth],
        *fitting,
        *steps[earth:],
        *last,
    ]


def _at(steps: Sequence[Step], codes: tuple[str, ...], otherwise: int) -> int:
    """Place of the first step that is one of these."""
    return next((place for place, step in enumerate(steps) if step["code"] in codes), otherwise)


def _of_duty(emergency: EmergencyTold) -> tuple[list[Step], list[Step], list[Step], list[Step]]:
    """Steps before the proof, right after it, before earth is checked, and at the end."""
    positions = list(emergency["positions"])

    def step(name: str, /, **facts: object) -> Step:
        found = crew_step.step(name, **facts)
        found["positions"] = positions
        return found

    if emergency["duty"] in SECOND_SOURCE:
        source = {"second_source": emergency.get("second_source", "not-seen")}
        return (
            [step("isolate-second", **source, duty=emergency["duty"])],
            [step("prove-dead-second", **source)],
            [],
            [step("test-second", **source)],
        )
    pack = emergency.get("pack")
    if emergency["duty"] != BATTERY or not pack:
        return [], [], [], []
    battery = emergency.get("old_battery", "not-seen")
    out = [
        step("old-pack-find", battery=battery, old_pack=emergency.get("old_pack", "not-seen")),
        step("old-pack-out", battery=battery),
        step("prove-dead-battery"),
    ]
    feed = (
        step("unswitched-feed", unswitched_feed_seen=emergency.get("unswitched_feed_seen", "not-seen"))
        if pack["unswitched_feed"]
        else step("charge-leads")
    )
    fitting = [
        step("fit-pack", name=pack["pack"]),
        step("pack-leads", bar=pack["bar"], row=pack["row"], place=pack["place"]),
        feed,
    ]
    test = step(
        "test-pack",
        row=pack["row"],
        wanted_min=pack["wanted_min"],
        lasts_min=pack["lasts_min"],
        then_lm=pack["then_lm"] or "not known",
    )
    return [], out, fitting, [step("charge"), test]


def checks_at(emergency: EmergencyTold) -> list[CheckAt]:
    """Checks for emergency fixtures only, each with its positions; see `BATTERY_CHECKS`.

    Parameters
    ----------
    emergency : mapping
        `emergency` of a card.
    """
    duty, pack = emergency["duty"], emergency.get("pack")
    checks = SECOND_SOURCE_CHECKS if duty in SECOND_SOURCE else BATTERY_CHECKS if duty == BATTERY and pack else ()
    wanted = [check for check in checks if check != "unswitched-feed-on" or (pack and pack.get("unswitched_feed"))]
    return [{"check": check, "positions": list(emergency["positions"])} for check in wanted]


def cautions_at(cautions: Sequence[str], emergency: EmergencyTold, volts: str) -> dict[str, list[int]]:
    """Which of the cautions of a group are for its emergency fixtures only, with their positions.

    Parameters
    ----------
    cautions : sequence of str
        Codes of the group's cautions.
    emergency : mapping
        `emergency` of a card.
    volts : str
        Supply of the group [V]; where it is d.c. the caution about d.c. is for every fixture.

    Examples
    --------
    >>> cautions_at(["plan.caution.isolate", "plan.caution.emergency"], {"duty": "battery-in-fixture", "positions": [1, 5]}, "277")
    {'plan.caution.emergency': [1, 5]}
    """
    own = {f"plan.caution.{name}" for name in AT_POSITIONS if name != "direct-current" or volts != "dc"}
    return {code: list(emergency["positions"]) for code in cautions if code in own and emergency["positions"]}
