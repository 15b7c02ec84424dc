"""What groups come to as one job is reckoned once: platform days, rebate, the meter's peak, spares and packs.

The rules are common practice of the trade, no source; the sums are by hand, and by properties against an independent
reckoning in whole cents.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal
from math import ceil
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from spanwalk.rules.money.job_money import Alone, JobTerms, Limits, job, shares_of
from spanwalk.rules.money.life_cycle import LifeTerms
from spanwalk.services.planning.job_sums import JobBasis, OfGroup, basis_of, frozen, job_sums, thawed

PER_DAY = 240.0


def terms(**more: float) -> JobTerms:
    found: JobTerms = {
        "goods": 0.0,
        "hire_minutes": 0.0,
        "hire_per_day": PER_DAY,
        "rebate_asked": 0.0,
        "peak_kw": 0.0,
        "peak_saved_kw": 0.0,
        "demand_kw_month": 0.0,
    }
    return {**found, **more}  # type: ignore[typeddict-item]


def lifted(minutes: float, route: str = "ground", other_cost: float = 100.0) -> Alone:
    days = ceil(minutes / 420)
    return Alone(route, other_cost + days * PER_DAY, 0.0, 0.0, terms(hire_minutes=minutes))


def test_twelve_rooms_of_an_hour_need_two_days_of_a_platform_not_twelve() -> None:
    """12 × 60 min = 720 min; of 420 min a day that is two days: 12 × 100 + 2 × 240 = 1,680, not 12 × 340 = 4,080."""
    found = job([lifted(60)] * 12, Limits(), None)
    assert (found["days_alone"], found["days"], found["cost"]) == (12, 2, 1_680)
    assert found["steps"] == [{"what": "hire", "by": -2_400}]


def test_a_platform_is_brought_anew_to_another_floor() -> None:
    """200 + 200 min on the ground floor are one day, 30 min on the first another."""
    found = job([lifted(200), lifted(200), lifted(30, "first")], Limits(), None)
    assert (found["days_alone"], found["days"]) == (3, 2)


def test_a_group_without_a_platform_pays_none() -> None:
    found = job([lifted(420), Alone("ground", 77.0, 0.0, 0.0, terms())], Limits(), None)
    assert (found["days"], found["cost"], found["steps"]) == (1, 417, [])


def test_the_share_of_the_cost_that_a_rebate_pays_at_most_holds_for_the_job() -> None:
    """Asked 500 + 100, at most 40 % of 1,000 + 600: alone 400 + 100, together min(600, 640) = 600."""
    groups = [
        Alone("g", 1_000.0, 400.0, 0.0, terms(rebate_asked=500.0)),
        Alone("g", 600.0, 100.0, 0.0, terms(rebate_asked=100.0)),
    ]
    assert job(groups, Limits(cap_share=0.4), None)["rebate"] == 600
    assert job(groups, Limits(cap_share=0.3), None)["rebate"] == 480
    assert job(groups, Limits(cap_share=0.4, most=550.0), None)["rebate"] == 550


def test_the_ratchet_is_of_the_meter_not_of_each_group() -> None:
    """Each group of 10 kW saves 5: alone 80 % of 10 is billed for eleven months: (8 − 5) × 10 × 11 = 330 each.

    On a meter of 100 kW, 80 kW are billed at least and 90 are drawn: nothing lacks.
    """
    groups = [Alone("g", 0.0, 0.0, 330.0, terms(peak_kw=10.0, peak_saved_kw=5.0, demand_kw_month=10.0))] * 2
    assert job(groups, Limits(ratchet_share=0.8), None)["first_year_short"] == 660
    assert job(groups, Limits(ratchet_share=0.8, meter_peak_kw=100.0), None)["first_year_short"] == 0
    assert job(groups, Limits(ratchet_share=0.8, meter_peak_kw=40.0), None)["first_year_short"] == (32 - 30) * 10 * 11


def test_spares_and_whole_packs_are_in_the_price() -> None:
    groups = [Alone("g", 200.0, 0.0, 0.0, terms(goods=120.0)), Alone("g", 100.0, 0.0, 0.0, terms(goods=60.0))]
    found = job(groups, Limits(), 198.80)
    assert (found["cost"], found["steps"]) == (318.80, [{"what": "goods", "by": 18.8}])


MONEY = {
    "cost": 1_000.0,
    "rebate": 100.0,
    "net_cost": 900.0,
    "saving_year": 300.0,
    "saving_energy_year": 250.0,
    "first_year_short": 0.0,
    "npv": 1_200.0,
    "lcc": 4_000.0,
    "lcc_as_is": 5_200.0,
}


def test_what_the_job_saves_in_cost_is_in_its_value_over_the_years() -> None:
    """Two groups of a day each that take one: 240 less at once; npv 2 × 1,200 + 240, life-cycle cost 2 × 4,000 − 240."""
    group = OfGroup("ground", MONEY, terms(hire_minutes=200.0, rebate_asked=100.0))
    found = job_sums({"a": group, "b": group}, JobBasis(Limits(), 0.05), None)
    assert (found["sums"]["cost"], found["sums"]["net_cost"]) == (1_760, 1_560)
    assert (found["sums"]["npv"], found["sums"]["lcc"], found["alone"]["npv"]) == (2_640, 7_760, 2_400)
    assert found["sums"]["lcc_as_is"] == found["alone"]["lcc_as_is"]


def test_of_a_group_that_a_release_froze_before_there_were_terms_the_figures_are_added_up() -> None:
    old, new = OfGroup("g", MONEY, None), OfGroup("g", MONEY, terms(hire_minutes=200.0, rebate_asked=100.0))
    found = job_sums({"a": old, "b": new}, JobBasis(Limits(most=150.0), 0.05), None)
    assert (found["sums"]["cost"], found["sums"]["rebate"], found["days"], found["shares"]) == (2_000, 150, None, {})


def test_what_holds_for_the_job_is_frozen_and_read_again() -> None:
    basis = basis_of({"rebate_cap_pct": 40, "ratchet_pct": 80, "meter_peak_kw": 180, "discount_pct": 5})
    assert basis == JobBasis(Limits(0.4, None, 0.8, 180), 0.05)
    assert thawed(frozen(basis)) == basis


amounts = st.integers(0, 500_000).map(lambda cents: cents / 100)
groups_of_a_site = st.dictionaries(
    st.text("abcdefgh", min_size=1, max_size=6),
    st.builds(
        lambda route, minutes, goods, other, asked: Alone(
            route, round(goods + other + ceil(minutes / 420) * PER_DAY, 2), asked, 0.0,
            terms(hire_minutes=float(minutes), goods=goods, rebate_asked=asked),
        ),
        st.sampled_from(["ground", "first", "second"]), st.integers(0, 3_000), amounts, amounts, amounts,
    ),
    min_size=1, max_size=12,
)  # fmt: skip


@given(groups_of_a_site, st.one_of(st.none(), st.floats(0.05, 1.0)), st.one_of(st.none(), amounts))
def test_groups_rooms_floors_and_the_job_add_up_to_the_cent(
    groups: dict[str, Alone], cap_share: float | None, more_goods: float | None
) -> None:
    goods = None if more_goods is None else sum(each.terms["goods"] for each in groups.values()) + more_goods
    found = job(list(groups.values()), Limits(cap_share=cap_share), goods)
    shares = shares_of(groups, found)
    assert set(shares) == set(groups)
    for name, total in (("cost", found["cost"]), ("rebate", found["rebate"])):
        assert sum(round(share[name] * 100) for share in shares.values()) == round(total * 100)  # type: ignore[literal-required]
        assert all(share[name] >= 0 for share in shares.values())  # type: ignore[literal-required]


@given(groups_of_a_site, st.randoms(use_true_random=False))
def test_the_parts_of_the_value_over_the_years_add_up_to_the_cent(groups: dict[str, Alone], rng: Random) -> None:
    """A room is some of the groups, a floor some of the rooms: whatever is put together comes to the job's."""
    money = {
        name: {
            **MONEY,
            "cost": each.cost,
            "rebate": each.rebate,
            "net_cost": round(each.cost - each.rebate, 2),
            "npv": rng.randint(-500_000, 500_000) / 100,
        }
        for name, each in groups.items()
    }
    life = {
        name: LifeTerms(
            energy_worth=round(each["npv"] + each["net_cost"] - 1.13 + 2.27 - 3.31, 2),
            upkeep_worth=1.13,
            short_worth=0.0,
            replaced_worth=2.27,
            residual_worth=3.31,
            upkeep_year=0.13,
            residual=5.94,
            replaced=[{"year": 6, "cost": 3.04}],
        )
        for name, each in money.items()
    }
    of_groups = {name: OfGroup(each.route, money[name], each.terms, life[name]) for name, each in groups.items()}
    found = job_sums(of_groups, JobBasis(Limits(most=1_000.0), 0.05, 0.02, 12), None)
    parts = {name: share["npv"] for name, share in found["shares"].items()}
    assert set(parts) == set(groups)
    by_route: dict[str, int] = {}
    for name, part in parts.items():
        assert part is not None
        by_route[groups[name].route] = by_route.get(groups[name].route, 0) + round(part * 100)
    npv = found["sums"]["npv"]
    assert npv is not None
    assert sum(by_route.values()) == round(npv * 100)
    assert found["life"] is not None
    assert found["life"]["measures"]["npv"] == npv
    assert found["life"]["measures"]["worth_so_far"][-1] == npv


@given(groups_of_a_site)
def test_the_job_costs_what_an_independent_reckoning_says_and_never_more_than_its_groups(
    groups: dict[str, Alone],
) -> None:
    cents = Decimal(0)
    for route in ("ground", "first", "second"):
        of_route = [Decimal(each.terms["hire_minutes"]) for each in groups.values() if each.route == route]
        minutes = sum(of_route, Decimal(0))
        cents += (minutes / 420).to_integral_value(ROUND_CEILING) * Decimal(24_000)
    for each in groups.values():
        own_days = (Decimal(each.terms["hire_minutes"]) / 420).to_integral_value(ROUND_CEILING)
        cents += round(Decimal(str(each.cost)) * 100) - own_days * 24_000
    found = job(list(groups.values()), Limits(), None)
    assert round(found["cost"] * 100) == cents
    assert found["cost"] <= round(sum(each.cost for each in groups.values()), 2)
