"""Emergency fixtures in a plan: a pack that goes with bar, driver and place, a second source that is named, no control before them."""

from __future__ import annotations

from typing import Any

import pytest
from tests.planning.emergency_bodies import (
    ON_A_GENERATOR,
    PACK,
    PRICES,
    WITH_BATTERIES,
    changed,
    emergency_body,
    emergency_card,
    emergency_plan,
)
from tests.planning.some_body import BAR, BARS_AND_DRIVER, DRIVER, MM, codes, fit, item, record
from tests.support.cards import at, steps_at

from spanwalk.rules.arrangements.body import Neighbour
from spanwalk.rules.arrangements.wiring.packs import duty_checks
from spanwalk.rules.gear import driver_in_body as driver_rules
from spanwalk.rules.gear import emergency
from spanwalk.rules.gear.checks import CANNOT_TELL, FAILS, PASSES
from spanwalk.words import words

Json = Any


def verdicts(plan: dict[str, Json]) -> dict[str, str]:
    """Check -> verdict of what is proposed."""
    return {each["check"]: each["verdict"] for each in plan["proposal"]["checks"]}


def failed(plan: dict[str, Json]) -> set[str]:
    """Checks that rejected candidates failed."""
    return {each["check"] for each in plan["rejected"]}


def parts(plan: dict[str, Json]) -> dict[str, int]:
    return {part["code"]: part["count"] for part in plan["proposal"]["parts"]}


# -- by position


def test_of_sixteen_fixtures_four_with_packs_only_those_have_steps_ticks_and_cautions_of_packs() -> None:
    card = emergency_card()
    told = {position: set(steps_at(card, position)) for position in range(1, 17)}
    of_packs = {"old-pack-find", "old-pack-out", "fit-pack", "pack-leads", "unswitched-feed", "charge", "test-pack"}
    assert {position for position, steps in told.items() if of_packs <= steps} == {1, 5, 9, 13}
    assert {position for position, steps in told.items() if of_packs & steps} == {1, 5, 9, 13}
    assert [each["check"] for each in at(card["checks_at"], 5)] == [
        "old-battery-out",
        "unswitched-feed-on",
        "pack-charges",
    ]
    assert at(card["checks_at"], 2) == []
    assert card["cautions_at"] == {
        "plan.caution.emergency": [1, 5, 9, 13],
        "plan.caution.battery-stays-live": [1, 5, 9, 13],
    }
    assert [each["positions"] for each in card["accessories"]] == [[1, 5, 9, 13]]


def test_what_is_for_every_fixture_is_the_same_at_those_with_and_without_a_pack() -> None:
    card = emergency_card()
    plain = emergency_card(group=changed(WITH_BATTERIES, emergency="none", emergency_positions=[]))
    assert steps_at(card, 2) == steps_at(plain, 2)
    assert [step for step in steps_at(card, 1) if step in steps_at(plain, 1)] == steps_at(plain, 1)
    assert card["checks"] == plain["checks"]


def test_as_many_packs_are_ordered_as_fixtures_have_batteries_and_as_many_batteries_come_out() -> None:
    plan = emergency_plan()
    assert plan["state"] == "ready"
    assert (parts(plan)["PACK"], parts(plan)["BAR"], parts(plan)["DRIVER"]) == (4, 32, 16)
    assert (plan["waste"]["batteries"], plan["waste"]["battery"]) == (4, "nickel-cadmium")


def test_a_position_said_twice_is_one_fixture() -> None:
    assert parts(emergency_plan(group=changed(WITH_BATTERIES, emergency_positions=[5, 1, 5])))["PACK"] == 2


@pytest.mark.parametrize(("gone", "positions", "missing"), [([], [1, 17], "17"), ([5], [1, 5, 18], "5, 18")])
def test_emergency_positions_above_the_count_or_gone_hold_the_group_back(
    gone: list[int], positions: list[int], missing: str
) -> None:
    group = changed(WITH_BATTERIES, emergency_positions=positions) | {"count": {"count": 16, "gone": gone}}
    plan = emergency_plan(group=group)
    found = next(each for each in plan["blockers"] if each["code"] == "plan.blocked.emergency-position-not-there")
    assert (plan["state"], found["facts"]["positions"], parts(plan)["PACK"]) == ("open", missing, 1)


