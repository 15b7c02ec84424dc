"""Spares for misfits against scipy's distributions: Student's, and Poisson's."""

from __future__ import annotations

import math
from itertools import product

import pytest
from scipy import stats

from spanwalk.rules.fit.spares import enough_spares, misfits_expected, student_share


@pytest.mark.parametrize(
    ("t", "degrees"), list(product((-40.0, -6.0, -2.0, -0.3, 0.0, 0.3, 2.0, 6.0), (1, 2, 3, 9, 30, 200, 5000)))
)
def test_the_share_of_students_distribution_is_scipys(t: float, degrees: int) -> None:
    assert student_share(t, degrees) == pytest.approx(stats.t.cdf(t, degrees), rel=1e-9, abs=1e-14)


@pytest.mark.parametrize(
    "expected",
    [0.0, 0.001, 0.05129, 0.0513, 0.35536, 0.35537, 1.0, 2.0, 7.5, 40.0, 81.0, 700.0, 745.0, 746.0, 2_000.0, 1e6],
)
def test_enough_is_the_95th_percentile_of_poissons_distribution(expected: float) -> None:
    assert enough_spares(expected) == max(0, stats.poisson.ppf(0.95, expected))


def test_misfits_are_predicted_for_each_further_cavity() -> None:
    terms = {"mean_ticks": 384_000, "systematic_ticks": 240, "spread_ticks": 253, "degrees": 4}
    trusted = {"basis": "sample", "n": 5, "m": 20, "terms": terms, "could_be_shorter": 9}
    below = (383_500 - (384_000 - 240)) / (253 * math.sqrt(1 + 1 / 5))
    assert misfits_expected(trusted, 383_500) == pytest.approx(20 * stats.t.cdf(below, 4), rel=1e-9)


@pytest.mark.parametrize(
    ("change", "expected"), [({"basis": "lamp"}, 0.0), ({"basis": "all", "m": 0}, 0.0), ({"could_be_shorter": 2}, 2.0)]
)
def test_none_where_the_length_is_proved_and_no_more_than_the_converse_allows(
    change: dict[str, object], expected: float
) -> None:
    terms = {"mean_ticks": 384_000, "systematic_ticks": 240, "spread_ticks": 253, "degrees": 4}
    trusted = {"basis": "sample", "n": 5, "m": 20, "terms": terms, "could_be_shorter": 9} | change
    assert misfits_expected(trusted, 385_000) == expected
