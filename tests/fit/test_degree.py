"""How sure a verdict is, what holds it back, and what would settle it. The page runs the same vectors."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.fit.judging_cases import arguments, shown
from tests.fit.settling import share_settled_by_tape, share_that_a_short_one_slips_through

from spanwalk.reference import tables
from spanwalk.rules.fit.by_lamp import read_of_kind
from spanwalk.rules.fit.prediction import could_be_shorter
from spanwalk.rules.judging.degree import DEGREES, degree_of
from spanwalk.rules.judging.judgement_types import Degree, Judgement
from spanwalk.rules.judging.judging import judge_group

Json = Any
CASES = json.loads((Path(__file__).parents[1] / "vectors" / "degree.json").read_text(encoding="utf-8"))["cases"]


def judged(case: Json) -> tuple[Judgement, Degree]:
    said = arguments(case)
    told = judge_group(**said, tables=tables())
    read = read_of_kind([(said["group"], said["kind"], said["readings"], told["questions"])])
    return told, degree_of(said["group"], told, read)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_a_verdict_is_as_sure_as_what_it_rests_on(case: Json) -> None:
    _, found = judged(case)
    assert {path: shown(found, path) for path in case["expect"]} == case["expect"], case["why"]


def test_every_degree_is_met_and_only_what_could_be_released_is_green() -> None:
    found = [judged(case)[1] for case in CASES]
    assert {each["degree"] for each in found} == set(DEGREES)
    green = {each["degree"] for each in found if each["releasable"]}
    assert green == {"fits", "by-trial", "by-lamp"}
    assert not any(each["held_by"] for each in found if each["releasable"])


def test_trial_bars_offered_for_a_tight_row_leave_nothing_that_could_refuse() -> None:
    """24 cavities, 3 read and long enough: with 20 more, one of the 24 is left, and 1/24 is less than 5 %; with 19 it is 2/24."""
    case = next(each for each in CASES if each["name"] == "tight after three")
    step = judged(case)[1]["next"]
    assert step is not None
    assert step["by_trial"] == 20
    assert could_be_shorter(24, 3 + 20) == 0
    assert could_be_shorter(24, 3 + 19) > 0


@pytest.mark.parametrize("population", [1, 2, 19, 20, 21, 24, 36, 39, 40, 41, 100])
def test_as_many_trials_as_are_offered_are_the_fewest_that_leave_nothing_to_refuse(population: int) -> None:
    """Against the hypergeometric search of `could_be_shorter`."""
    fewest = next(each for each in range(population + 1) if could_be_shorter(population, each) == 0)
    assert population - population // 20 == fewest


@pytest.mark.parametrize("sigma_mm", [0.4, 0.6, 0.9])
def test_readings_offered_for_a_tight_row_settle_at_least_every_other_such_group(sigma_mm: float) -> None:
    """By simulation: 'if they read like those so far' is a guess about the middle, so that many are enough every other time.

    More often where sockets differ little: a group is tight when its first readings happened to differ more than the rest.
    """
    assert share_settled_by_tape(sigma_mm, groups=150, seed=12) >= 0.5


def test_trials_that_all_went_in_miss_a_short_cavity_at_most_once_in_twenty() -> None:
    """By simulation, one short cavity among 24 and 36: trials in as many as `by_trial` names, chosen blindly."""
    for population in (24, 36):
        assert share_that_a_short_one_slips_through(population, rounds=4000, seed=5) <= 0.06