def test_the_last_position_of_the_group_is_there() -> None:
    assert emergency_plan(group=changed(WITH_BATTERIES, emergency_positions=[16]))["state"] == "ready"
    with_a_gap = changed(WITH_BATTERIES, emergency_positions=[17]) | {"count": {"count": 16, "gone": [3]}}
    assert emergency_plan(group=with_a_gap)["state"] == "ready"


@pytest.mark.parametrize("group", [WITH_BATTERIES, ON_A_GENERATOR], ids=["battery", "generator"])
def test_an_emergency_group_whose_fixtures_are_not_named_cannot_be_told_about(group: Json) -> None:
    plan = emergency_plan(group=changed(group, emergency_positions=[]))
    assert (plan["state"], verdicts(plan)["emergency-positions"]) == ("open", CANNOT_TELL)


# -- the work in order


def test_the_old_pack_comes_out_before_a_lamp_is_touched_and_the_test_comes_after_the_charge() -> None:
    """The order of work: a battery keeps its lamp leads live with the mains off (common practice, no source)."""
    steps = steps_at(emergency_card(), 1)
    order = [
        "isolate",
        "prove-dead",
        "old-pack-find",
        "old-pack-out",
        "prove-dead-battery",
        "take-lamps",
        "mount-driver",
        "fit-pack",
        "pack-leads",
        "unswitched-feed",
        "check-earth",
        "close-and-restore",
        "prove-sockets",
        "charge",
        "test-pack",
    ]
    assert [step for step in steps if step in order] == order
    assert steps[-1] == "test-pack"


def test_a_pack_that_needs_no_unswitched_feed_is_given_none() -> None:
    card = emergency_card({"unswitched_feed": False})
    assert {"unswitched-feed", "charge-leads"} & set(steps_at(card, 1)) == {"charge-leads"}
    assert "unswitched-feed-on" not in [each["check"] for each in card["checks_at"]]


def test_the_card_says_what_is_in_the_old_pack_how_long_light_is_wanted_and_which_bar_the_pack_feeds() -> None:
    card = emergency_card(group=changed(WITH_BATTERIES, old_pack="charge leads black, lamp leads blue"))
    told = card["emergency"]
    assert (told["old_battery"], told["old_pack"], told["wanted_min"]) == (
        "nickel-cadmium",
        "charge leads black, lamp leads blue",
        90,
    )
    assert {name: told["pack"][name] for name in ("pack", "bar", "row", "place", "lasts_min")} == {
        "pack": "PACK",
        "bar": "BAR",
        "row": 1,
        "place": 1,
        "lasts_min": 90,
    }
    silent = emergency_card(group=changed(WITH_BATTERIES, battery="not-seen"))["emergency"]
    assert (silent["old_battery"], silent["old_pack"]) == ("not-seen", "not-seen")


def test_a_generators_circuit_is_isolated_and_proved_dead_at_its_fixtures_and_tested_last() -> None:
    card = emergency_card(group=ON_A_GENERATOR)
    steps = steps_at(card, 2)
    assert steps[:4] == ["isolate", "isolate-second", "prove-dead", "prove-dead-second"]
    assert steps[-1] == "test-second"
    assert "EP-1 circuit 4" in [step["facts"].get("second_source") for step in card["steps"]]
    assert not [step for step in steps_at(card, 3) if "second" in step]
    assert [each["check"] for each in at(card["checks_at"], 2)] == ["second-source-proved-dead"]


@pytest.mark.parametrize("group", [WITH_BATTERIES, ON_A_GENERATOR], ids=["battery", "generator"])
def test_no_reason_to_stop_forbids_the_source_that_the_card_itself_names(group: Json) -> None:
    card = emergency_card(group=group)
    stops = [each["code"] for each in card["stops"]]
    assert len(stops) == 8
    assert "plan.stop.second-feed" not in stops
    assert "does not name" in words()[stops[1]]


