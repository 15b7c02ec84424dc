"""Every driver has its own real list of bars, and each check looks at every bar of it: see rules/arrangements/wiring.md."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.planning.some_body import BAR, DRIVER, GROUP, KIND, MM, MONEY, ROOM, fit, item, over, plan, record

from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import Body, Catalogue
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.arrangements.wiring import WiredDriver, Wiring, spots, wired
from spanwalk.rules.arrangements.wiring_checks import (
    check_current,
    check_even,
    check_outputs,
    check_parallel,
    check_voltage,
    check_watts,
)
from spanwalk.rules.checks import CANNOT_TELL, FAILS, PASSES, Check
from spanwalk.words import words

Json = Any


def driver(bars: Sequence[dict[str, Json]], setting_ma: int, on_an_output: int = 1, **changes: Json) -> WiredDriver:
    """A driver with changes, at a setting, with bars of these facets in one row, so many on an output."""
    fill = [item(f"BAR{place}" if bar is not bars[0] else "BAR0", "bar", bar) for place, bar in enumerate(bars)]
    return wired(item("DRIVER", "driver", DRIVER | changes), 1, setting_ma, spots(fill, 1, 1, 1), on_an_output)


def each_ma(found: WiredDriver) -> list[Fraction]:
    return [bar.ma for bar in found.bars]


PARALLEL = {"bars_per_output": 4, "bars_joined": "in parallel", "current": "for each output"}
SERIES = {"bars_per_output": 4, "bars_joined": "in series", "current": "for each output"}
SHORT = BAR | {"rated_ma": 175, "most_ma": 300}


# -- outputs


@pytest.mark.parametrize(("outputs", "verdict"), [(2, FAILS), (3, PASSES), (4, PASSES)])
def test_each_bar_needs_an_output(outputs: int, verdict: str) -> None:
    assert check_outputs(driver([BAR] * 3, 700, outputs=outputs)).verdict == verdict


@pytest.mark.parametrize(
    ("says", "verdict"),
    [
        ({"bars_per_output": 2, "bars_joined": "in series"}, PASSES),
        ({"bars_per_output": 2, "bars_joined": "in parallel"}, PASSES),
        ({"bars_per_output": 1, "bars_joined": "in series"}, FAILS),
        ({"bars_per_output": 1}, FAILS),
        ({"bars_per_output": 2}, CANNOT_TELL),
        ({"bars_per_output": 2, "bars_joined": "not said"}, CANNOT_TELL),
        ({"bars_joined": "in series"}, CANNOT_TELL),
        ({}, CANNOT_TELL),
    ],
)
def test_two_bars_on_an_output_only_where_the_catalogue_says_how_many_and_how(says: Json, verdict: str) -> None:
    assert check_outputs(driver([BAR] * 2, 700, 2, outputs=1, **says)).verdict == verdict


# -- current


@pytest.mark.parametrize(("bars", "each", "verdict"), [(4, 262.5, PASSES), (2, 525, FAILS), (3, 350, PASSES)])
def test_what_four_bars_share_overdrives_two(bars: int, each: float, verdict: str) -> None:
    """1,050 mA; a bar bears 400 mA."""
    found = check_current(driver([BAR | {"most_ma": 400}] * bars, 1050))
    assert (found.facts["each_ma"], found.verdict) == (each, verdict)


@pytest.mark.parametrize(("most", "verdict"), [(349, FAILS), (350, PASSES), (351, PASSES)])
def test_current_counts_to_the_milliampere(most: int, verdict: str) -> None:
    assert check_current(driver([BAR | {"most_ma": most}] * 2, 700)).verdict == verdict


def test_a_third_of_a_milliampere_too_much_is_too_much() -> None:
    """1,000 mA over three bars is 333 1/3 mA."""
    found = check_current(driver([BAR | {"most_ma": 333}] * 3, 1000))
    assert (found.verdict, found.facts["would_do_ma"]) == (FAILS, 999)


def test_a_setting_for_each_output_is_not_shared() -> None:
    assert check_current(driver([BAR | {"most_ma": 350}] * 4, 350, current="for each output")).verdict == PASSES


def test_bars_in_parallel_share_by_their_rated_current() -> None:
    """350 and 175 mA rated: two strings against one. 600 mA divide into 400 and 200."""
    assert each_ma(driver([BAR, SHORT], 600)) == [400, 200]


@pytest.mark.parametrize(("most", "verdict"), [(199, FAILS), (200, PASSES), (201, PASSES)])
def test_each_share_is_held_against_its_own_bar_s_most(most: int, verdict: str) -> None:
    found = check_current(driver([BAR, SHORT | {"most_ma": most}], 600))
    assert (found.verdict, found.facts["bar"], found.facts["each_ma"]) == (verdict, "BAR1", 200)


def test_on_an_output_with_a_current_of_its_own_bars_in_parallel_divide_that() -> None:
    """Two on each of two outputs at 700 mA: 350 mA each."""
    assert each_ma(driver([BAR] * 4, 700, 2, **PARALLEL)) == [350] * 4


def test_bars_in_series_all_get_the_whole_current() -> None:
    assert each_ma(driver([BAR, SHORT, BAR], 350, 3, **SERIES)) == [350] * 3


# -- equal voltages in parallel


@pytest.mark.parametrize(("volts", "verdict"), [(35.4, FAILS), (35.5, PASSES), (36, PASSES), (36.5, PASSES), (36.6, FAILS)])
def test_bars_that_share_a_current_differ_by_no_more_than_the_catalogue_allows(volts: float, verdict: str) -> None:
    """36 V and ± 0.5 V."""
    found = check_parallel(driver([BAR, BAR | {"forward_v": volts}], 700))
    assert found is not None
    assert (found.name, found.verdict) == ("driver.parallel", verdict)


def test_the_least_tolerance_of_the_bars_concerned_counts() -> None:
    found = check_parallel(driver([BAR | {"volts_apart": 2}, BAR | {"forward_v": 37}], 700))
    assert found is not None
    assert (found.verdict, found.facts["may_v"], found.facts["over_by_v"]) == (FAILS, 0.5, 0.5)


@pytest.mark.parametrize(("volts", "verdict"), [(30, FAILS), (36, CANNOT_TELL)])
def test_where_the_catalogue_is_silent_only_bars_of_one_item_share(volts: float, verdict: str) -> None:
    silent = {name: value for name, value in BAR.items() if name != "volts_apart"}
    found = check_parallel(driver([BAR, silent | {"forward_v": volts}], 700))
    assert found is not None
    assert (found.name, found.verdict, found.facts["missing"]) == ("driver.parallel-silent", verdict, ["BAR1"])
    same = check_parallel(driver([silent] * 2, 700))
    assert same is not None
    assert same.verdict == PASSES


def test_bars_on_outputs_with_currents_of_their_own_need_no_equal_voltage() -> None:
    assert check_parallel(driver([BAR, BAR | {"forward_v": 30}], 350, current="for each output")) is None


def test_strings_of_unlike_length_are_not_in_parallel_on_a_shared_current() -> None:
    """Three bars, two in series on an output: 72 V beside 36 V."""
    found = check_parallel(driver([BAR] * 3, 700, 2, bars_per_output=2, bars_joined="in series"))
    assert found is not None
    assert (found.verdict, found.facts["apart_v"]) == (FAILS, 36)


# -- voltage window, at what stands at the output


@pytest.mark.parametrize(("volts", "verdict"), [(26.9, FAILS), (27, PASSES), (42, PASSES), (42.1, FAILS)])
def test_the_bar_must_lie_in_the_voltage_window(volts: float, verdict: str) -> None:
    assert check_voltage(driver([BAR | {"forward_v": volts}], 350)).verdict == verdict


@pytest.mark.parametrize(("low", "high", "verdict"), [(72.1, 90, FAILS), (72, 90, PASSES), (54, 72, PASSES), (54, 71.9, FAILS)])
def test_voltages_in_series_add_up(low: float, high: float, verdict: str) -> None:
    """Two of 36 V."""
    assert check_voltage(driver([BAR] * 2, 350, 2, out_v_min=low, out_v_max=high, **SERIES)).verdict == verdict


def test_each_end_of_the_window_counts_for_each_bar() -> None:
    found = check_voltage(driver([BAR, BAR | {"forward_v": 26}, BAR | {"forward_v": 41}], 350, current="for each output"))
    assert (found.verdict, found.facts["bar_v"]) == (FAILS, 26)


# -- power


@pytest.mark.parametrize(("watts", "verdict"), [(28.7, FAILS), (28.8, PASSES), (28.9, PASSES)])
def test_the_bars_may_take_what_the_driver_gives_and_no_more(watts: float, verdict: str) -> None:
    """Two bars of 36 V at 400 mA take 28.8 W."""
    assert check_watts(driver([BAR] * 2, 800, watts=watts)).verdict == verdict


@pytest.mark.parametrize(("least", "verdict"), [(28.7, PASSES), (28.8, PASSES), (28.9, FAILS)])
def test_the_bars_must_take_the_driver_s_least(least: float, verdict: str) -> None:
    assert check_watts(driver([BAR] * 2, 800, least_watts=least)).verdict == verdict


@pytest.mark.parametrize(("second", "verdict"), [(420, PASSES), (421, FAILS)])
def test_equal_bars_in_one_fixture_are_equally_bright(second: int, verdict: str) -> None:
    """20 % apart shows at most (common practice, no source)."""
    one, other = driver([BAR], 350), driver([BAR], second)
    assert check_even(Wiring((one, other))).verdict == verdict


def test_every_outcome_has_a_sentence() -> None:
    names = ["outputs", "parallel", "current", "voltage", "watts", "even"]
    wanted = {f"plan.driver.{name}.{how}" for name in names for how in ("passes", "fails")}
    wanted |= {f"plan.driver.{name}.cannot-tell" for name in ("outputs", "parallel-silent", "parallel-mixed")} | {"plan.driver.parallel-silent.fails"}
    assert wanted <= set(words())


# -- plans


def demo_strip() -> Body:
    """The demo's catalogue; an 8 ft strip with one T12 at 277 V, 500 × 40 × 30 mm for the driver; all of today's light."""
    records = demo_records()
    kind = over(KIND, {
        "housing": {"body": "strip", "optic": "none", "row_spacing_ticks": None},
        "lamps": {"diameter": "T12", "cap": "Fa8", "nominal_ft": "8 ft", "lamp_w": 75, "rows": 1},
        "ballast": {"ballast": "magnetic", "volts_mark": "not seen"},
        "ballast_space": {"length_ticks": 500 * MM, "width_ticks": 40 * MM, "height_ticks": 30 * MM},
    })  # fmt: skip
    codes = {each["facets"]["identity"]["code"]: each["id"] for each in records if each["type"] == "catalogue_item"}
    fits = [fit(codes["TERN-4"], codes["TERN-3"]), fit(codes["TERN-4"], codes["TERN-4"])]
    judged = {"trusted": {"status": "known", "trusted_ticks": 2362 * MM}, "fits": fits}
    site = record("site", "site", settings={"light_policy": "keep a share of today's light", "keep_light_pct": 100, "light_ceiling_pct": 140})
    room = record("room", "room", **over(ROOM, {"surroundings": {"hottest_c": 30}}))
    return Body(record("group", "group", **GROUP), record("kind", "kind", **kind), room, site, judged, Catalogue.of(records), MONEY, tables())


def test_a_strip_of_4_ft_and_3_ft_on_two_drivers_is_not_driven_beyond_the_3_ft_bar() -> None:
    """Once proposed as ready: TERN-4 + TERN-3 in row 1; 2 × HERON-20 at 500 mA, where TERN-3 bears 400 mA."""
    found = plan_group(demo_strip())
    at_500 = [each["arrangement"] for each in found["feasible"] if each["arrangement"] == "TERN-4 + TERN-3 in row 1; 2 × HERON-20 at 500 mA"]
    assert at_500 == []
    for each in found["feasible"]:
        for one in each["wiring"]:
            assert most_of(one) <= {"TERN-4": 550, "TERN-3": 400}[weakest(one)]
    told = [each for each in found["rejected"] if each["arrangement"].startswith("TERN-4 + TERN-3 in row 1; 2 × HERON-20")]
    assert told or any("TERN-4 + TERN-3 in row 1; 2 × HERON-20" in each["arrangement"] for each in found["feasible"])


def most_of(driver: Json) -> float:
    return max(bar["ma"] for output in driver["outputs"] for bar in output["bars"])


def weakest(driver: Json) -> str:
    return min(bar["bar"] for output in driver["outputs"] for bar in output["bars"])


def test_a_plan_says_which_bar_hangs_on_which_output_of_which_driver() -> None:
    one = item("ONE", "driver", DRIVER | {"outputs": 2, "watts": 20, "settings_ma": [400], "set_by": "dip switches"})
    found = plan(items=[item("BAR", "bar", BAR), one], prices={"bar": 12.9, "one": 14}, kind={"lamps": {"rows": 4}, "ballast_space": {"length_ticks": 440 * MM}})
    wiring = found["proposal"]["wiring"] if found["proposal"] else None
    assert wiring is None or wiring


def test_checks() -> None:
    assert isinstance(check_even(Wiring((driver([BAR] * 2, 700),))), Check)
