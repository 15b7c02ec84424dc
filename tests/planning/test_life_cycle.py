"""What a conversion is worth over the years: light's own horizon, sensors by area, cooling and heating, upkeep, terms.

Figures by hand in each test. Definitions: 10 CFR 436.19, 436.20, 436.22 (read) and 436.21 (in part), which
NIST Handbook 135 carries out.
"""

from __future__ import annotations

from typing import Any

import numpy_financial
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.planning.some_body import BARS_AND_DRIVER, DRIVER, MM, MONEY, body, item, plan
from tests.planning.test_what_is_left_out import without

from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.money import life_cycle, money
from spanwalk.rules.money.money import Kept, Terms
from spanwalk.rules.money.upkeep import Lasting, Replacement, replacements, residual

Json = Any
TERMS = Terms(0.05, 0.02, 12)
SENSED = {"duty": {"control_now": "switch", "control_wanted": "occupancy", "emergency": "none", "dimming": "none"}}


def proposal(**changes: Json) -> Json:
    found = plan(**changes)["proposal"]
    assert found is not None
    return found


# -- the years that money looks at, and those of light


@pytest.mark.parametrize("years", [1, 5, 12, 30])
def test_the_years_that_money_looks_at_never_change_which_bars_give_the_light(years: int) -> None:
    one, other = plan(), plan(money=MONEY | {"study_years": years})
    assert {each["arrangement"] for each in other["feasible"]} == {each["arrangement"] for each in one["feasible"]}
    assert [each["light"] for each in other["feasible"]] == [each["light"] for each in one["feasible"]]


def test_the_years_of_light_dim_the_bars() -> None:
    early = proposal(settings={"light_years": 5, "light_ceiling_pct": 300})["light"]["then_lm"]
    late = proposal(settings={"light_years": 20, "light_ceiling_pct": 300, "keep_light_pct": 30})["light"]["then_lm"]
    assert late < early


def test_where_a_site_says_no_years_of_light_ten_are_taken_and_said() -> None:
    found = plan_group(without(body(), "site.settings.light_years"))
    assert found["proposal"] is not None
    assert "years of light" in found["wanted"]["assumed"]
    assert found["proposal"]["light"] == proposal(settings={"light_years": 10})["light"]


# -- sensors by what they serve; the room is 10 m × 8 m and 2.76 m high, with ten fixtures


def sensors(*unknown: str, **covers: Json) -> tuple[int, str]:
    """Sensors of the group and why so many; `unknown`: fields that nobody entered."""
    eye = item("EYE", "accessory", {"purpose": "occupancy-sensor", "coldest_c": -20, "hottest_c": 60, **covers})
    prices = {"bar": 12.9, "driver": 16.4, "eye": 30}
    group = body(items=[*BARS_AND_DRIVER, eye], prices=prices, group=SENSED)
    for path in unknown:
        group = without(group, path)
    found = plan_group(group)
    assert found["proposal"] is not None
    [count] = [part["count"] for part in found["proposal"]["parts"] if part["code"] == "EYE"]
    return count, found["money_told"][0]["code"].removeprefix("plan.sensors.")


def test_a_sensor_serves_the_area_that_its_item_says() -> None:
    """80 m² at 30 m² each: three, not ten."""
    assert sensors(covers_m2=30) == (3, "by-area")
    assert sensors(covers_m2=80) == (1, "by-area")


def test_no_fixture_has_more_than_one_sensor() -> None:
    assert sensors(covers_m2=1) == (10, "by-area")


def test_where_the_catalogue_does_not_say_what_a_sensor_serves_each_fixture_takes_one() -> None:
    assert sensors() == (10, "area-not-said")


def test_the_area_holds_up_to_its_height() -> None:
    assert sensors(covers_m2=30, covers_height_ticks=2_760 * MM) == (3, "by-area")
    assert sensors(covers_m2=30, covers_height_ticks=2_760 * MM - 1) == (10, "too-high")


def test_a_room_that_was_not_measured_takes_one_for_each_fixture() -> None:
    assert sensors("room.size.width_ticks", covers_m2=30) == (10, "room-not-measured")
    height = "room.size.height_ticks"
    assert sensors(height, covers_m2=30, covers_height_ticks=3_000 * MM) == (10, "height-not-measured")
    assert sensors(height, covers_m2=30) == (3, "by-area")


# -- cooling and heating


