"""Failures over time against published remission times, against scipy's own estimate, and against hand arithmetic."""

from __future__ import annotations

import math
import random

import pytest
from scipy import stats

from spanwalk.rules.money.failure_curve import Unit, against_expected, expected_failed_pct, failure_curve

REMISSION = [(6, 1), (6, 1), (6, 1), (6, 0), (7, 1), (9, 0), (10, 1), (10, 0), (11, 0), (13, 1), (16, 1), (17, 0), (19, 0),
             (20, 0), (22, 1), (23, 1), (25, 0), (32, 0), (32, 0), (34, 0), (35, 0)]  # fmt: skip
"""Weeks of remission of 21 patients under 6-MP, 1: it ended then (Freireich et al., Blood 21 (1963) 699-716, from memory)."""
SHARES = {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}
"""The product-limit estimate of these in textbooks (Kleinbaum and Klein, Survival Analysis, chapter 2, from memory)."""


def units_of(pairs: list[tuple[int, int]]) -> list[Unit]:
    return [Unit(hours, bool(failed)) for hours, failed in pairs]


def test_the_published_estimate_of_the_remission_times_is_met_to_three_digits() -> None:
    ours = {step["hours"]: round(1 - step["failed_pct"] / 100, 3) for step in failure_curve(units_of(REMISSION))}
    assert ours == SHARES


@pytest.mark.filterwarnings("ignore:The confidence interval is undefined")
@pytest.mark.parametrize("seed", range(20))
def test_shares_and_ranges_are_those_of_scipy_for_drawn_items(seed: int) -> None:
    drawn = random.Random(seed)
    units = [Unit(drawn.randint(1, 40) * 500, drawn.random() < 0.3) for _ in range(drawn.randint(5, 300))]
    steps = failure_curve(units)
    data = stats.CensoredData.right_censored([u.hours for u in units], [not u.failed for u in units])
    theirs = stats.ecdf(data).sf
    band = theirs.confidence_interval(0.95, method="log-log")
    assert [step["hours"] for step in steps] == sorted({u.hours for u in units if u.failed})
    for step in steps:
        assert step["failed_pct"] == pytest.approx(100 * (1 - float(theirs.evaluate(step["hours"]))), abs=1e-3)
        if step["low_pct"] is None or step["high_pct"] is None:
            continue
        assert step["low_pct"] == pytest.approx(100 * (1 - float(band.high.evaluate(step["hours"]))), abs=1e-3)
        assert step["high_pct"] == pytest.approx(100 * (1 - float(band.low.evaluate(step["hours"]))), abs=1e-3)


def test_nothing_failed_is_no_curve_and_all_failed_ends_at_a_hundred_without_a_range() -> None:
    assert failure_curve([]) == failure_curve([Unit(500, False)]) == []
    (step,) = failure_curve([Unit(500, True), Unit(500, True)])
    assert (step["failed_pct"], step["low_pct"], step["high_pct"]) == (100.0, None, None)


def test_an_item_seen_to_work_up_to_the_hour_of_a_failure_was_at_work_then() -> None:
    (step,) = failure_curve([Unit(500, True), Unit(500, False)])
    assert (step["at_work"], step["failed_pct"]) == (2, 50.0)


def test_the_expected_curve_meets_the_data_sheet_at_the_end_of_life_and_rises_by_a_constant_rate() -> None:
    assert expected_failed_pct(50_000, 50_000, 10) == pytest.approx(10)
    assert expected_failed_pct(100_000, 50_000, 10) == pytest.approx(19)  # 1 - 0.9 × 0.9
    assert expected_failed_pct(0, 50_000, 10) == 0


@pytest.mark.parametrize("failed", [0, 1, 3, 12])
def test_how_seldom_so_many_fail_by_chance_is_the_poisson_tail_of_scipy(failed: int) -> None:
    units = [Unit(8_000, True)] * failed + [Unit(10_000, False)] * 40
    told = against_expected(units, 60_000, 10)
    mean = -math.log(0.9) * (8_000 * failed + 400_000) / 60_000
    assert told["expected"] == pytest.approx(mean, abs=1e-4)
    assert told["by_chance_pct"] == pytest.approx(100 * stats.poisson.sf(failed - 1, mean), abs=1e-4)
