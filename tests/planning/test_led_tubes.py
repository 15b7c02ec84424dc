"""A body with LED tubes in its sockets: hazard first, light from the tube's own data, and a manager decides with a reason."""

from __future__ import annotations

from typing import Any

import pytest
from tests.planning.some_body import BARS_AND_DRIVER, body

from spanwalk.rules.arrangements.card.crew_card import crew_card
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.fit.not_converted import not_converted

DECIDED = {"decision": {"decision": "convert-as-recommended", "accepts_led_tubes": True, "reason": "they flicker"}}
TUBES = {"lamp_w": 15, "tube_lm": 2000}


def tubes(fitted: str = "led-tube-on-mains", decided: bool = True, **lamps: Any) -> Any:
    gear = {"ballast": "none", "ballast_count": 0}
    return body(
        group=DECIDED if decided else {},
        kind={"lamps": {"fitted": fitted, **TUBES, **lamps}, "ballast": gear},
        settings={"light_ceiling_pct": 300},
    )


@pytest.mark.parametrize("fitted", ["led-tube-on-mains", "led-tube-on-the-ballast", "led-tube-on-own-driver"])
def test_led_tubes_are_no_reason_against_the_method_but_wait_for_a_manager(fitted: str) -> None:
    some = tubes(fitted, decided=False, tube_mains_w=17)
    assert not_converted(some.kind, some.room) == []
    plan = plan_group(some)
    assert plan["state"] == "open"
    assert [each["code"] for each in plan["blockers"]] == ["plan.blocked.led-tubes"]
    assert plan_group(tubes(fitted, tube_mains_w=17))["state"] == "ready"


def test_a_word_without_a_reason_is_no_decision() -> None:
    some = tubes(decided=False)
    some.group["facets"]["decision"] = {"decision": "convert-as-recommended", "accepts_led_tubes": True}
    assert plan_group(some)["state"] == "open"


def test_built_in_led_and_lamps_that_lie_between_no_sockets_stay_not_by_this_method() -> None:
    for changes in ({"fitted": "built-in-led"}, {"cap": "circular"}, {"cap": "compact"}):
        assert plan_group(body(kind={"lamps": changes}))["state"] == "not by this method"


def test_light_today_is_that_of_the_tubes_new_shining_down_as_bars_do() -> None:
    """10 fixtures × 2 × 2,000 lm × 0.9 dirt × 0.78 (bars in a troffer behind a prismatic lens) = 28,080 lm; 10 × 2 × 15 W."""
    now = plan_group(tubes())["now"]
    assert (now["lumens"], now["watts"], now["assumed"]) == (28_080, 300, ["LED tubes as new"])


def test_watts_of_tubes_on_something_else_are_those_said_with_what_feeds_them() -> None:
    missing = plan_group(tubes("led-tube-on-the-ballast"))["now"]["missing"]
    assert missing == ["mains watts of the LED tubes"]
    assert plan_group(tubes("led-tube-on-the-ballast", tube_mains_w=18))["now"]["watts"] == 360


def test_light_of_tubes_that_nobody_said_is_not_guessed() -> None:
    plan = plan_group(tubes(tube_lm=None))
    assert plan["now"]["lumens"] is None
    assert plan["now"]["missing"] == ["light of the LED tubes"]
    assert plan["state"] != "ready"


def card_of(fitted: str) -> Any:
    some = tubes(fitted, tube_mains_w=17)
    items = {item["id"]: item for item in BARS_AND_DRIVER}
    return crew_card(plan_group(some), some.group, some.kind, items)


def names(card: Any) -> list[str]:
    return [each["code"].removeprefix("plan.step.") for each in card["steps"]]


def test_tubes_on_mains_come_with_the_hazard_first_and_their_leads_come_off_the_sockets() -> None:
    card = card_of("led-tube-on-mains")
    first = card["steps"][0]
    assert first["code"] == "plan.step.isolate"
    assert first["cautions"][0] == "plan.caution.led-tubes-on-mains"
    assert names(card)[:4] == ["isolate", "prove-dead", "take-tubes", "take-mains-leads"]
    assert "plan.caution.mercury" not in card["cautions"]
    assert next(each for each in card["steps"] if each["code"] == "plan.step.label-and-notice")["cautions"] == [
        "plan.caution.old-marks"
    ]


def gear(fitted: str, **ballast: Any) -> Any:
    some = tubes(fitted, tube_mains_w=17)
    some.kind["facets"]["ballast"] = ballast
    return some


@pytest.mark.parametrize(
    ("fitted", "ballast", "each"),
    [
        ("led-tube-on-the-ballast", {}, 1),
        ("led-tube-on-the-ballast", {"ballast": "magnetic"}, 1),
        ("led-tube-on-the-ballast", {"ballast": "electronic", "ballast_count": 0}, 1),
        ("led-tube-on-the-ballast", {"ballast": "electronic", "ballast_count": 2}, 2),
        ("led-tube-on-mains", {"ballast": "magnetic"}, 1),
        ("led-tube-on-mains", {"ballast": "none"}, 0),
        ("led-tube-on-mains", {}, 0),
    ],
)
def test_a_ballast_that_tubes_hang_on_or_left_behind_comes_out_though_nobody_counted_it(
    fitted: str, ballast: dict[str, Any], each: int
) -> None:
    some = gear(fitted, **ballast)
    plan = plan_group(some)
    assert plan["waste"]["ballasts"] == 10 * each
    card = crew_card(plan, some.group, some.kind, {item["id"]: item for item in BARS_AND_DRIVER})
    assert ("take-ballast" in names(card)) == (each > 0)


def test_where_nobody_saw_an_old_ballast_behind_tubes_on_mains_the_card_says_to_look() -> None:
    some = gear("led-tube-on-mains")
    card = crew_card(plan_group(some), some.group, some.kind, {item["id"]: item for item in BARS_AND_DRIVER})
    (leads,) = [each for each in card["steps"] if each["code"] == "plan.step.take-mains-leads"]
    assert [each["code"] for each in leads["lines"]] == ["plan.line.look-for-ballast"]
    assert "plan.caution.pcb" in card["cautions"]


def test_of_tubes_on_a_driver_of_their_own_the_driver_comes_out_too() -> None:
    card = card_of("led-tube-on-own-driver")
    assert names(card)[:4] == ["isolate", "prove-dead", "take-tubes", "take-old-driver"]
    assert card["steps"][0]["cautions"][0] == "plan.caution.led-tubes"


def test_tubes_are_counted_apart_from_lamps_with_mercury() -> None:
    waste = plan_group(tubes())["waste"]
    assert (waste["lamp"], waste["lamp_class"]) == ("LED tube T8 4 ft", "led-tube")


def test_nothing_of_lamps_with_mercury_is_counted_in_their_money() -> None:
    """Disposal of 20 lamps at 0.90, and of the 10 ballasts at 2.50 that bodies with lamps must have."""
    costs = {
        name: plan_group(some)["proposal"]["money"]["cost"]
        for name, some in {"tubes": tubes(), "lamps": lamps()}.items()
    }
    assert costs["lamps"] - costs["tubes"] == pytest.approx(20 * 0.9 + 10 * 2.5)


def lamps() -> Any:
    return body(
        kind={"ballast": {"ballast": "none", "ballast_count": 0}},
        settings={"light_ceiling_pct": 300, "keep_light_pct": 60},
    )
