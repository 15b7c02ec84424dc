"""Cold, heat, a fit by the lamp alone and volts that a label proves: what is ready, and what is not. Bodies as in some_body."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.planning.some_body import BAR, BARS_AND_DRIVER, DRIVER, MM, body, codes, fit, item, plan

from spanwalk.reference import tables
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.fit.by_lamp import ReadOfKind
from spanwalk.rules.judging.judged import degrees, judge_groups
from spanwalk.rules.survey import Survey
from spanwalk.services.planning.plans import make_plans
from spanwalk.words import words

Json = Any
SENSOR = {"purpose": "occupancy-sensor", "watts": 0.5, "coldest_c": -10, "hottest_c": 45}


def without(facet: dict[str, Json], *names: str, **changes: Json) -> dict[str, Json]:
    return {name: value for name, value in facet.items() if name not in names} | changes


def goods(bar: dict[str, Json] | None = None, driver: dict[str, Json] | None = None) -> list[Json]:
    return [item("BAR", "bar", bar or BAR), item("DRIVER", "driver", driver or DRIVER)]


def rejected(found: dict[str, Json]) -> dict[str, dict[str, Json]]:
    return {each["code"]: each["facts"] for each in found["rejected"]}


# -- cold and heat


@pytest.mark.parametrize(("coldest_c", "state"), [(-19.9, "ready"), (-20, "ready"), (-20.1, "nothing passes")])
def test_a_bar_is_not_laid_where_it_gets_colder_than_its_least(coldest_c: float, state: str) -> None:
    found = plan(settings={"coldest_c": coldest_c}, items=goods(driver=without(DRIVER, coldest_c=-40)))
    assert found["state"] == state


def test_a_bar_too_cold_says_by_how_much() -> None:
    found = plan(room={"surroundings": {"coldest_c": -30}})
    assert rejected(found)["plan.bar-cold.fails"] == {"air_c": -30, "limit_c": -20, "over_by_k": 10}


@pytest.mark.parametrize(("hottest_c", "state"), [(49.5, "ready"), (50, "ready"), (50.5, "nothing passes")])
def test_a_bar_is_not_laid_where_it_gets_hotter_than_its_most(hottest_c: float, state: str) -> None:
    found = plan(settings={"hottest_c": hottest_c}, items=goods(driver=without(DRIVER, hottest_c=95)))
    assert found["state"] == state


def test_a_driver_too_cold_says_by_how_much_and_its_own_warmth_is_left_out() -> None:
    """It starts cold: −21 °C against −20 °C, though it runs 8 K warmer in a closed body."""
    found = plan(room={"surroundings": {"coldest_c": -21}}, items=goods(bar=without(BAR, coldest_c=-40)))
    assert found["state"] == "nothing passes"
    assert rejected(found)["plan.driver.cold.fails"] == {"air_c": -21, "limit_c": -20, "over_by_k": 1}


def test_stores_at_minus_30_are_not_ready_where_no_item_says_its_least() -> None:
    """As the issue found them: no item had a least temperature, and they were 'ready'."""
    silent = goods(without(BAR, "coldest_c", "hottest_c"), without(DRIVER, "coldest_c"))
    found = plan(settings={"coldest_c": -30, "hottest_c": 20}, items=silent)
    assert found["state"] == "open"
    assert {"plan.bar-cold-silent.cannot-tell", "plan.driver.cold-silent.cannot-tell"} <= set(codes(found, "blockers"))


@pytest.mark.parametrize(
    ("settings", "state"),
    [
        ({"coldest_c": 0, "hottest_c": 35}, "ready"),
        ({"coldest_c": 0.5, "hottest_c": 34.5}, "ready"),
        ({"coldest_c": -0.5, "hottest_c": 35}, "open"),
        ({"coldest_c": 0, "hottest_c": 35.5}, "open"),
    ],
)
def test_an_item_that_is_silent_is_taken_on_trust_from_0_to_35_degrees(settings: dict[str, float], state: str) -> None:
    """Common practice, no source."""
    found = plan(settings=settings, items=goods(without(BAR, "coldest_c", "hottest_c"), without(DRIVER, "coldest_c")))
    assert found["state"] == state


def test_the_room_s_own_temperature_comes_before_the_site_s() -> None:
    found = plan(settings={"coldest_c": -40}, room={"surroundings": {"coldest_c": 5}})
    assert found["state"] == "ready"


def test_a_coldest_that_nobody_said_cannot_be_told() -> None:
    found = plan(settings={"coldest_c": None})
    assert found["state"] == "open"
    assert {"plan.bar-cold.cannot-tell", "plan.driver.cold.cannot-tell"} <= set(codes(found, "blockers"))


@pytest.mark.parametrize(
    ("coldest_c", "hottest_c", "code"), [(-11, 38, "plan.sensor-cold.fails"), (0, 46, "plan.sensor-heat.fails")]
)
def test_a_sensor_too_cold_or_too_hot_is_rejected(coldest_c: float, hottest_c: float, code: str) -> None:
    items = [*BARS_AND_DRIVER, item("OWL", "accessory", SENSOR)]
    found = plan(
        items=items,
        settings={"coldest_c": coldest_c, "hottest_c": hottest_c},
        group={"duty": {"control_wanted": "occupancy"}},
    )
    assert found["state"] == "nothing passes"
    assert code in rejected(found)


def test_a_sensor_within_its_limits_passes() -> None:
    items = [*BARS_AND_DRIVER, item("OWL", "accessory", SENSOR)]
    found = plan(
        items=items, settings={"coldest_c": -10, "hottest_c": 45}, group={"duty": {"control_wanted": "occupancy"}}
    )
    assert found["state"] == "ready"


# -- by the lamp

BY_LAMP = fit("bar") | {"basis": "lamp"}
ACCEPTED = {
    "decision": "convert-with-this-arrangement",
    "reason": "The lamps are new and sit tight in all of them.",
    "accepts_lamp": True,
}


def by_lamp(read: ReadOfKind, fits: dict[str, Json] = BY_LAMP, **group: Json) -> dict[str, Json]:
    return plan_group(replace(body(fits=[fits], group=group), read_of_kind=read))


@pytest.mark.parametrize(
    ("read", "state"),
    [
        (ReadOfKind(0, 0, 20), "open"),
        (ReadOfKind(2, 4, 20), "open"),
        (ReadOfKind(3, 3, 20), "ready"),
        (ReadOfKind(2, 4, 4), "ready"),
        (ReadOfKind(2, 3, 4), "open"),
        (ReadOfKind(2, 4, None), "open"),
    ],
)
def test_a_fit_by_the_lamp_wants_three_fixtures_of_the_kind_or_every_cavity_read(read: ReadOfKind, state: str) -> None:
    found = by_lamp(read)
    assert found["state"] == state
    assert ("plan.blocked.by-lamp" in codes(found, "blockers")) == (state == "open")


def test_fewer_readings_change_the_state_and_nothing_of_the_proposal() -> None:
    few, enough = by_lamp(ReadOfKind(1, 1, 20)), by_lamp(ReadOfKind(3, 3, 20))
    assert few["proposal"] == enough["proposal"]
    assert few["blockers"] == [{"code": "plan.blocked.by-lamp", "facts": {"fixtures": 1, "wanted": 3}}]


def test_a_fit_by_readings_wants_no_more() -> None:
    assert by_lamp(ReadOfKind(0, 0, 20), fit("bar") | {"basis": "sample"})["state"] == "ready"


def test_a_trial_bar_that_went_in_stands_in_for_readings() -> None:
    trial = {"tried": 1, "left": 19, "could_refuse": 18, "close": 0, "next": None, "settles": False}
    assert by_lamp(ReadOfKind(1, 1, 20), BY_LAMP | {"trial": trial})["state"] == "ready"


@pytest.mark.parametrize(
    ("change", "state"),
    [
        ({}, "ready"),
        ({"reason": ""}, "open"),
        ({"accepts_lamp": None}, "open"),
        ({"arrangement": "BAR in row 1; DRIVER at 350 mA"}, "open"),
        ({"decision": "convert-as-recommended"}, "open"),
    ],
)
def test_a_manager_accepts_the_lamp_for_the_arrangement_chosen_with_a_reason(
    change: dict[str, Json], state: str
) -> None:
    chosen = by_lamp(ReadOfKind(1, 1, 20))["proposal"]["arrangement"]
    found = by_lamp(ReadOfKind(1, 1, 20), decision=ACCEPTED | {"arrangement": chosen} | change)
    assert found["state"] == state


def test_the_card_s_cautions_say_by_the_lamp() -> None:
    assert "plan.caution.by-lamp" in by_lamp(ReadOfKind(3, 3, 20))["cautions"]
    assert "plan.caution.by-lamp" not in plan()["cautions"]


def test_its_check_says_by_the_lamp() -> None:
    checks = [each["code"] for each in by_lamp(ReadOfKind(3, 3, 20))["proposal"]["checks"]]
    assert "plan.fit-by-lamp.passes" in checks
    assert "plan.fit.passes" not in checks


# -- as sure as the phone says


ALONE = {"position": 5, "row": 2, "cavity": 1, "length_ticks": 382880, "apart_ticks": 1280}


def test_a_cavity_that_stands_alone_in_its_group_keeps_it_back_and_is_said_once() -> None:
    ready = body(fits=[fit("bar") | {"basis": "sample"}])
    held = replace(ready, judged={**ready.judged, "held_by": [{"code": "held.alone", "facts": ALONE}]})
    asked = replace(held, doubts=({"as_entered": "47 3/32", "position": 5},))
    assert plan_group(ready)["state"] == "ready"
    assert plan_group(held)["blockers"] == [{"code": "plan.blocked.reading-alone", "facts": ALONE}]
    assert codes(plan_group(asked), "blockers") == ["plan.blocked.reading-questioned"]


def test_in_the_demo_nothing_is_ready_that_the_phone_would_not_show_green() -> None:
    records = demo_records()
    survey, plans = Survey(records), make_plans(records).plans
    sure = degrees(survey, judge_groups(survey, tables()))
    ready = {group for group in sure if plans[group]["state"] == "ready"}
    green = {group for group, told in sure.items() if told["releasable"]}
    of_fit = {"plan.blocked.by-lamp", "plan.blocked.reading-questioned", "plan.blocked.reading-alone"}
    kept_back = {group for group in sure if of_fit & {each["code"] for each in plans[group]["blockers"]}}
    assert ready
    assert kept_back
    assert ready <= green
    assert not kept_back & green


# -- volts that a label proves


def test_a_range_that_the_ballast_s_label_proves_does_not_also_ask_for_volts() -> None:
    found = plan(group={"supply": {"volts": "not-seen"}})
    assert found["state"] == "ready"
    assert "plan.blocked.no-volts" not in codes(found, "blockers")


@pytest.mark.parametrize("mark", ["not-seen", "other", "120", "277"])
def test_a_label_that_proves_no_range_still_asks_for_volts(mark: str) -> None:
    """A ballast marked with one value may stand on a supply that it does not bear; only a range on a working one proves."""
    found = plan(group={"supply": {"volts": "not-seen"}}, kind={"ballast": {"volts_mark": mark}})
    assert found["state"] == "open"
    assert {"plan.blocked.no-volts", "plan.driver.volts.cannot-tell"} <= set(codes(found, "blockers"))


@pytest.mark.parametrize(("most", "state"), [(480, "ready"), (479, "open"), (347, "open")])
def test_a_label_of_347_to_480_volts_wants_a_driver_for_the_whole_range_and_the_caution(most: int, state: str) -> None:
    driver = DRIVER | {"volts_min": 347, "volts_max": most}
    found = plan(
        items=goods(driver=driver), group={"supply": {"volts": "not-seen"}}, kind={"ballast": {"volts_mark": "347-480"}}
    )
    assert found["state"] == state
    assert "plan.caution.high-volts" in found["cautions"]


def test_every_new_sentence_is_there() -> None:
    sides = ("passes", "fails", "cannot-tell")
    names = [
        f"plan.{item}{part}.{verdict}"
        for item in ("bar-", "driver.", "sensor-")
        for part in ("cold",)
        for verdict in sides
    ]
    names += [
        f"plan.{item}{part}-silent.{verdict}"
        for item in ("bar-", "sensor-")
        for part in ("cold", "heat")
        for verdict in ("passes", "cannot-tell")
    ]
    assert set(names) <= set(words())
    assert MM == 320
