"""What is made better without the solver keeps to the rules, is never dearer, and is one answer whatever the order of rows."""

from __future__ import annotations

from random import Random

import pytest
from tests.site_order.random_sites import large_site
from tests.site_order.test_least_of_all_choices import drawn, least_of_all

from spanwalk.rules.site_order.first_answer import first_answer
from spanwalk.rules.site_order.problem import problem
from spanwalk.rules.site_order.sums import is_kept, told_of
from spanwalk.services.site_order.bettering import bettered


@pytest.mark.parametrize("seed", range(30))
def test_it_is_between_the_first_answer_and_the_least(seed: int) -> None:
    given = drawn(seed)
    first = first_answer(given)
    if first is None:
        assert least_of_all(given) is None or given.rules.same_look or given.rules.one_colour or given.rules.budget
        return
    better = bettered(given, first)
    assert (least_of_all(given) or 0) - 0.005 <= round(better.told.worth, 2) <= round(first.told.worth, 2)
    assert better.told == told_of(given, better.choice)
    assert is_kept(given, better.choice)


def test_it_gains_on_a_site_of_many_items_and_is_one_answer_in_any_order_of_units() -> None:
    given = large_site(1, 60)
    first = first_answer(given)
    assert first is not None
    better = bettered(given, first)
    assert better.told.worth < 0.998 * first.told.worth
    units = list(given.units)
    Random(7).shuffle(units)
    again = problem(
        units,
        given.items,
        given.spare_pct,
        given.hire_per_day,
        given.demand_kw_month,
        given.limits,
        given.discount_share,
        given.rules,
    )
    first_again = first_answer(again)
    assert first_again is not None
    assert bettered(again, first_again) == better


def test_it_stops_when_there_is_no_more_time() -> None:
    given = large_site(1, 60)
    first = first_answer(given)
    assert first is not None
    assert bettered(given, first, lambda: False).told.worth <= first.told.worth
