"""Trusted cavities at the limits that drawn groups seldom meet: below, at, above."""

from __future__ import annotations

import pytest

from spanwalk.reference import tables
from spanwalk.rules.cavity import Cavity, Sample, Spread, gap_between_clusters, joined, measure_more, trusted_cavity
from spanwalk.rules.prediction import factor_thousandths

FACTORS = tables()["prediction"]
TWO_READ = (Cavity(384_000, 240, 300, 0), Cavity(384_320, 240, 300, 0))
"""1,200 and 1,201 mm: s = √51,200 = 226.275 ticks, one degree of freedom; the shortest less its uncertainty is 383,700."""


@pytest.mark.parametrize(("gap", "found"), [(639, None), (640, 640), (641, 641)])
def test_two_makes_stand_2_mm_apart_at_least(gap: int, found: int | None) -> None:
    assert gap_between_clusters([384_000, 384_000, 384_000 + gap, 384_000 + gap]) == found


@pytest.mark.parametrize(("gap", "found"), [(799, None), (800, None), (801, 801)])
def test_two_makes_stand_further_apart_than_twice_the_range_of_either(gap: int, found: int | None) -> None:
    lower, upper = [384_000, 384_400], [384_400 + gap, 384_400 + gap + 100]
    assert gap_between_clusters(lower + upper) == found
    assert gap_between_clusters([-each for each in lower + upper]) == found


def test_of_several_cavities_that_a_gauge_passed_the_shortest_proof_counts() -> None:
    told = trusted_cavity(
        Sample(cavities=(), population=3, gauged_ticks=(384_000, 383_000, 384_500)), FACTORS
    )
    assert (told["status"], told["basis"], told["trusted_ticks"]) == ("known", "all", 383_000)


@pytest.mark.parametrize(("needed_ticks", "more"), [(383_157, 1), (383_158, 2)])
def test_one_more_reading_is_enough_down_to_its_limit(needed_ticks: int, more: int) -> None:
    """r(3, 1, 2) = 3.372 (published): 384,160 - ⌈3.372 × 226.275⌉ - 240 = 383,157; else both that are left are read."""
    assert measure_more(Sample(TWO_READ, population=4), needed_ticks, FACTORS) == more


@pytest.mark.parametrize(("needed_ticks", "more"), [(383_700, 2), (383_701, None)])
def test_reading_more_never_lifts_the_shortest(needed_ticks: int, more: int | None) -> None:
    assert measure_more(Sample(TWO_READ, population=4), needed_ticks, FACTORS) == more


def test_beyond_the_table_there_is_no_factor() -> None:
    most = FACTORS["m"][-1]
    assert factor_thousandths(5, most, 4, FACTORS) is not None
    assert factor_thousandths(5, most + 1, 4, FACTORS) is None


def test_what_nobody_says_of_a_group_is_nothing() -> None:
    assert Sample((), 1) == Sample((), 1, Spread(0, 0), 0, None, "not sure", (), ())


def test_a_cavity_is_one_of_those_counted_unless_somebody_says_otherwise() -> None:
    assert joined([(384_000, 1, 1, 1)]).inside
    assert not joined([(384_000, 1, 1, 1)], inside=False).inside


def test_half_a_tick_of_variance_counts_as_a_whole_one() -> None:
    """1² / 2 = 0.5, up 1; √(0 + 1) = 1."""
    assert joined([(384_000, 0, 1, 0)] * 2).expanded_ticks == 1
