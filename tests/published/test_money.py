"""Economics against published figures.

A. Docstrings of numpy-financial 1.0.0. B. University training centre notes on economics (npv, payback). C. Engineering
economics report of the Army Corps of Engineers. D. Engineering-economy lecture notes. E. Lecture notes on lighting
savings. F. 10 CFR 436.22. G. Weatherisation training sheet. H. Present-value factors at 3 % (Handbook 135, from
memory). All read, but H.
"""

from __future__ import annotations

import numpy_financial
import pytest
from scipy.optimize import brentq

from spanwalk.rules.money import life_cycle, money
from spanwalk.rules.money.money import Kept, Terms

TEN_PERCENT = Terms(0.10, 0.0, 5)


def test_the_present_value_is_the_printed_one() -> None:
    """A."""
    assert money.npv(0.08, [-40_000, 5_000, 8_000, 12_000, 30_000]) == pytest.approx(3065.22267, abs=1e-4)


@pytest.mark.parametrize(
    ("flows", "printed"), [([-100, 39, 59, 55, 20], 0.28095), ([-100, 0, 0, 74], -0.0955)], ids=str
)
def test_the_rate_of_return_is_the_printed_one(flows: list[float], printed: float) -> None:
    """A."""
    assert money.irr(flows) == pytest.approx(printed, abs=1e-5)


@pytest.mark.parametrize("last", [-7, 7])
def test_flows_that_turn_more_than_once_have_no_one_rate_of_return(last: float) -> None:
    """A prints −0.0833 for −100, 100, 0, −7, one of several; we say there is none. With +7 they turn once: 0.06206."""
    found = money.irr([-100, 100, 0, last])
    assert found is None if last < 0 else found == pytest.approx(0.06206, abs=1e-5)


@pytest.mark.parametrize("years", [2, 10, 30])
@pytest.mark.parametrize("saving", [1.0, 120.0, 900.0])
def test_rates_of_return_agree_with_the_reference_package(years: int, saving: float) -> None:
    flows = [-1_000.0, *[saving] * years]
    reference = numpy_financial.irr(flows)
    found = money.irr(flows)
    if found is None:
        assert reference < -0.98 or reference != reference
    else:
        assert found == pytest.approx(reference, abs=1e-9)


def test_five_years_of_savings_at_ten_percent() -> None:
    """B prints 686 with factors of three digits; exact 686.18."""
    assert money.reckon(5_000, 0, 1_500, 0, TEN_PERCENT).npv == pytest.approx(686.18, abs=0.01)


def test_a_rebate_shortens_the_payback() -> None:
    """B. 12,000 less 2,000, 4,000 a year: 2.5 years."""
    assert money.reckon(12_000, 2_000, 4_000, 0, TEN_PERCENT).simple_payback_years == 2.5


def test_discounted_payback_falls_between_the_third_and_the_fourth_year() -> None:
    """B. Sums printed −15,455, −8,847, −1,337, 5,493 (three digits): between 3 and 4; straight line 3.195."""
    found = money.discounted_payback_years(0.10, [-20_000, 5_000, 8_000, 10_000, 10_000])
    assert found == pytest.approx(3.195, abs=0.001)


def test_the_page_that_prints_a_discounted_payback_of_three_and_a_half_is_not_followed() -> None:
    """B prints about 3.5 for 15,000 and 5,000 a year at 10 %; it is 3.75."""
    found = money.discounted_payback_years(0.10, [-15_000, *[5_000] * 5])
    assert found == pytest.approx(3.751, abs=0.001)


def test_a_saving_for_twenty_years_is_worth_what_the_corps_prints() -> None:
    """C. 500 a year, 4 %, 20 years: 6,795."""
    assert 500 * money.annuity_factor(0.04, 20) == pytest.approx(6795.16, abs=0.01)


def test_factors_for_twenty_years_at_ten_percent() -> None:
    """D. P/F 0.148644, P/A 8.5136, 5,000 P/F + 400 P/A = 4,148.66 printed with rounded factors, 4,148.64 exact."""
    once = money.npv(0.10, [*[0.0] * 20, 1.0])
    assert once == pytest.approx(0.148644, abs=1e-6)
    assert 5_000 * once + 400 * money.annuity_factor(0.10, 20) == pytest.approx(4148.64, abs=0.03)


def test_a_quarter_off_the_lighting_pays_in_under_two_years() -> None:
    """E. 90,000 kWh a month, half of it light, a quarter saved at 0.10: 13,500 a year; 25,000 pays in 1.852 years."""
    saving = 90_000 * 0.5 * 0.25 * 0.10 * 12
    assert saving == pytest.approx(13_500)
    assert money.simple_payback_years(25_000, saving) == pytest.approx(1.852, abs=0.001)


