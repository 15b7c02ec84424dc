"""Every driver has its own real list of bars, and each check looks at every bar of it: see rules/arrangements/wiring/wiring.md."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.planning.some_body import BAR, DRIVER, MM, item, plan

from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.arrangements.wiring.driver_options import DriverOption, fed_by, ways
from spanwalk.rules.arrangements.wiring.driver_with_bars import (
    check_current,
    check_even,
    check_outputs,
    check_parallel,
    check_voltage,
    check_watts,
)
from spanwalk.rules.arrangements.wiring.wiring import WiredDriver, Wiring, spots, wired
from spanwalk.rules.fit import not_converted
from spanwalk.rules.gear.checks import CANNOT_TELL, FAILS, PASSES
from spanwalk.services.planning.plans import make_plans
from spanwalk.words import words

Json = Any


def driver(bars: Sequence[dict[str, Json]], setting_ma: int, on_an_output: int = 1, **changes: Json) -> WiredDriver:
    """A driver with changes, at a setting, with bars of these facets in one row, so many on an output."""
    fill = [item(f"BAR{place}" if bar is not bars[0] else "BAR0", "bar", bar) for place, bar in enumerate(bars)]
    return wired(item("DRIVER", "driver", DRIVER | changes), 1, setting_ma, spots(fill, 1, 1, 1), on_an_output)


def each_ma(found: WiredDriver) -> list[Fraction]:
    return [bar.ma for bar in found.bars]


PARALLEL = {"bars_per_output": 4, "bars_joined": "in-parallel", "current": "for-each-output"}
SERIES = {"bars_per_output": 4, "bars_joined": "in-series", "current": "for-each-output"}
SHORT = BAR | {"rated_ma": 175, "most_ma": 300}


# -- outputs


@pytest.mark.parametrize(("outputs", "verdict"), [(2, FAILS), (3, PASSES), (4, PASSES)])
def test_each_bar_needs_an_output(outputs: int, verdict: str) -> None:
    assert check_outputs(driver([BAR] * 3, 700, outputs=outputs)).verdict == verdict


@pytest.mark.parametrize(
    ("says", "verdict"),
    [
        ({"bars_per_output": 2, "bars_joined": "in-series"}, PASSES),
        ({"bars_per_output": 2, "bars_joined": "in-parallel"}, PASSES),
        ({"bars_per_output": 1, "bars_joined": "in-series"}, FAILS),
        ({"bars_per_output": 1}, FAILS),
        ({"bars_per_output": 2}, CANNOT_TELL),
        ({"bars_per_output": 2, "bars_joined": "not-said"}, CANNOT_TELL),
        ({"bars_joined": "in-series"}, CANNOT_TELL),
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
    assert check_current(driver([BAR | {"most_ma": 350}] * 4, 350, current="for-each-output")).verdict == PASSES


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


@pytest.mark.parametrize(
    ("volts", "verdict"), [(35.4, FAILS), (35.5, PASSES), (36, PASSES), (36.5, PASSES), (36.6, FAILS)]
)
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
    assert check_parallel(driver([BAR, BAR | {"forward_v": 30}], 350, current="for-each-output")) is None


def test_strings_of_unlike_length_are_not_in_parallel_on_a_shared_current() -> None:
    """Three bars, two in series on an output: 72 V beside 36 V."""
    found = check_parallel(driver([BAR] * 3, 700, 2, bars_per_output=2, bars_joined="in-series"))
    assert found is not None
    assert (found.verdict, found.facts["apart_v"]) == (FAILS, 36)


# -- voltage window, at what stands at the output


@pytest.mark.parametrize(("volts", "verdict"), [(26.9, FAILS), (27, PASSES), (42, PASSES), (42.1, FAILS)])
def test_the_bar_must_lie_in_the_voltage_window(volts: float, verdict: str) -> None:
    assert check_voltage(driver([BAR | {"forward_v": volts}], 350)).verdict == verdict


@pytest.mark.parametrize(
    ("low", "high", "verdict"), [(72.1, 90, FAILS), (72, 90, PASSES), (54, 72, PASSES), (54, 71.9, FAILS)]
)
def test_voltages_in_series_add_up(low: float, high: float, verdict: str) -> None:
    """Two of 36 V."""
    assert check_voltage(driver([BAR] * 2, 350, 2, out_v_min=low, out_v_max=high, **SERIES)).verdict == verdict


def test_each_end_of_the_window_counts_for_each_bar() -> None:
    found = check_voltage(
        driver([BAR, BAR | {"forward_v": 26}, BAR | {"forward_v": 41}], 350, current="for-each-output")
    )
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
    wanted |= {f"plan.driver.{name}.cannot-tell" for name in ("outputs", "parallel-silent", "parallel-mixed")} | {
        "plan.driver.parallel-silent.fails"
    }
    assert wanted <= set(words())


# -- plans


@pytest.fixture
def _as_if_the_method_went_to_8_ft(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(not_converted, "TOO_LONG", ())


def strips_in_the_demo() -> Json:
    """The plan of ten strips with one 8 ft T12 each, one dark, at 277 V; 500 × 40 × 30 mm for the driver; all of today's light."""
    records = demo_records()
    site = next(each for each in records if each["type"] == "site")
    site["facets"]["settings"] |= {"light_policy": "keep-a-share-of-todays-light", "keep_light_pct": 100}
    kind = next(each for each in records if each["type"] == "kind" and each["facets"]["identity"]["mark"] == "K4")
    kind["facets"]["lamps"]["rows"] = 1
    kind["facets"]["ballast_space"] = {"length_ticks": 500 * MM, "width_ticks": 40 * MM, "height_ticks": 30 * MM}
    group = next(
        each for each in records if each["type"] == "group" and each["facets"]["identity"]["kind"] == kind["id"]
    )
    group["facets"]["count"]["dark_lamps"] = 1
    room = {group["parent"], kind["id"]}
    few = [
        each for each in records if each["type"] not in ("group", "room", "kind") or each is group or each["id"] in room
    ]
    return plan_group(make_plans(few).body(group["id"]))


