"""Numbers of many sites as one: against scipy, against sums by hand, and against firms whose parameters are known."""

from __future__ import annotations

import random
from math import exp, log, sqrt

import pytest
from scipy.special import polygamma
from scipy.stats import betabinom

from spanwalk.rules.learning.pooling import pooled_means, pooled_share
from spanwalk.rules.learning.priors import LEAST_SITES, MOST_DEGREES, TAPE_TICKS2, spread_prior, spread_priors
from spanwalk.rules.learning.site_numbers import SiteNumber
from spanwalk.rules.learning.special import digamma, inverse_trigamma, trigamma


def spread(variance_ticks2: float, degrees: int = 12) -> SiteNumber:
    squares = round(variance_ticks2 * degrees)
    return {"of": "spread", "key": "T8/4-ft", "n": degrees + 3, "total": 0, "squares": squares, "degrees": degrees}


@pytest.mark.parametrize("x", [0.02, 0.5, 1.0, 2.5, 7.0, 11.99, 12.0, 90.0])
def test_digamma_and_trigamma_are_those_of_scipy(x: float) -> None:
    assert digamma(x) == pytest.approx(float(polygamma(0, x)), rel=1e-11)
    assert trigamma(x) == pytest.approx(float(polygamma(1, x)), rel=1e-11)
    assert inverse_trigamma(trigamma(x)) == pytest.approx(x, rel=1e-9)


def test_a_mean_over_sites_that_differ_is_derived_by_hand() -> None:
    """Means 1, 2, 6 of variance 1: fixed mean 3, Q = 14, c = 3 - 3/3 = 2, so (14 - 2) / 2 = 6 lies between them."""
    found = pooled_means([1.0, 2.0, 6.0], [1.0, 1.0, 1.0])
    assert (found.mean, found.between, found.sites) == (pytest.approx(3), pytest.approx(6), 3)
    assert found.variance_of_mean == pytest.approx(7 / 3)


def test_one_site_has_nothing_between_it_and_others() -> None:
    assert pooled_means([5.0], [2.0]).between == 0


def test_a_share_over_sites_finds_what_a_beta_binomial_was_made_with() -> None:
    """Sites drawn by scipy from Beta(4, 36): share 0.1, standard deviation sqrt(0.09 / 41) = 0.0469."""
    sizes = [40 + 7 * at % 60 for at in range(1500)]
    hits = betabinom.rvs(sizes, 4, 36, random_state=5)
    found = pooled_share(list(zip(map(int, hits), sizes, strict=True)))
    assert found.share == pytest.approx(0.1, abs=0.004)
    assert found.between_share == pytest.approx(sqrt(0.09 / 41), abs=0.004)


@pytest.mark.parametrize("counts", [[(0, 10), (0, 20)], [(10, 10), (20, 20)], [(3, 10)]])
def test_a_share_of_all_or_none_or_of_one_site_has_nothing_between(counts: list[tuple[int, int]]) -> None:
    assert pooled_share(counts).between_share == 0


def test_a_prior_finds_the_distribution_that_sites_came_from() -> None:
    """400 sites whose variance is 10 × 60,000 / chi-square(10): the prior finds the 60,000 and nearly the ten degrees."""
    rng = random.Random(3)
    sites = []
    for _ in range(400):
        variance = 10 * 60_000 / rng.gammavariate(5, 2)
        sites.append(spread(variance * rng.gammavariate(6, 2) / 12))
    found = spread_prior(sites)
    assert found is not None
    assert found.firm.squares_ticks2 / found.firm.degrees == pytest.approx(60_000, rel=0.1)
    assert 8 <= found.firm.degrees <= 12
    assert (found.firm.sites + found.left_out, found.left_out <= 40) == (400, True)


def test_however_alike_sites_are_they_count_for_no_more_than_twenty_readings() -> None:
    found = spread_prior([spread(60_000)] * 30)
    assert found is not None
    assert found.firm.degrees == MOST_DEGREES


def test_too_few_sites_tell_nothing() -> None:
    assert spread_prior([spread(60_000)] * (LEAST_SITES - 1)) is None
    assert spread_prior([spread(60_000)] * LEAST_SITES) is not None
    assert spread_prior([spread(60_000, degrees=1)] * 20) is None


def test_sites_that_differ_too_much_tell_nothing() -> None:
    assert spread_prior([spread(60_000 * exp(at)) for at in range(-4, 5)]) is None


def test_few_sites_count_for_less_than_many_that_differ_as_much() -> None:
    few = spread_prior([spread(60_000 * exp(at), 40) for at in (-0.6, -0.3, 0, 0.3, 0.6)])
    many = spread_prior([spread(60_000 * exp(at), 40) for at in (-0.6, -0.3, 0, 0.3, 0.6) * 6])
    assert few is not None
    assert many is not None
    assert few.firm.degrees < many.firm.degrees


@pytest.mark.parametrize("odd_ticks2", [TAPE_TICKS2, 60_000 * 40])
def test_one_odd_site_in_ten_is_left_out(odd_ticks2: int) -> None:
    usual = [spread(60_000 * exp(0.1 * (at - 4)), 24) for at in range(9)]
    found, without = spread_prior([*usual, spread(odd_ticks2, 24)]), spread_prior(usual)
    assert found is not None
    assert without is not None
    assert (found.left_out, found.firm) == (1, without.firm)


def test_of_nine_sites_none_is_left_out_and_an_odd_one_makes_the_prior_weaker() -> None:
    usual = [spread(60_000 * exp(0.1 * (at - 4)), 24) for at in range(8)]
    found, without = spread_prior([*usual, spread(60_000 * 6, 24)]), spread_prior(usual)
    assert found is not None
    assert without is not None
    assert found.left_out == 0
    assert found.firm.degrees < without.firm.degrees


def test_readings_that_were_copied_are_no_narrower_than_a_tape_tells() -> None:
    found = spread_prior([spread(0)] * 6)
    assert found is not None
    assert found.firm.squares_ticks2 >= TAPE_TICKS2 * found.firm.degrees


def test_each_kind_has_a_prior_of_its_own() -> None:
    sites = [[spread(60_000), {**spread(90_000), "key": "T12/8-ft"}] for _ in range(5)]
    sites.append([{**spread(90_000), "key": "T5/4-ft"}])
    found = spread_priors(sites)
    assert list(found) == ["T12/8-ft", "T8/4-ft"]
    assert log(found["T12/8-ft"].firm.squares_ticks2 / found["T8/4-ft"].firm.squares_ticks2) == pytest.approx(
        log(1.5), abs=1e-4
    )