def test_the_one_feed_that_was_seen_is_told_beside_a_second_source() -> None:
    def told(group: Json) -> list[str]:
        (isolate,) = (each for each in emergency_card(group=group)["steps"] if each["code"] == "plan.step.isolate")
        return [each["code"].removeprefix("plan.line.") for each in isolate["lines"] if "feed" in each["code"]]

    assert told(ON_A_GENERATOR) == ["one-feed-and-source"]
    assert told(WITH_BATTERIES) == ["one-feed"]


def test_every_step_tick_and_caution_of_emergency_has_its_sentence() -> None:
    said = words()
    cards = [emergency_card(), emergency_card({"unswitched_feed": False}), emergency_card(group=ON_A_GENERATOR)]
    for card in cards:
        for step in card["steps"]:
            said[step["code"]].format(**{"panel": "", "circuit": "", "volts": ""} | step["facts"])
        assert {f"crew.check.{each['check'].replace(' ', '-')}" for each in card["checks_at"]} <= set(said)
        assert set(card["cautions_at"]) <= set(said)


# -- a pack against bar, driver and place


@pytest.mark.parametrize(
    ("pack", "check", "verdict"),
    [
        # The bar takes 36 V.
        ({"out_v_min": 36, "out_v_max": 60}, "pack.voltage", PASSES),
        ({"out_v_min": 36.1, "out_v_max": 60}, "pack.voltage", FAILS),
        ({"out_v_min": 20, "out_v_max": 36}, "pack.voltage", PASSES),
        ({"out_v_min": 20, "out_v_max": 35.9}, "pack.voltage", FAILS),
        # It bears 550 mA: 36 V × 0.55 A = 19.8 W.
        ({"output_w": 19.7}, "pack.current", PASSES),
        ({"output_w": 19.8}, "pack.current", PASSES),
        ({"output_w": 19.9}, "pack.current", FAILS),
        ({"duration_min": 89}, "pack.duration", FAILS),
        ({"duration_min": 90}, "pack.duration", PASSES),
        ({"duration_min": 91}, "pack.duration", PASSES),
        # The supply is 277 V.
        ({"volts_max": 276}, "pack.supply", FAILS),
        ({"volts_max": 277}, "pack.supply", PASSES),
        ({"volts_min": 277}, "pack.supply", PASSES),
        ({"volts_min": 278, "volts_max": 300}, "pack.supply", FAILS),
        # The coldest air is 10 °C, the hottest 38 °C, and the driver warms its body by 8 K.
        ({"coldest_c": 9.9}, "pack.cold", PASSES),
        ({"coldest_c": 10}, "pack.cold", PASSES),
        ({"coldest_c": 10.1}, "pack.cold", FAILS),
        ({"hottest_c": 45.9}, "pack.heat", FAILS),
        ({"hottest_c": 46}, "pack.heat", PASSES),
        ({"hottest_c": 46.1}, "pack.heat", PASSES),
        # 90 mm wide: 2 + 42 + 2 + 42 + 2 beside the driver; too long to lie end to end, too high to be turned.
        ({"length_ticks": 300 * MM, "width_ticks": 42 * MM - 1, "height_ticks": 36 * MM}, "driver.pack-space", PASSES),
        ({"length_ticks": 300 * MM, "width_ticks": 42 * MM, "height_ticks": 36 * MM}, "driver.pack-space", PASSES),
        ({"length_ticks": 300 * MM, "width_ticks": 42 * MM + 1, "height_ticks": 36 * MM}, "driver.pack-space", FAILS),
    ],
)
def test_a_pack_is_held_against_bar_and_place_below_at_and_above_each_limit(
    pack: Json, check: str, verdict: str
) -> None:
    plan = emergency_plan(pack)
    if verdict == FAILS:
        assert (plan["state"], check in failed(plan)) == ("nothing passes", True)
    else:
        assert (plan["state"], verdicts(plan)[check]) == ("ready", PASSES)