@pytest.mark.usefixtures("_as_if_the_method_went_to_8_ft")
def test_a_strip_of_4_ft_and_3_ft_on_two_drivers_is_not_driven_beyond_the_3_ft_bar() -> None:
    """Once the first proposal, ready: TERN-4 + TERN-3 in row 1; 2 × HERON-20 at 500 mA, where TERN-3 bears 400 mA."""
    found = strips_in_the_demo()
    mixed = "TERN-4 + TERN-3 in row 1; 2 × HERON-20"
    assert [each["arrangement"] for each in found["feasible"] if each["arrangement"].startswith(mixed)] == []
    # 400 mA, the most that both bear, give too little light.
    told = next(each for each in found["rejected"] if each["arrangement"] == f"{mixed} at 400 mA")
    assert told["check"] == "light-too-dim"


def test_its_check_tells_the_3_ft_bar_with_its_number() -> None:
    items = {each["facets"]["identity"]["code"]: each for each in demo_records() if each["type"] == "catalogue_item"}
    fed = fed_by(items["HERON-20"], spots([items["TERN-4"], items["TERN-3"]], 1, 1, 1), 2, 1, 500)
    assert fed is not None
    (failed,) = [check for check in fed.checks if check.verdict == FAILS]
    told = {name: failed.facts[name] for name in ("bar", "each_ma", "most_ma", "over_by_ma", "would_do_ma")}
    assert told == {"bar": "TERN-3", "each_ma": 500, "most_ma": 400, "over_by_ma": 100, "would_do_ma": 400}


def test_a_plan_says_which_bar_hangs_on_which_output_of_which_driver() -> None:
    """Four rows on two drivers of two outputs: 400 mA shared by two bars of 36 V, 14.4 W, 16.3636 W at 88 %."""
    two = item("TWO", "driver", DRIVER | {"settings_ma": [800], "set_by": "dip-switches", "outputs": 3})
    changes: Json = {"lamps": {"rows": 4}, "ballast_space": {"length_ticks": 440 * MM}}
    found = plan(items=[item("BAR", "bar", BAR), two], prices={"bar": 12.9, "two": 14}, kind=changes)
    proposal = found["proposal"]
    assert proposal["arrangement"] == "BAR in rows 1, 2, 3, 4; 2 × TWO at 800 mA"
    first, second = proposal["wiring"]
    assert first == {
        "driver": "TWO", "item": "two", "number": 1, "setting_ma": 800, "set_by": "dip-switches", "current": "shared-by-the-bars",
        "outputs": [
            {"output": at, "joined": "alone", "bars": [{"body": "here", "row": at, "cavity": 1, "place": 1, "bar": "BAR", "item": "bar", "ma": 400}]}
            for at in (1, 2)
        ],
        "spare_outputs": [3], "bars_w": 28.8, "mains_w": 32.7273,
    }  # fmt: skip
    assert [output["bars"][0]["row"] for output in second["outputs"]] == [3, 4]
    assert (proposal["drivers_each"], proposal["setting_ma"], proposal["bars_on_one"]) == (2, 800, 2)


def test_rows_in_the_wiring_are_those_of_the_survey() -> None:
    bright = item("BAR", "bar", BAR | {"most_ma": 1000})
    big = item("BIG", "driver", DRIVER | {"watts": 80, "settings_ma": [1500]})
    found = plan(items=[bright, big], prices={"bar": 12.9, "big": 14}, kind={"lamps": {"rows": 4}})
    rows = {
        each["arrangement"]: [output["bars"][0]["row"] for output in each["wiring"][0]["outputs"]]
        for each in found["feasible"]
    }
    assert rows == {"BAR in rows 1, 4; BIG at 1500 mA": [1, 4], "BAR in rows 2, 3; BIG at 1500 mA": [2, 3]}


