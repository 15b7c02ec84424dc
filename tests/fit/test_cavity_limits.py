"""Trusted cavities at the limits that drawn groups seldom meet: below, at, above."""

from __future__ import annotations

import pytest

from spanwalk.reference import tables
from spanwalk.rules.fit.cavity import Cavity, Sample, Spread, joined, measure_more, trusted_cavity
from spanwalk.rules.fit.prediction import factor_thousandths

FACTORS = tables()["prediction"]
TWO_READ = (Cavity(384_000, 240, 300, 0), Cavity(384_320, 240, 300, 0))
"""1,200 and 1,201 mm: s = √51,200 = 226.275 ticks, one degree of freedom; the shortest less its uncertainty is 383,700."""


def test_of_several_cavities_that_a_gauge_passed_the_shortest_proof_counts() -> None:
    told = trusted_cavity(Sample(cavities=(), population=3, gauged_ticks=(384_000, 383_000, 384_500)), FACTORS)
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
    assert Sample((), 1) == Sample((), 1, Spread(0, 0), 0, None, "not-sure", (), ())


def test_a_cavity_is_one_of_those_counted_unless_somebody_says_otherwise() -> None:
    assert joined([(384_000, 1, 1, 1)]).inside
    assert not joined([(384_000, 1, 1, 1)], inside=False).inside