@pytest.mark.parametrize(
    ("silent", "check"),
    [
        ("out_v_min", "pack.voltage"),
        ("out_v_max", "pack.voltage"),
        ("output_w", "pack.current"),
        ("duration_min", "pack.duration"),
        ("volts_min", "pack.supply"),
        ("volts_max", "pack.supply"),
        ("coldest_c", "pack.cold"),
        ("hottest_c", "pack.heat"),
        ("length_ticks", "driver.pack-space"),
        ("width_ticks", "driver.pack-space"),
        ("height_ticks", "driver.pack-space"),
    ],
)
def test_a_pack_of_which_the_catalogue_does_not_say_a_number_is_not_ready(silent: str, check: str) -> None:
    plan = emergency_plan({silent: None})
    assert (plan["state"], verdicts(plan)[check]) == ("open", CANNOT_TELL)
    assert f"plan.{check}.cannot-tell" in codes(plan, "blockers")


def test_a_pack_that_does_not_say_whether_it_needs_an_unswitched_feed_is_taken_to_need_one() -> None:
    assert "unswitched-feed" in steps_at(emergency_card({"unswitched_feed": None}), 1)


def test_a_body_without_the_unswitched_feed_that_a_pack_needs_takes_none() -> None:
    plan = emergency_plan(group=changed(WITH_BATTERIES, unswitched_feed="no"))
    assert (plan["state"], "pack.feed" in failed(plan)) == ("nothing passes", True)
    assert (
        emergency_plan({"unswitched_feed": False}, group=changed(WITH_BATTERIES, unswitched_feed="no"))["state"]
        == "ready"
    )


def test_how_long_light_must_last_is_said_by_the_site_or_nothing_is_ready() -> None:
    plan = emergency_plan(settings={})
    assert (plan["state"], verdicts(plan)["pack.duration"]) == ("open", CANNOT_TELL)
    assert emergency_plan(settings={"emergency_min": 91})["state"] == "nothing passes"


def test_the_temperatures_of_the_room_come_before_those_of_the_site() -> None:
    assert emergency_plan(room={"surroundings": {"coldest_c": -1}})["state"] == "nothing passes"
    assert emergency_plan(room={"surroundings": {"coldest_c": 0}})["state"] == "ready"


def test_without_any_coldest_temperature_a_pack_cannot_be_told_about() -> None:
    assert emergency.check_cold(PACK, None).verdict == CANNOT_TELL
    assert emergency.check_heat(PACK, None, 8).verdict == CANNOT_TELL


def test_a_charger_for_alternating_current_does_not_charge_from_direct_current() -> None:
    assert emergency.check_supply(PACK, "dc").verdict == FAILS


@pytest.mark.parametrize(
    ("mark", "verdict"), [("120-277", PASSES), ("347-480", CANNOT_TELL), ("not-seen", CANNOT_TELL)]
)
def test_a_working_ballasts_label_proves_a_range_for_the_pack_too(mark: str, verdict: str) -> None:
    assert emergency.check_supply(PACK, "not-seen", mark).verdict == verdict


def test_the_cheapest_pack_that_passes_is_taken_not_the_cheapest() -> None:
    short, good, dear = (
        item(code, "accessory", PACK | {"duration_min": minutes})
        for code, minutes in (("SHORT", 60), ("GOOD", 90), ("DEAR", 180))
    )
    plan = emergency_plan(
        items=[*BARS_AND_DRIVER, dear, good, short], prices=PRICES | {"short": 20, "good": 64, "dear": 120}
    )
    assert (plan["state"], [code for code in parts(plan) if code in ("SHORT", "GOOD", "DEAR")]) == ("ready", ["GOOD"])


def test_a_pack_without_a_price_comes_after_those_that_have_one() -> None:
    unpriced = item("A-PACK", "accessory", PACK)
    plan = emergency_plan(items=[*BARS_AND_DRIVER, unpriced, item("PACK", "accessory", PACK)])
    assert "PACK" in parts(plan)
    assert "A-PACK" not in parts(plan)


