"""Server and page judge drawn groups alike, to the last tick."""

from __future__ import annotations

import pytest
from tests.fit.active_terms import TERMS
from tests.fit.differential import Run, run
from tests.fit.random_groups import ON_THE_LIMIT


@pytest.fixture(scope="module")
def found() -> Run:
    return run(2000, seed=320)


def test_two_thousand_groups_come_out_alike_on_both_sides(found: Run) -> None:
    assert not found.different, found.different[0]


@pytest.mark.parametrize(
    "status",
    [
        "trusted: known",
        "trusted: two clusters",
        "trusted: reading asked",
        "trusted: cannot tell",
        "basis: all",
        "basis: sample",
        "basis: lamp",
    ],
)
def test_each_status_of_a_cavity_is_met(found: Run, status: str) -> None:
    assert found.verdicts[status] >= 20


@pytest.mark.parametrize("verdict", ["fits", "tight", "too long", "cannot tell"])
def test_each_verdict_is_met(found: Run, verdict: str) -> None:
    assert found.verdicts[verdict] >= 20


def test_a_third_lies_near_a_change_of_verdict_and_each_term_is_active_in_one_of_twenty(found: Run) -> None:
    assert found.lacking() == []


def test_groups_that_try_too_little_are_named() -> None:
    nothing = Run(cases=20, near=6)
    assert len(nothing.lacking()) == 1 + len(ON_THE_LIMIT) + len(TERMS)
    nothing.near = 7
    assert len(nothing.lacking()) == len(ON_THE_LIMIT) + len(TERMS)
