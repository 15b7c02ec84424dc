"""The limit of one rebate application holds for all groups together (common practice, no source)."""

from __future__ import annotations

from tests.planning import some_body

from spanwalk.rules.money.job_money import Limits
from spanwalk.rules.money.money import rebate_of_application
from spanwalk.services.planning.job_sums import JobBasis, capped
from spanwalk.services.planning.plan_answers import MoneySums
from spanwalk.services.releases.sums import Figures, sums

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
    told = capped(SUMS, 5_000)
    assert (told["rebate"], told["net_cost"], told["npv"], told["lcc"]) == (5_000, 15_000, 2_800, 31_200)
    assert (told["cost"], told["lcc_as_is"]) == (20_000, 34_000)


def test_without_a_limit_and_without_a_sum_nothing_changes() -> None:
    assert capped(SUMS, None) == SUMS
    lacking: MoneySums = {**SUMS, "rebate": None, "npv": None}
    assert capped(lacking, 5_000) == lacking


def group_of(**money: float) -> Figures:
    return {"money": {**dict.fromkeys(SUMS, 0.0), **money}}


def application_of(groups: list[Figures], most: float | None) -> MoneySums:
    """Sums of groups that a release froze before platform days and goods were frozen apart."""
    by_id = {str(place): each for place, each in enumerate(groups)}
    return sums(by_id, JobBasis(Limits(most=most), 0.0), {}, 0)["sums"]


def test_the_groups_of_a_release_are_held_to_the_limit_together() -> None:
    """By hand: rebates 3,000 + 2,500 = 5,500, of which 5,000 are paid; net 4,000 + 5,500 = 9,500, and 500 more = 10,000."""
    groups = [
        group_of(cost=7_000, rebate=3_000, net_cost=4_000, npv=900, lcc=11_000),
        group_of(cost=8_000, rebate=2_500, net_cost=5_500, npv=100, lcc=12_000),
    ]
    told = application_of(groups, 5_000)
    assert (told["cost"], told["rebate"], told["net_cost"]) == (15_000, 5_000, 10_000)
    assert (told["npv"], told["lcc"]) == (500, 23_500)
    assert application_of(groups, None)["rebate"] == 5_500


def test_a_release_that_lacks_a_rebate_has_no_sum_of_rebates() -> None:
    without: Figures = {"money": {"cost": 7_000.0}}
    assert application_of([group_of(rebate=9_000), without], 5_000)["rebate"] is None


def test_a_group_alone_gets_no_more_than_an_application_pays() -> None:
    """Ten working fixtures at 12 are 120; an application that pays 100 leaves 20 more to be paid at once."""
    free = some_body.plan()["proposal"]["money"]
    held = some_body.plan(money={**some_body.MONEY, "rebate_cap_application": 100})["proposal"]["money"]
    assert (free["rebate"], held["rebate"]) == (120, 100)
    assert held["net_cost"] - free["net_cost"] == 20
    assert round(free["npv"] - held["npv"], 2) == 20