def test_watts_are_summed_over_the_list_of_each_driver() -> None:
    """4 + 3 ft of 36 and 30 V on a driver each at 350 mA: 12.6 + 10.5 W, not twice one of them."""
    other = item("OTHER", "bar", BAR | {"forward_v": 30})
    fed = fed_by(
        item("ONE", "driver", DRIVER | {"outputs": 1}), spots([item("BAR", "bar", BAR), other], 1, 1, 1), 2, 1, 350
    )
    assert fed is not None
    assert [float(each.bars_w) for each in fed.wiring.drivers] == [12.6, 10.5]


def test_bars_of_unlike_voltage_get_a_driver_each_where_one_would_join_them() -> None:
    """Two outputs are enough for one driver, but it would lay 30 V in parallel with 36 V."""
    (way,) = ways(
        item("D", "driver", DRIVER | {"least_watts": 3}),
        spots([item("BAR", "bar", BAR), item("LOW", "bar", BAR | {"forward_v": 30})], 1, 1, 1),
    )
    assert isinstance(way, DriverOption)
    assert way.number == 2
    assert [[bar.spot.bar["id"] for bar in each.bars] for each in way.lowest.wiring.drivers] == [["bar"], ["low"]]


def test_two_rows_of_unlike_bars_are_dealt_out_by_row_or_by_item_whichever_is_right() -> None:
    """Rows of 36 + 30 V: by row each driver would join them, by item each has bars of one voltage."""
    (way,) = ways(
        item("D", "driver", DRIVER),
        spots([item("BAR", "bar", BAR), item("LOW", "bar", BAR | {"forward_v": 30})], 2, 1, 1),
    )
    assert isinstance(way, DriverOption)
    assert [[bar.spot.bar["id"] for bar in each.bars] for each in way.lowest.wiring.drivers] == [
        ["bar", "bar"],
        ["low", "low"],
    ]


def test_three_equal_bars_on_two_shared_drivers_would_be_unequally_bright_and_say_so() -> None:
    """Two share 700 mA, the third has it alone: 350 and 700 mA."""
    (way,) = ways(
        item("D", "driver", DRIVER | {"settings_ma": [700]}),
        spots([item("BAR", "bar", BAR | {"most_ma": 800})], 3, 1, 1),
    )
    assert isinstance(way, DriverOption)
    assert way.furthest is not None
    assert (way.furthest[1].name, way.furthest[1].facts["apart_pct"]) == ("driver.even", 100)


def test_three_bars_go_on_two_drivers_whose_outputs_have_a_current_of_their_own() -> None:
    (way,) = ways(
        item("D", "driver", DRIVER | {"current": "for-each-output", "settings_ma": [350], "least_watts": 5}),
        spots([item("BAR", "bar", BAR)], 3, 1, 1),
    )
    assert isinstance(way, DriverOption)
    assert [len(each.bars) for each in way.good[0].wiring.drivers] == [2, 1]


def test_several_bars_on_an_output_are_another_arrangement_and_its_name_says_so() -> None:
    """Four outputs for four bars, or two in series on two of them: 72 V."""
    says = {
        "outputs": 4,
        "bars_per_output": 2,
        "bars_joined": "in-series",
        "current": "for-each-output",
        "out_v_max": 80,
        "watts": 80,
        "settings_ma": [400],
    }
    found = plan(
        items=[item("BAR", "bar", BAR), item("D", "driver", DRIVER | says)],
        prices={"bar": 12.9, "d": 14},
        kind={"lamps": {"rows": 4}},
    )
    assert {each["arrangement"] for each in found["feasible"]} == {
        "BAR in rows 1, 2, 3, 4; D at 400 mA",
        "BAR in rows 1, 2, 3, 4; D at 400 mA, 2 in series on an output",
    }
    joined = next(each for each in found["feasible"] if each["arrangement"].endswith("output"))
    (driver,) = joined["wiring"]
    assert [(output["joined"], [bar["row"] for bar in output["bars"]]) for output in driver["outputs"]] == [
        ("in-series", [1, 2]),
        ("in-series", [3, 4]),
    ]
    assert driver["spare_outputs"] == [3, 4]


def test_a_silent_catalogue_gets_no_second_bar_on_an_output_and_says_what_it_lacks() -> None:
    found = plan(
        items=[item("BAR", "bar", BAR), item("D", "driver", DRIVER | {"outputs": 1})],
        prices={"bar": 12.9, "d": 14},
        kind={"lamps": {"rows": 4}},
    )
    told = next(each for each in found["rejected"] if each["arrangement"] == "BAR in rows 1, 2, 3, 4; D")
    assert (told["code"], told["facts"]["missing"]) == (
        "plan.driver.outputs.cannot-tell",
        ["bars on one output", "how they are joined"],
    )
