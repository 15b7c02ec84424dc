"""The exact search finds what trying every choice finds, on small invented sites with all that the job's money knows."""

from __future__ import annotations

import itertools
from dataclasses import replace
from random import Random

import pytest
from tests.site_order.random_sites import small_site, with_charges

from spanwalk.rules.money.energy import COUNTED_MONTHS
from spanwalk.rules.site_order.problem import Problem, Rules, Unit, from_json, problem, pruned, to_json
from spanwalk.rules.site_order.sums import Running, is_kept, told_of
from spanwalk.services.site_order.searching import Answer, Search

SEEDS = range(40)
SECONDS = 60.0


def drawn(seed: int) -> Problem:
    draw = Random(seed)
    budget = draw.choice([None, None, 900.0, 2_500.0])
    rules = Rules(draw.choice([0.0, 40.0]), budget, draw.random() < 0.3, draw.random() < 0.3)
    return small_site(draw, rules, leaving=budget is not None)


def least_of_all(given: Problem) -> float | None:
    """Every choice tried, each reckoned from nothing."""
    every = itertools.product(*(range(len(unit.alternatives)) for unit in given.units))
    worth = [told_of(given, choice).worth for choice in every if is_kept(given, choice)]
    return round(min(worth), 2) if worth else None


def found_in(given: Problem) -> tuple[Answer, list[Answer]]:
    said: list[Answer] = []
    return Search(given, SECONDS, said.append).run(), said


def worth_in(answer: Answer) -> float | None:
    return None if answer.found is None else round(answer.found.told.worth, 2)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_found_costs_what_the_least_of_all_choices_costs(seed: int) -> None:
    given = drawn(seed)
    least = least_of_all(given)
    answer, said = found_in(given)
    assert worth_in(answer) == least
    if answer.found is not None:
        assert answer.proved
        assert answer.gap == 0
        assert is_kept(given, answer.found.choice)
    assert [each.step for each in (said[0], said[-1])] == ["first", "done"]


@pytest.mark.parametrize("seed", range(16))
def test_what_is_charged_on_the_job_is_in_what_is_least(seed: int) -> None:
    """Days of travel and containers in whole numbers, permit and tax by their shares, and what is paid once."""
    given = with_charges(drawn(seed), Random(seed))
    answer, _ = found_in(given)
    assert worth_in(answer) == least_of_all(given)
    if answer.found is not None:
        assert answer.proved


@pytest.mark.parametrize("seed", [3, 11, 142, 257, 503, 661])
def test_sites_that_once_came_out_wrong_come_out_right(seed: int) -> None:
    """142 and 257: presolve called a sound model infeasible; 661: big limits of packs hid what a budget allowed; 503: spares without a limit made a sound model fail."""
    draw = Random(seed)
    rules = Rules(
        draw.choice([0, 0, 40.0]),
        draw.choice([None, None, None, 900.0, 2500.0]),
        draw.random() < 0.3,
        draw.random() < 0.3,
    )
    given = small_site(draw, rules, leaving=rules.budget is not None)
    answer, _ = found_in(given)
    assert (worth_in(answer), answer.proved) == (least_of_all(given), True)


@pytest.mark.parametrize("seed", [1, 2, 5, 8])
def test_the_order_of_rows_does_not_change_the_answer(seed: int) -> None:
    given = drawn(seed)
    shuffled = [replace(unit) for unit in given.units]
    Random(seed).shuffle(shuffled)
    turned = [
        replace(unit, alternatives=unit.alternatives[::-1], today=len(unit.alternatives) - 1 - unit.today)
        for unit in shuffled
    ]
    rest = (given.items, given.spare_pct, given.hire_per_day, given.demand_kw_month)
    again = problem(turned, *rest, given.limits, given.discount_share, given.rules)
    assert again == given
    one, other = found_in(given)[0], found_in(again)[0]
    assert one.found == other.found


@pytest.mark.parametrize("seed", range(8))
def test_sums_that_follow_each_change_are_those_reckoned_from_nothing(seed: int) -> None:
    given, draw = with_charges(small_site(Random(seed)), Random(seed)), Random(seed)
    running = Running(given, list(given.today))
    for _ in range(20):
        place = draw.randrange(len(given.units))
        running.change(place, draw.randrange(len(given.units[place].alternatives)))
        now, anew = running.told(), told_of(given, running.choice)
        assert round(now.worth - anew.worth, 6) == 0
        assert (now.items, now.days) == (anew.items, anew.days)


def with_twins(unit: Unit, draw: Random) -> Unit:
    """The unit with a twin of each alternative that differs in what it runs for, its rebate and its load alone."""
    twins = [
        replace(
            each,
            names=(f"{each.names[0]}~",),
            rest=each.rest + draw.randint(-40, 40),
            rebate_asked=each.rebate_asked + draw.randint(-30, 30),
            peak_saved_kw=each.peak_saved_kw * draw.choice([0.9, 1.0]),
        )
        for each in unit.alternatives
        if not each.is_left
    ]
    return replace(unit, alternatives=tuple(sorted((*unit.alternatives, *twins), key=lambda each: each.names)))


@pytest.mark.parametrize("seed", range(24))
def test_leaving_out_what_is_beaten_loses_no_better_choice(seed: int) -> None:
    few, draw = drawn(seed), Random(seed)
    rest = (few.items, few.spare_pct, few.hire_per_day, few.demand_kw_month)
    given = problem(
        [with_twins(unit, draw) for unit in few.units[:3]], *rest, few.limits, few.discount_share, few.rules
    )
    short = given.demand_kw_month * COUNTED_MONTHS / (1 + given.discount_share)
    units = [pruned(unit, given.rules.same_look, given.limits, short) for unit in given.units]
    fewer = problem(units, *rest, given.limits, given.discount_share, given.rules)
    assert least_of_all(fewer) == least_of_all(given)
    if given.limits.ratchet_share is None and given.limits.cap_share is None and given.limits.most is None:
        # Of each alternative and its twin one is left; today's stays beside one that beats it.
        most = sum(len(unit.alternatives) + 1 for unit in few.units[:3])
        assert sum(len(unit.alternatives) for unit in fewer.units) <= most


def test_a_problem_comes_through_json_as_it_was() -> None:
    given = with_charges(drawn(4), Random(4))
    assert from_json(to_json(given)) == given