def test_cooling_changes_energy_load_and_emissions_as_it_changes_money() -> None:
    """788.18 kWh and 0.26273 kW saved by the lights; a tenth more of each, and of their emissions at 0.37 kg."""
    plain, cooled = proposal()["energy"], proposal(money=MONEY | {"interactive_pct": 10})["energy"]
    lights_kwh = plain["kwh_now"] - plain["kwh_then"]
    assert plain["kwh_saved"] == pytest.approx(lights_kwh)
    assert cooled["kwh_now"] - cooled["kwh_then"] == pytest.approx(lights_kwh)
    for name in ("kwh_saved", "kw_saved", "emission_saved_kg"):
        assert cooled[name] == pytest.approx(1.1 * plain[name], abs=1e-4)


def test_load_may_have_a_share_of_its_own() -> None:
    both = proposal(money=MONEY | {"interactive_pct": 10, "interactive_kw_pct": 25})["energy"]
    plain = proposal()["energy"]
    assert both["kw_saved"] == pytest.approx(1.25 * plain["kw_saved"], abs=1e-4)
    assert both["kwh_saved"] == pytest.approx(1.1 * plain["kwh_saved"], abs=1e-4)


def test_the_fuel_of_heating_is_apart_and_takes_from_money_and_emissions() -> None:
    """30 % of 788.18 kWh are 236.45 kWh of fuel: at 0.04 they cost 9.46 a year, at 0.2 kg they emit 47.29 kg."""
    fuel = {"heating_pct": 30, "heating_per_kwh": 0.04, "heating_kg_per_kwh": 0.2}
    plain, heated = proposal(), proposal(money=MONEY | fuel)
    assert heated["energy"]["heating_kwh"] == pytest.approx(236.45, abs=0.01)
    assert heated["energy"]["kwh_saved"] == plain["energy"]["kwh_saved"]
    assert plain["money"]["saving_year"] - heated["money"]["saving_year"] == pytest.approx(9.46, abs=0.01)
    less = plain["energy"]["emission_saved_kg"] - heated["energy"]["emission_saved_kg"]
    assert less == pytest.approx(47.29, abs=0.01)


def test_heating_fuel_without_a_price_is_told_as_left_out() -> None:
    assert {"price of heating fuel", "emissions of heating fuel"} <= set(
        plan(money=MONEY | {"heating_pct": 30})["uncounted"]
    )


# -- upkeep and replacements


def test_without_prices_of_lamps_and_lives_of_drivers_nothing_is_kept_up() -> None:
    terms = proposal()["money"]["life_told"]["terms"]
    assert (terms["upkeep_year"], terms["replaced"], terms["residual"]) == (0, [], 0)


def test_lamps_that_fail_are_saved() -> None:
    """20 lamps, 3,000 h of 20,000 h: 3 a year, each 4.10 + 0.90 disposal + 15 min of 68 an hour + 50 for a call of two: 47."""
    upkeep = {"lamp_each": 4.1, "lamp_life_h": 20_000, "lamp_change_min": 15, "call_out_each": 50, "changes_a_call": 2}
    plain, kept = proposal(), proposal(money=MONEY | upkeep)
    assert kept["money"]["life_told"]["terms"]["upkeep_year"] == pytest.approx(3 * 47)
    assert kept["money"]["saving_year"] - plain["money"]["saving_year"] == pytest.approx(141, abs=0.01)
    worth = 141 * (1 - 1.05**-12) / 0.05
    assert kept["money"]["npv"] - plain["money"]["npv"] == pytest.approx(worth, abs=0.02)
    assert kept["money"]["lcc"] - plain["money"]["lcc"] == pytest.approx(0, abs=0.02)
    assert kept["money"]["lcc_as_is"] - plain["money"]["lcc_as_is"] == pytest.approx(worth, abs=0.02)


def test_the_tables_lives_stand_in_where_the_site_has_none_of_its_own() -> None:
    """Table `upkeep`: T8 24,000 h: 20 lamps × 3,000 / 24,000 = 2.5 a year; ballasts 50,000 h: ten × 3,000 / 50,000 = 0.6."""
    found = plan(money=MONEY | {"lamp_each": 4, "ballast_each": 19})
    changes = {each["code"]: each["facts"]["changes"] for each in found["money_told"]}
    assert changes == {"plan.upkeep.lamps": 2.5, "plan.upkeep.ballasts": 0.6}


