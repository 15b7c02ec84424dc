"""Of what costs the same to the cent: the better look first, then fewer items, then the earlier name.

That a dark column under a cell louvre, and light beside an optic's middle, look worse is common practice, no source.
"""

from __future__ import annotations

from spanwalk.rules.money.job_money import Limits
from spanwalk.rules.ordering.ordering import Terms
from spanwalk.rules.site_order.look import look_of
from spanwalk.rules.site_order.problem import Alternative, Problem, Rules, Unit, problem
from spanwalk.rules.site_order.sums import chosen_of
from spanwalk.services.site_order.searching import Search


def site(*units: list[Alternative], rules: Rules = Rules()) -> Problem:  # noqa: B008
    made = [
        Unit((f"g{number}",), "room", f"kind{number}", "floor", tuple(each), 0) for number, each in enumerate(units)
    ]
    items = {name: Terms({}, {"each": 10.0}) for name in ("a", "b", "c")}
    return problem(made, items, 0, 0.0, 0.0, Limits(), 0.0, rules)


def best(given: Problem) -> list[str]:
    found = Search(given, 30.0, lambda answer: None).run().found
    assert found is not None
    return [each.names[0] for each in chosen_of(given, found.choice)]


def way(name: str, item: str, look: int = 0, rest: float = 100.0) -> Alternative:
    return Alternative((name,), rest, parts=((item, 4),), look=look)


def test_the_better_look_is_taken_at_the_same_cost() -> None:
    assert best(site([way("1, 4", "a", 6), way("2, 3", "a", 2)])) == ["2, 3"]


def test_a_cent_weighs_more_than_any_look() -> None:
    assert best(site([way("1, 4", "a", 6), way("2, 3", "a", 2, rest=100.01)])) == ["1, 4"]


def test_fewer_items_are_taken_where_cost_and_look_are_the_same() -> None:
    assert best(site([way("p", "a"), way("q", "b")], [way("r", "b")])) == ["q", "r"]


def test_the_earlier_name_is_taken_where_all_else_is_the_same() -> None:
    assert best(site([way("q", "a"), way("p", "a")])) == ["p"]


def test_an_empty_row_under_a_louvre_looks_worse_than_any_row_beside_the_middle() -> None:
    assert look_of((1, 2, 3), 4, "parabolic-louvre") > look_of((1, 2), 4, "prismatic-lens")
    assert look_of((1, 2, 3, 4), 4, "parabolic-louvre") == look_of((1, 2, 3, 4), 4, "opal-lens") == 0


def test_rows_about_the_middle_look_better_than_rows_beside_it() -> None:
    assert look_of((2,), 3, "opal-lens") < look_of((1, 3), 3, "opal-lens") < look_of((1, 2), 3, "opal-lens")


def test_what_each_different_item_costs_brings_two_groups_to_one_item() -> None:
    """4 × 10 for each, running 100 and 110: apart 310 - with 20 for each item 350, together 320 + 20."""
    units = ([way("p", "a", rest=100), way("q", "b", rest=110)], [way("r", "b", rest=100)])
    assert best(site(*units)) == ["p", "r"]
    assert best(site(*units, rules=Rules(each_item=20.0))) == ["q", "r"]


def test_in_a_room_of_one_look_the_dearer_arrangement_is_taken_where_the_cheaper_ones_differ() -> None:
    def looking(name: str, rest: float, outer: str) -> Alternative:
        return Alternative((name,), rest, parts=(("a", 1),), outer=outer, inner=outer)

    units = ([looking("p", 100, "all"), looking("q", 103, "fewer")], [looking("r", 100, "fewer")])
    assert best(site(*units)) == ["p", "r"]
    assert best(site(*units, rules=Rules(same_look=True))) == ["q", "r"]


def test_under_a_budget_the_group_that_earns_least_is_left() -> None:
    """Two groups of 40 each; converting saves 60 and 30; a budget of 50 takes one."""
    units = [[way(name, "a", rest=rest), Alternative(("",), rest=200)] for name, rest in (("p", 100), ("q", 130))]
    assert best(site(*units, rules=Rules(budget=50.0))) == ["p", ""]
    assert best(site(*units, rules=Rules(budget=80.0))) == ["p", "q"]
