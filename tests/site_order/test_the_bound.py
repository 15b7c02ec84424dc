"""No choice comes to less than the bound, on small sites with all that the job's money knows; on large ones it is near."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest
from tests.site_order.random_sites import large_site, with_charges
from tests.site_order.test_least_of_all_choices import drawn, least_of_all

from spanwalk.rules.money.job_charges import Charges
from spanwalk.rules.site_order.clusters import allowed
from spanwalk.rules.site_order.first_answer import first_answer
from spanwalk.rules.site_order.sums import is_kept, told_of
from spanwalk.services.site_order.arrays import Arrays
from spanwalk.services.site_order.bound import bounded
from spanwalk.services.site_order.changed_sums import Weighing
from spanwalk.services.site_order.searching import Answer, Search

CENT = 0.011


@pytest.mark.parametrize("seed", [*range(30), 44, 82, 114, 260, 293])
def test_no_choice_comes_to_less_than_the_bound(seed: int) -> None:
    """Seeds from 44 on once had a bound too high: a limit of the rebate that there was not took a share."""
    given = drawn(seed)
    found, least = bounded(given, first_answer(given)), least_of_all(given)
    if least is None:
        assert found is None or not found.found
        return
    assert found is not None
    assert 0.4 * least < found.bound <= least
    assert all(is_kept(given, each.choice) and round(each.told.worth, 2) >= least for each in found.found)


@pytest.mark.parametrize("seed", range(20))
def test_each_change_is_weighed_as_the_jobs_money_reckons_it(seed: int) -> None:
    given = drawn(seed)
    arrays = Arrays(given, [allowed(unit) for unit in given.units])
    weighing, budget = Weighing(arrays), given.rules.budget
    chosen = arrays.starts.astype(np.intp)
    told = told_of(given, arrays.choice(chosen))
    sums = weighing.sums(chosen)
    if budget is not None and told.cost > budget:
        assert weighing.worth(sums) == float("inf")
        return
    assert abs(weighing.worth(sums) - told.worth) < CENT
    for at, changed in enumerate(weighing.changed(chosen, sums).tolist()):
        other = chosen.copy()
        other[arrays.unit[at]] = at
        after = told_of(given, arrays.choice(other))
        if budget is not None and after.cost > budget:
            assert changed == float("inf")
        else:
            assert abs(changed - (after.worth - told.worth)) < 2 * CENT


def test_a_large_site_has_a_near_bound_without_the_solver() -> None:
    given = large_site(1, 2_000)
    found = bounded(given, first_answer(given, lambda: False))
    assert found is not None
    best = min(found.found, key=lambda each: each.rank)
    assert 0 < best.told.worth - found.bound < 0.003 * best.told.worth


def test_an_answer_is_told_before_any_bound_and_a_bound_before_the_solver_is_asked() -> None:
    said: list[Answer] = []
    Search(large_site(1, 12), 20.0, said.append).run()
    assert [(each.step, each.bound is None) for each in said[:2]] == [("first", True), ("search", False)]
    assert said[-1].proved


@pytest.mark.parametrize("seed", range(30))
def test_no_choice_comes_to_less_than_the_bound_where_the_job_is_charged(seed: int) -> None:
    given = with_charges(drawn(seed), Random(seed))
    found, least = bounded(given, first_answer(given)), least_of_all(given)
    if least is not None:
        assert found is not None
        assert found.bound <= least


def test_what_a_job_pays_once_is_in_the_bound() -> None:
    given = large_site(1, 60)
    paid = replace(given, charges=Charges(mobilisation=5_000.0))
    bare, charged = bounded(given, first_answer(given)), bounded(paid, first_answer(paid))
    assert bare is not None
    assert charged is not None
    assert charged.bound - bare.bound > 0.9 * min(5_000.0, charged.found[0].told.worth - bare.bound)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("cap_share", [None, 0.9])
def test_what_a_job_pays_once_raises_no_bound_above_the_best_choice(seed: int, cap_share: float | None) -> None:
    """It is not paid where all stays as it is, and raises the limit of a rebate that is a share of the cost."""
    given = drawn(seed)
    asked = 0.0 if cap_share is None else 1e6
    units = tuple(
        replace(unit, alternatives=tuple(replace(each, rebate_asked=asked) for each in unit.alternatives))
        for unit in given.units
    )
    limits = replace(given.limits, cap_share=cap_share, most=None)
    once = Charges(mobilisation=1e6 if cap_share is None else 5_000.0)
    paid = replace(given, units=units, limits=limits, charges=once, rules=replace(given.rules, budget=None))
    found, least = bounded(paid, first_answer(paid)), least_of_all(paid)
    if least is not None:
        assert found is not None
        assert found.bound <= least