def test_the_adjusted_rate_of_return_is_what_the_regulation_says() -> None:
    """F. (terminal value / present value of investment)^(1/n) − 1, which equals (1 + r) SIR^(1/n) − 1."""
    terms, saving, cost = Terms(0.03, 0.0, 10), 150.0, 1_000.0
    terminal = sum(saving * 1.03 ** (10 - year) for year in range(1, 11))
    sir = money.reckon(cost, 0, saving, 0, terms).sir
    assert sir is not None
    assert money.airr_share(sir, terms) == pytest.approx((terminal / cost) ** 0.1 - 1, abs=1e-12)


@pytest.mark.parametrize(("years", "saving", "cost", "printed"), [(25, 100, 400, 6.25), (5, 25, 200, 0.625)])
def test_savings_to_investment_without_discount(years: int, saving: float, cost: float, printed: float) -> None:
    """G; the sheet cuts 0.625 to .62."""
    assert money.reckon(cost, 0, saving, 0, Terms(0.0, 0.0, years)).sir == pytest.approx(printed, abs=0.006)


@pytest.mark.parametrize(
    ("years", "single", "uniform"),
    [(1, 0.971, 0.97), (5, 0.863, 4.58), (10, 0.744, 8.53), (15, 0.642, 11.94), (20, 0.554, 14.88), (25, 0.478, 17.41)],
)
def test_federal_factors_at_three_percent(years: int, single: float, uniform: float) -> None:
    """H."""
    assert money.npv(0.03, [*[0.0] * years, 1.0]) == pytest.approx(single, abs=0.0005)
    assert money.annuity_factor(0.03, years) == pytest.approx(uniform, abs=0.005)


@pytest.mark.parametrize("rate", [0.01, 0.05, 0.13])
@pytest.mark.parametrize("years", [1, 7, 25])
def test_present_values_and_annuities_agree_with_the_reference_package(rate: float, years: int) -> None:
    flows = [-10_000.0, *(700.0 * 1.02**year for year in range(years))]
    assert money.npv(rate, flows) == pytest.approx(float(numpy_financial.npv(rate, flows)), abs=1e-6)
    assert money.annuity_factor(rate, years) == pytest.approx(-float(numpy_financial.pv(rate, years, 1)), abs=1e-9)


def test_seven_savings_bought_by_one_cost_have_the_rate_that_a_root_finder_finds() -> None:
    """brentq of scipy on the same polynomial."""
    flows = [-3_000.0, *(700.0 * 1.03**year for year in range(7))]
    assert money.irr(flows) == pytest.approx(float(brentq(lambda rate: money.npv(rate, flows), -0.5, 1)), abs=1e-9)


def test_replacements_and_what_is_left_belong_to_the_investment_not_to_the_savings() -> None:
    """F: 436.22's denominator is investment and replacement less salvage. Sums by hand with the factors of H.

    An invented measure over 20 years at 3 %: 7,000 more at once, 500 more in year 12 (0.701), 200 more left (0.554), 7,000 of
    energy less and 1,000 of upkeep more a year (14.88): savings 6,000 × 14.88 = 89,280, investment 7,000 + 350.50 − 110.80 =
    7,239.70; ratio 12.332; rate 1.03 × 12.332^(1/20) − 1 = 16.79 %; simple payback 7,000 / 6,000 = 1.167 years.
    """
    terms = Terms(0.03, 0.0, 20)
    kept = Kept(-1_000.0, ({"year": 12, "cost": 500.0},), 200.0)
    result = money.reckon(7_000.0, 0.0, 7_000.0, 0.0, terms, 0.0, kept)
    told = life_cycle.told(life_cycle.terms_of(result, terms), 7_000.0, result.saving_year, terms)["measures"]
    assert told["savings_worth"] == pytest.approx(89_280, abs=20)
    assert told["investment_worth"] == pytest.approx(7_239.70, abs=1)
    assert told["sir"] == pytest.approx(12.332, abs=0.004)
    assert told["airr_share"] == pytest.approx(0.1679, abs=0.0001)
    assert told["simple_payback_years"] == pytest.approx(1.1667, abs=0.0001)
    assert told["npv"] == pytest.approx(89_280 - 7_239.70, abs=20)


def test_the_adjusted_rate_is_the_modified_one_of_the_reference_package() -> None:
    """A: `mirr` with one rate for both ways. It gathers all money in and all out, so it agrees where nothing is paid again."""
    terms = Terms(0.05, 0.02, 12)
    result = money.reckon(1_000.0, 0.0, 180.0, 0.0, terms)
    told = life_cycle.told(life_cycle.terms_of(result, terms), 1_000.0, result.saving_year, terms)["measures"]
    flows = money.flows_of(result, terms)
    assert told["airr_share"] == pytest.approx(float(numpy_financial.mirr(flows, 0.05, 0.05)), abs=5e-5)
