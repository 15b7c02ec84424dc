"""Prediction factors, the converse and change of length against results from outside this project's code."""

from __future__ import annotations

from itertools import pairwise
from math import comb
from random import Random

import pytest
from tests.fit.prediction_factors import factor

from spanwalk.reference import tables
from spanwalk.rules.cavity import Cavity, Sample, trusted_cavity
from spanwalk.rules.fit import Surroundings, change_of_length
from spanwalk.rules.prediction import could_be_shorter, factor_thousandths

TABLE = tables()["prediction"]
EXPANSION = tables()["expansion"]

# One-sided 95 % factors r by exact quadrature, and Bonferroni's t bound, for n readings with n - 1 degrees of
# freedom and m to come; computed independently of this project and checked by simulation.
INDEPENDENT = [
    (3, 1, 3372, 3372),
    (3, 500, 13712, 81637),
    (4, 5, 4472, 5077),
    (5, 20, 5029, 6132),
    (5, 200, 6852, 11290),
    (8, 10, 3516, 3712),
    (10, 50, 4159, 4507),
    (15, 100, 4063, 4276),
    (20, 100, 3856, 3979),
    (30, 500, 4211, 4324),
]


@pytest.mark.parametrize(("n", "m", "exact", "bonferroni"), INDEPENDENT)
def test_the_shipped_factors_are_the_exact_ones(n: int, m: int, exact: int, bonferroni: int) -> None:
    found = factor_thousandths(n, m, n - 1, TABLE)
    assert found is not None
    assert abs(found - exact) <= 2
    assert m == 1 or found < bonferroni


@pytest.mark.parametrize(("degrees", "student"), [(1, 6.314), (2, 2.920), (5, 2.015), (10, 1.812), (40, 1.684)])
def test_for_one_cavity_to_come_it_is_students_t(degrees: int, student: float) -> None:
    """Student's t, one-sided 95 %, any printed table; r = t √(1 + 1/n)."""
    found = factor_thousandths(1, 1, degrees, TABLE)
    assert found is not None
    assert found / 1000 == pytest.approx(student * 2**0.5, abs=0.002)


def test_the_shipped_factors_can_be_made_again() -> None:
    chosen = Random(7)
    for _ in range(12):
        at = [chosen.randrange(len(TABLE[name])) for name in ("n", "degrees", "m")]
        n, degrees, m = (TABLE[name][place] for name, place in zip(("n", "degrees", "m"), at, strict=True))
        assert TABLE["factors"][at[0]][at[1]][at[2]] == pytest.approx(1000 * factor(n, m, degrees), rel=1e-4, abs=1.1)


def test_no_factor_falls_where_it_must_not() -> None:
    factors = TABLE["factors"]
    for fewer, more in pairwise(factors):
        assert all(a >= b for one, other in zip(fewer, more, strict=True) for a, b in zip(one, other, strict=True))
    for of_n in factors:
        assert all(row == sorted(row) for row in of_n)
        assert all(list(column) == sorted(column, reverse=True) for column in zip(*of_n, strict=True))


def test_the_converse_of_sixty_and_fifteen() -> None:
    """P(none | 9 short) = 0.05994 and P(none | 10) = 0.04231 (hypergeometric, computed independently)."""
    assert comb(51, 15) / comb(60, 15) == pytest.approx(0.05994, abs=5e-6)
    assert comb(50, 15) / comb(60, 15) == pytest.approx(0.04231, abs=5e-6)
    assert could_be_shorter(60, 15) == 9


@pytest.mark.parametrize(("population", "n", "short"), [(100, 95, 0), (100, 94, 1), (100, 45, 4), (100, 44, 5)])
def test_the_converse_agrees_with_zero_acceptance_plans(population: int, n: int, short: int) -> None:
    """Of 100, 95 must be read to find one with 95 %, and 45 to find one of five (hypergeometric, c = 0)."""
    assert could_be_shorter(population, n) == short


@pytest.mark.parametrize(("n", "m", "seed"), [(3, 21, 1), (5, 20, 2), (10, 50, 3)])
def test_the_limit_holds_in_95_of_100_buildings(n: int, m: int, seed: int) -> None:
    """Cavities drawn from one normal distribution, 1 mm apart: how often is every unread one as long as the limit says?"""
    draw = Random(seed)
    held = 0
    for _ in range(4000):
        lengths = [round(384_000 + draw.gauss(0, 320)) for _ in range(n + m)]
        read = tuple(Cavity(length, 0, 0, 0) for length in lengths[:n])
        trusted = trusted_cavity(Sample(read, n + m, alike="yes"), TABLE)["terms"]["limit_ticks"]
        held += min(lengths[n:]) >= trusted
    assert held / 4000 >= 0.95 - 0.0104  # three standard errors


@pytest.mark.parametrize(
    ("cover", "material", "grown_mm"),
    [("none", "steel", 0.54), ("polycarbonate", "steel", 2.62)],
)
def test_change_of_length_of_1190_mm_by_40_kelvin(cover: str, material: str, grown_mm: float) -> None:
    """Aluminium 1.11, steel 0.57, polycarbonate 3.19 mm: the differences (computed independently)."""
    bar = {"length_ticks": 1190 * 320, "cover": cover, "rise_k": 0}
    found = change_of_length([bar], 1190 * 320, Surroundings(material, 20, 60), EXPANSION)
    assert found / 320 == pytest.approx(grown_mm, abs=0.006)


@pytest.mark.parametrize(("cover", "grown_mm"), [("none", 1.11), ("polycarbonate", 3.19), ("acrylic", 3.43)])
def test_change_of_length_of_a_bar_that_alone_gets_warm(cover: str, grown_mm: float) -> None:
    """Bar of 1,190 mm, 40 K warmer than a housing that stays at 20 °C (computed independently)."""
    bar = {"length_ticks": 1190 * 320, "cover": cover, "rise_k": 40}
    found = change_of_length([bar], 1190 * 320, Surroundings("steel", 20, 20), EXPANSION)
    assert found / 320 == pytest.approx(grown_mm, abs=0.006)