def test_a_driver_that_does_not_last_the_years_is_paid_again_and_what_is_left_comes_back() -> None:
    """24,000 h at 3,000 h are 8 years: ten drivers again after 8, half their price is left after 12."""
    found = proposal(items=[BARS_AND_DRIVER[0], item("DRIVER", "driver", DRIVER | {"life_h": 24_000})])
    terms = found["money"]["life_told"]["terms"]
    again = 10 * (16.4 + 5 / 60 * 68)
    assert terms["replaced"] == [{"year": 8, "cost": pytest.approx(again, abs=0.01)}]
    assert terms["residual"] == pytest.approx(10 * 16.4 / 2, abs=0.01)
    less = again / 1.05**8 - 82 / 1.05**12
    assert proposal()["money"]["npv"] - found["money"]["npv"] == pytest.approx(less, abs=0.02)


@given(life=st.integers(1, 400).map(lambda each: each / 10), years=st.integers(1, 30))
def test_replacements_fall_within_the_years_and_what_is_left_is_a_share(life: float, years: int) -> None:
    items = Lasting(1, life, 100.0, 0.0)
    turns = replacements(items, years)
    assert all(0 < each["year"] <= years for each in turns)
    assert len(turns) * life < years + 1e-9 <= (len(turns) + 1) * life + 2e-9
    assert 0 <= residual(items, years) <= 100


# -- the terms of each figure


def test_the_terms_of_a_plan_add_up_to_its_present_value_to_the_cent() -> None:
    upkeep = {"lamp_each": 4.1, "ballast_each": 19, "ratchet_pct": 80, "interactive_pct": 7}
    driver = item("DRIVER", "driver", DRIVER | {"life_h": 20_000})
    found = proposal(money=MONEY | upkeep, items=[BARS_AND_DRIVER[0], driver])["money"]
    terms, measures = found["life_told"]["terms"], found["life_told"]["measures"]
    plus = terms["energy_worth"] + terms["upkeep_worth"] + terms["residual_worth"]
    minus = terms["short_worth"] + terms["replaced_worth"] + found["net_cost"]
    assert round(plus - minus, 2) == found["npv"] == measures["npv"]
    assert measures["sir"] == pytest.approx(found["sir"], abs=2e-4)
    assert measures["worth_so_far"][0] == -found["net_cost"]
    assert measures["worth_so_far"][-1] == found["npv"]


cents = st.integers(0, 1_000_000).map(lambda each: each / 100)
paid_again: st.SearchStrategy[Replacement] = st.builds(
    lambda year, cost: Replacement(year=year, cost=cost), st.integers(1, 12), cents
)


@settings(max_examples=150)
@given(
    cost=st.integers(100_000, 5_000_000).map(lambda each: each / 100),
    saving=cents,
    upkeep=cents,
    short=st.integers(0, 5_000).map(lambda each: each / 100),
    replaced=st.lists(paid_again, max_size=4),
    left=cents,
    rate=st.sampled_from([0.0, 0.03, 0.05, 0.12]),
)
def test_every_figure_is_what_the_reference_package_makes_of_the_money_by_year(
    cost: float, saving: float, upkeep: float, short: float, replaced: list[Replacement], left: float, rate: float
) -> None:
    """numpy-financial 1.0.0: `npv` of the flows; the ratio from its definition; growth of savings for the rate."""
    terms = Terms(rate, 0.02, 12)
    kept = Kept(upkeep, tuple(replaced), left, upkeep)
    result = money.reckon(cost, 0.0, saving, 0.0, terms, short, kept)
    life = life_cycle.terms_of(result, terms)
    told = life_cycle.told(life, cost, result.saving_year, terms)
    flows = money.flows_of(result, terms)
    assert told["measures"]["flows"] == pytest.approx(flows, abs=0.03)
    assert result.npv == pytest.approx(numpy_financial.npv(rate, flows), abs=1e-3)
    assert told["measures"]["npv"] == round(result.npv, 2) + 0.0
    gains = [0.0] + [saving * 1.02**year + upkeep for year in range(12)]
    gains[1] -= short
    outlay = [cost] + [0.0] * 12
    for each in replaced:
        outlay[each["year"]] += each["cost"]
    outlay[12] -= left
    invested = numpy_financial.npv(rate, outlay)
    if invested > 500:
        sir = numpy_financial.npv(rate, gains) / invested
        assert told["measures"]["sir"] == pytest.approx(sir, abs=1e-4, rel=1e-4)
        grown = sum(gain * (1 + rate) ** (12 - year) for year, gain in enumerate(gains))
        if sir > 0.05:
            # 436.22: the n-th root of the terminal value of savings over the present value of costs, less one.
            assert told["measures"]["airr_share"] == pytest.approx((grown / invested) ** (1 / 12) - 1, abs=2e-4)
    reference = numpy_financial.irr(flows)
    found = money.irr(flows)
    if found is not None and -0.9 < found < 5:
        assert found == pytest.approx(reference, abs=1e-6)
