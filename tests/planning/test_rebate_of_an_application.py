"""The limit of one rebate application holds for all groups together (common practice, no source)."""

from __future__ import annotations

from spanwalk.rules.money import rebate_of_application
from spanwalk.services.planning.plan_answers import MoneySums
from spanwalk.services.planning.totals import capped

SUMS: MoneySums = {
    "cost": 20_000.0,
    "rebate": 6_200.0,
    "net_cost": 13_800.0,
    "saving_year": 0.0,
    "saving_energy_year": 0.0,
    "first_year_short": 0.0,
    "npv": 4_000.0,
    "lcc": 30_000.0,
    "lcc_as_is": 34_000.0,
}


def test_below_at_and_above_the_limit_of_an_application() -> None:
    assert [rebate_of_application(each, 5_000.0) for each in (4_999.99, 5_000.0, 5_000.01)] == [4_999.99, 5_000, 5_000]


def test_what_the_limit_cuts_is_paid_by_the_customer_at_once() -> None:
    """6,200 - 5,000 = 1,200 less rebate: net cost 13,800 + 1,200, value over the years 4,000 - 1,200, and so on."""
    told = capped(SUMS, {"rebate_cap_application": 5_000})
    assert (told["rebate"], told["net_cost"], told["npv"], told["lcc"]) == (5_000, 15_000, 2_800, 31_200)
    assert (told["cost"], told["lcc_as_is"]) == (20_000, 34_000)


def test_without_a_limit_and_without_a_sum_nothing_changes() -> None:
    assert capped(SUMS, {}) == SUMS
    lacking: MoneySums = {**SUMS, "rebate": None, "npv": None}
    assert capped(lacking, {"rebate_cap_application": 5_000}) == lacking
