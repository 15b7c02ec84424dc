"""The search ends as soon as nothing can be better, and claims nothing that a choice which is known belies."""

from __future__ import annotations

from typing import Any

import pytest
from tests.site_order.random_sites import large_site
from tests.site_order.test_ties import site, way

from spanwalk.services.site_order import searching
from spanwalk.services.site_order.bound import Bounded
from spanwalk.services.site_order.searching import TIES_S, Answer, Search

GIVEN = site([way("p", "a"), way("q", "b", rest=120.0)], [way("r", "a")])
"""At the price of one whatever the number: prices of items tell the least."""
LEAST = 280.0
"""Two groups that each run for 100, with four of an item at 10: 100 + 40 and the same again."""


def never(*_: Any, **__: Any) -> Any:
    raise AssertionError("asked for nothing")


def test_where_the_first_answer_meets_the_bound_no_solver_is_asked_for_a_better_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Search, "_search", never)
    said: list[Answer] = []
    last = Search(GIVEN, 60.0, said.append).run()
    assert last.found is not None
    assert (round(last.found.told.worth, 2), last.proved, last.gap) == (LEAST, True, 0.0)
    assert [each.proved for each in said if each.step in ("ties", "done")] == [True, True]


def test_once_proved_what_costs_the_same_is_looked_at_for_a_moment_however_long_was_asked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    given_s: list[float] = []
    solver = searching._solver

    def noted(seconds: float) -> Any:
        given_s.append(seconds)
        return solver(seconds)

    monkeypatch.setattr(Search, "_search", never)
    monkeypatch.setattr(searching, "_solver", noted)
    Search(GIVEN, 300.0, lambda answer: None).run()
    assert given_s
    assert max(given_s) <= TIES_S


@pytest.mark.parametrize("too_much", [0.05, 5.0, 1e6])
def test_a_bound_above_a_choice_that_is_known_is_never_claimed(
    too_much: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    def wrong(*_: Any) -> Bounded:
        return Bounded(LEAST + too_much, (), {})

    monkeypatch.setattr(searching, "bounded", wrong)
    said: list[Answer] = []
    last = Search(GIVEN, 60.0, said.append).run()
    assert all(each.bound is None or each.bound <= LEAST + 0.02 for each in said)
    # The solver's own bound stands.
    assert (last.proved, last.gap) == (True, 0.0)


def test_a_site_too_large_to_be_proved_tells_a_gap_and_not_a_proof() -> None:
    last = Search(large_site(1, 2_000), 4.0, lambda answer: None).run()
    assert not last.proved
    assert last.gap is not None
    assert last.gap > 0.02
