"""What hours, energy price and cost a fifth lower or higher would change: reckoned anew from changed inputs, it is the same."""

from __future__ import annotations

from typing import Any

import pytest
from tests.planning.some_body import MONEY, plan, record

from spanwalk.services.planning.plans import make_plans
from spanwalk.services.planning.totals import totals

Json = Any
PLACE = {0.8: 0, 1.0: 1, 1.2: 2}
PRICES = {"bar": 12.9, "driver": 16.4}
UNCAPPED = {name: value for name, value in MONEY.items() if name != "rebate_cap_pct"}


def swings(**more: Json) -> Json:
    return plan(**{"money": UNCAPPED, "prices": PRICES, **more})["proposal"]["money"]["sensitivity"]


def figures(found: Json) -> Json:
    money = found["proposal"]["money"]
    return {name: money[name] for name in ("simple_payback_years", "npv", "sir")}


def scaled(names: tuple[str, ...], by: float) -> Json:
    return UNCAPPED | {name: UNCAPPED[name] * by for name in names}


@pytest.mark.parametrize("by", PLACE)
def test_energy_prices_act_on_energy_and_demand(by: float) -> None:
    again = plan(prices=PRICES, money=scaled(("tariff_per_kwh", "demand_per_kw_month"), by))
    assert swings()["tariff"][PLACE[by]] == pytest.approx(figures(again), rel=1e-4)


@pytest.mark.parametrize("by", PLACE)
def test_cost_acts_on_goods_labour_hire_and_waste(by: float) -> None:
    again = plan(
        prices={name: each * by for name, each in PRICES.items()},
        money=scaled(("labour_per_h", "lift_per_day", "lamp_waste_each", "ballast_waste_each"), by),
    )
    assert swings()["cost"][PLACE[by]] == pytest.approx(figures(again), rel=1e-4)


@pytest.mark.parametrize("by", PLACE)
def test_hours_act_on_energy_alone(by: float) -> None:
    """Without a demand price a plan with other hours must come to the same; how bright it is then plays no part in money."""
    free = UNCAPPED | {"demand_per_kw_month": 0}
    again = plan(prices=PRICES, money=free, room={"hours": {"hours_year": round(3000 * by)}})
    assert swings(money=free)["hours"][PLACE[by]] == pytest.approx(figures(again), rel=1e-4)
    with_demand, without = swings()["hours"], swings(money=free)["hours"]
    step = with_demand[1]["npv"] - with_demand[0]["npv"]
    assert step == pytest.approx(without[1]["npv"] - without[0]["npv"], abs=0.02)


def test_what_cannot_be_reckoned_has_no_sensitivity() -> None:
    assert "sensitivity" not in plan(money={"currency": "USD"})["proposal"]["money"]


def test_all_groups_together_swing_as_their_sums() -> None:
    found = make_plans([record("site", "site", settings={})])
    assert totals(found)["money"]["sensitivity"] is None