def test_a_pack_that_says_all_is_taken_before_a_cheaper_one_that_is_silent() -> None:
    silent = item("SILENT", "accessory", {"purpose": "emergency-pack"})
    plan = emergency_plan(
        items=[*BARS_AND_DRIVER, silent, item("PACK", "accessory", PACK)], prices=PRICES | {"silent": 1}
    )
    assert (plan["state"], parts(plan)["PACK"]) == ("ready", 4)


def test_a_pack_feeds_one_bar_of_the_row_that_it_goes_with() -> None:
    """The first bar of the row takes 70 V, beyond the pack's 60 V; the second takes 36 V."""
    high = item("HIGH", "bar", BAR | {"forward_v": 70})
    driver = item(
        "DRIVER",
        "driver",
        DRIVER | {"out_v_max": 80, "outputs": 4, "watts": 200, "current": "for-each-output", "bars_per_output": 1},
    )
    plan = emergency_plan(
        items=[BARS_AND_DRIVER[0], high, driver, item("PACK", "accessory", PACK)],
        fits=[fit("high", "bar")],
        settings={"emergency_min": 90, "light_ceiling_pct": 500},
    )
    told = plan["proposal"]["emergency"]["pack"]
    assert (told["bar"], told["row"], told["place"]) == ("BAR", 1, 2)


def test_a_driver_to_which_no_pack_can_be_added_is_rejected() -> None:
    driver = item("DRIVER", "driver", DRIVER | {"emergency": "none"})
    plan = emergency_plan(items=[BARS_AND_DRIVER[0], driver, item("PACK", "accessory", PACK)])
    assert (plan["state"], "driver.emergency" in failed(plan)) == ("nothing passes", True)


def test_emergency_light_stands_against_todays_and_the_old_packs_is_said_not_to_be_known() -> None:
    """10 W × 168 lm/W, with the bar's depreciation, dirt and body: less than half of one of two bars at 12.6 W each."""
    plan = emergency_plan()
    told = plan["proposal"]["emergency"]["pack"]
    check = next(each for each in plan["proposal"]["checks"] if each["check"] == "pack.light-against-today")
    assert check["facts"]["then_lm"] == told["then_lm"]
    # What leaves the fixture is in proportion to the bars' watts: 10 W of what all bars take.
    whole = plan["proposal"]["light"]["then_lm"] / 16
    assert told["then_lm"] == pytest.approx(whole * 10 / plan["proposal"]["bars_w_each"], rel=0.005)
    assert told["today_lm"] == pytest.approx(plan["now"]["lumens"] / 16, abs=1)
    assert "What the old pack gave is not known" in words()["plan.pack.light-against-today.passes"]
    assert "authority having jurisdiction" in words()["plan.pack.light-against-today.passes"]


# -- a second source


def test_a_second_source_that_nobody_named_holds_the_group_back() -> None:
    plan = emergency_plan(group=changed(ON_A_GENERATOR, second_source=""))
    assert (plan["state"], "plan.blocked.second-source-not-named" in codes(plan, "blockers")) == ("open", True)
    assert emergency_plan(group=ON_A_GENERATOR)["state"] == "ready"


@pytest.mark.parametrize("control", ["occupancy", "daylight", "dimming"])
@pytest.mark.parametrize("group", [WITH_BATTERIES, ON_A_GENERATOR], ids=["battery", "generator"])
def test_no_sensor_or_dimmer_is_planned_before_an_emergency_fixture(group: Json, control: str) -> None:
    sensor = item("SENSOR", "accessory", {"purpose": f"{control}-sensor", "coldest_c": -20, "hottest_c": 60})
    items = [*BARS_AND_DRIVER, item("PACK", "accessory", PACK), sensor]
    plan = emergency_plan(group=changed(group, control_wanted=control), items=items)
    found = [each for each in plan["blockers"] if each["code"] == "plan.blocked.control-before-emergency"]
    assert plan["state"] == "open"
    assert [each["facts"]["control"] for each in found] == [control]


