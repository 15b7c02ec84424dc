"""The trusted cavity on pretended surveys: safe, and not so careful that good groups drown in 'tight'.

Shares over 300 surveys of a condition stray by 1.3 points (95 ± 1.3, one standard deviation), hence the limits below.
"""

from __future__ import annotations

import pytest
from tests.fit.simulated_surveys import CONDITIONS, TAPES, TWO_MAKES, Surveys, simulate

TRIALS = 300
SAMPLED = CONDITIONS[::23]


def named(surveys: Surveys) -> str:
    lamp = "lamp" if surveys.lamp_sits else "no lamp"
    return f"{surveys.tape}, {surveys.sigma_mm} mm, {surveys.n} read, {surveys.other_groups} other groups, {lamp}"


@pytest.mark.parametrize("surveys", SAMPLED, ids=named)
def test_the_trusted_cavity_holds_in_nineteen_of_twenty_surveys(surveys: Surveys) -> None:
    assert simulate(surveys, TRIALS, seed=1).holds >= 0.95 - 0.03


@pytest.mark.parametrize("surveys", SAMPLED, ids=named)
def test_good_readings_are_hardly_ever_asked_about(surveys: Surveys) -> None:
    assert simulate(surveys, TRIALS, seed=7).asked <= 0.02


@pytest.mark.parametrize("surveys", [each for each in SAMPLED if each.lamp_sits], ids=named)
def test_where_lamps_sit_a_good_group_is_rarely_held_back(surveys: Surveys) -> None:
    assert simulate(surveys, TRIALS, seed=2).fits >= 0.95


@pytest.mark.parametrize("tape", TAPES)
def test_without_lamps_three_readings_do_once_other_groups_of_the_kind_were_read(tape: str) -> None:
    alone = simulate(Surveys(tape, 0.6, 3, 0, lamp_sits=False), TRIALS, seed=3)
    together = simulate(Surveys(tape, 0.6, 3, 6, lamp_sits=False), TRIALS, seed=3)
    assert together.fits >= 0.95 > alone.fits


@pytest.mark.parametrize("population", [1, 2, 8])
def test_when_all_are_read_it_holds_and_a_good_bar_fits(population: int) -> None:
    out = simulate(Surveys("sixteenths", 0.6, population, lamp_sits=False, population=population), TRIALS, seed=4)
    assert out.holds >= 0.95 - 0.03
    assert out.fits >= 0.95


@pytest.mark.parametrize("surveys", TWO_MAKES[::7], ids=named)
def test_two_makes_4_mm_apart_make_no_promise_that_breaks(surveys: Surveys) -> None:
    assert simulate(surveys, TRIALS, seed=5).holds >= 0.95 - 0.03


def test_two_makes_are_seen_where_they_are_and_seldom_where_they_are_not() -> None:
    two = simulate(Surveys("millimetres", 0.3, 10, lamp_sits=False, makes_apart_mm=5), TRIALS, seed=6)
    one = simulate(Surveys("millimetres", 0.6, 10, lamp_sits=False), TRIALS, seed=6)
    assert two.clusters > 0.5
    assert one.clusters < 0.02
