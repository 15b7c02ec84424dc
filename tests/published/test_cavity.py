"""Prediction factors, the converse and change of length against results from outside this project's code."""

from __future__ import annotations

import csv
from itertools import pairwise
from math import ceil, comb, log, sqrt
from pathlib import Path
from random import Random

import pytest
from scipy import stats
from tests.fit.prediction_factors import factor

from spanwalk.reference import tables
from spanwalk.rules.fit.cavity import Cavity, Sample, trusted_cavity
from spanwalk.rules.fit.fit import Surroundings, change_of_length
from spanwalk.rules.fit.prediction import could_be_shorter, factor_thousandths

TABLE = tables()["prediction"]
EXPANSION = tables()["expansion"]

HERE = Path(__file__).parent


def numbers(name: str) -> list[list[float]]:
    """Rows of a file of figures, its head left out."""
    with (HERE / name).open(encoding="utf-8") as file:
        return [[float(cell) for cell in row] for row in list(csv.reader(file))[1:]]


@pytest.mark.parametrize(("n", "m", "exact", "bonferroni"), numbers("prediction_factors.csv"))
def test_the_shipped_factors_are_the_exact_ones(n: float, m: float, exact: float, bonferroni: float) -> None:
    """One-sided 95 % factors r by exact quadrature, n - 1 degrees of freedom, m to come: computed independently of this
    project and checked by simulation (scope as ISO 16269-8:2004). Bonferroni's bound, t(0.05/m) √(1 + 1/n) by scipy, is
    never below. Between rows of the table (n = 40, 49 degrees) the factor is up to 2 % more, never less."""
    found = factor_thousandths(round(n), round(m), round(n) - 1, TABLE)
    bound = float(stats.t.isf(0.05 / m, n - 1)) * sqrt(1 + 1 / n)
    assert found is not None
    on_the_grid = n in TABLE["n"] and n - 1 in TABLE["degrees"]
    assert exact - 0.002 <= found / 1000 <= (exact + 0.002 if on_the_grid else 1.02 * exact)
    assert bound == pytest.approx(bonferroni, abs=0.001)
    assert not on_the_grid or found / 1000 <= bound + 0.002


@pytest.mark.parametrize(("degrees", "student"), [(1, 6.314), (2, 2.920), (5, 2.015), (10, 1.812), (40, 1.684)])
def test_for_one_cavity_to_come_it_is_students_t(degrees: int, student: float) -> None:
    """Student's t, one-sided 95 %, any printed table, and scipy's; r = t √(1 + 1/n)."""
    assert float(stats.t.isf(0.05, degrees)) == pytest.approx(student, abs=0.0006)
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
    """P(none | 9 short) = 0.05994 and P(none | 10) = 0.04231 (hypergeometric, inputs read, computed independently).

    The page's bound of 10 is the first number that is shut out; ours, 9, is the last that is not: the same rule.
    """
    assert comb(51, 15) / comb(60, 15) == pytest.approx(0.05994, abs=5e-6)
    assert comb(50, 15) / comb(60, 15) == pytest.approx(0.04231, abs=5e-6)
    assert could_be_shorter(60, 15) == 9


@pytest.mark.parametrize(("population", "short", "read"), numbers("zero_acceptance.csv"))
def test_the_converse_agrees_with_zero_acceptance_plans(population: float, short: float, read: float) -> None:
    """So many must be read, none bad among them, to shut out so many bad ones at 95 %, and one fewer does not do.

    Hypergeometric, c = 0: computed independently, and by scipy here.
    """
    whole, bad, n = round(population), round(short), round(read)
    assert float(stats.hypergeom.pmf(0, whole, bad, n)) <= 0.05 + 1e-12
    assert float(stats.hypergeom.pmf(0, whole, bad, n - 1)) > 0.05
    assert could_be_shorter(whole, n) < bad
    assert could_be_shorter(whole, n - 1) >= bad


@pytest.mark.parametrize("population", [10, 20, 48, 60, 100, 999])
def test_only_nearly_all_read_proves_all_without_a_distribution(population: int) -> None:
    """n / N must reach the confidence: ⌈0.95 N⌉ (exchangeability; computed independently)."""
    proves = [n for n in range(1, population + 1) if could_be_shorter(population, n) == 0]
    assert proves[0] == ceil(0.95 * population)


@pytest.mark.parametrize(("share", "read"), [(0.90, 29), (0.95, 59), (0.99, 299)])
def test_among_very_many_the_converse_is_wilks_first_order(share: float, read: int) -> None:
    """n = ⌈ln 0.05 / ln p⌉: 29 for 90/95 and 299 for 99/95 (interval note, read), 59 for 95/95 (from memory)."""
    many = 1_000_000
    bad = round(many * (1 - share))
    assert ceil(log(0.05) / log(share)) == read
    assert could_be_shorter(many, read) < bad <= could_be_shorter(many, read - 1)


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