@pytest.mark.parametrize(
    ("duty", "caution"),
    [({"control_now": "occupancy"}, "control-now-before-emergency"), ({"dimming": "0-10-v"}, "dimmed-emergency")],
)
def test_a_control_that_stands_before_an_emergency_fixture_today_is_cautioned_of(duty: Json, caution: str) -> None:
    card = emergency_card(group=changed(ON_A_GENERATOR, **duty))
    assert card["cautions_at"][f"plan.caution.{caution}"] == [2, 4]


# -- direct current


DC = {"emergency": "none", "dc": True, "dc_v_min": 176, "dc_v_max": 264}


@pytest.mark.parametrize(
    ("driver", "dc_volts", "verdict"),
    [
        (DC, 176, PASSES),
        (DC, 175, FAILS),
        (DC, 264, PASSES),
        (DC, 265, FAILS),
        (DC, None, CANNOT_TELL),
        ({"emergency": "none", "dc": True}, 220, CANNOT_TELL),
        ({"emergency": "none", "dc": True, "dc_v_min": 176}, 220, CANNOT_TELL),
        ({"emergency": "none", "dc": False}, 220, FAILS),
        ({"emergency": "none"}, None, FAILS),
    ],
)
def test_direct_current_needs_a_driver_made_for_that_much_of_it(
    driver: Json, dc_volts: int | None, verdict: str
) -> None:
    found = driver_rules.check_emergency(driver, "central-battery", dc_volts)
    assert (found.verdict, found.code in words()) == (verdict, True)
    supply = driver_rules.check_volts(driver | {"volts_min": 120, "volts_max": 277}, "dc", dc_volts=dc_volts)
    assert (supply.verdict, supply.code in words()) == (verdict, True)


def test_a_central_battery_is_named_isolated_and_held_against_the_driver() -> None:
    group = changed(ON_A_GENERATOR, emergency="central-battery") | {"supply": {"dc_volts": 220}}
    driver = item("DRIVER", "driver", DRIVER | DC | {"emergency": "none"})
    plan = emergency_plan(group=group, items=[BARS_AND_DRIVER[0], driver])
    assert (plan["state"], verdicts(plan)["driver.dc-emergency"]) == ("ready", PASSES)
    assert emergency_plan(group=group)["state"] == "nothing passes"
    card = emergency_card(group=group, items=[BARS_AND_DRIVER[0], driver])
    assert card["cautions_at"]["plan.caution.direct-current"] == [2, 4]
    assert steps_at(card, 4)[1] == "isolate-second"


# -- with a neighbour


def test_a_body_that_is_lit_by_its_neighbours_driver_takes_no_pack_unlooked_at() -> None:
    some = emergency_body(kind=FED)
    assert [check.name for check in duty_checks(some)] == ["pack.own-driver"]


FED = {"wiring": {"neighbour_leads": "fed-from-the-neighbours-ballast"}}
FEEDING = {"wiring": {"neighbour_leads": "ballast-here-feeds-the-neighbour"}}


@pytest.mark.parametrize("leads", [FED, FEEDING], ids=["fed", "feeding"])
@pytest.mark.parametrize(
    ("ours", "theirs", "found"),
    [
        ("generator-or-inverter", "none", ["emergency-neighbour"]),
        ("none", "central-battery", ["emergency-neighbour"]),
        ("generator-or-inverter", "generator-or-inverter", []),
        ("none", "none", []),
    ],
)
def test_of_two_bodies_on_one_ballast_both_have_the_same_duty_or_it_cannot_be_told(
    leads: Json, ours: str, theirs: str, found: list[str]
) -> None:
    partner = Neighbour(record("other", "group", duty={"emergency": theirs}), record("kind2", "kind"))
    some = emergency_body(group=changed(ON_A_GENERATOR, emergency=ours), kind=leads, partner=partner)
    assert [check.name for check in duty_checks(some)] == found
