"""Bound and answer against SciPy's general-purpose solver, on sites too large to try every choice.

The model it solves is written apart (`general_model`). Opening hours of rooms are in no model: they say when work is done, and
no cost of a job hangs on them.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from tests.site_order.general_model import ROUNDING, GeneralModel
from tests.site_order.random_sites import small_site, with_charges
from tests.site_order.test_least_of_all_choices import found_in

from spanwalk.rules.site_order.first_answer import first_answer
from spanwalk.rules.site_order.problem import Problem, Rules
from spanwalk.rules.site_order.sums import is_kept, told_of
from spanwalk.services.site_order.bound import bounded

UNITS = (9, 12)
"""Of up to five alternatives: up to 244 million choices."""
CENT = 0.011


def site(seed: int, *, charged: bool) -> Problem:
    draw = Random(seed)
    budget = draw.choice([None, None, 2_500.0, 5_000.0])
    rules = Rules(draw.choice([0.0, 40.0]), budget, draw.random() < 0.25, draw.random() < 0.25)
    given = small_site(draw, rules, leaving=budget is not None, units=UNITS)
    return with_charges(given, draw) if charged else given


def check(given: Problem) -> None:
    """The bound lies below what the solver finds, and what we find is what it finds, by the job's own money."""
    solved = GeneralModel(given).solved()
    bound, (answer, said) = bounded(given, first_answer(given)), found_in(given)
    if solved is None:
        assert answer.found is None
        return
    choice, least = solved
    assert is_kept(given, choice)
    worth = told_of(given, choice).worth
    assert abs(worth - least) < ROUNDING
    assert bound is not None
    assert answer.found is not None
    assert bound.bound <= worth + CENT
    assert all(each.bound is None or each.bound <= worth + 2 * CENT for each in said)
    assert answer.proved
    assert worth - ROUNDING <= answer.found.told.worth <= worth + CENT


@pytest.mark.parametrize("seed", range(100, 108))
def test_the_answer_is_what_a_general_solver_finds_and_no_bound_lies_above_it(seed: int) -> None:
    check(site(seed, charged=False))


@pytest.mark.parametrize("seed", range(200, 210))
def test_the_same_where_mobilisation_permit_travel_containers_and_tax_are_charged(seed: int) -> None:
    check(site(seed, charged=True))


@pytest.mark.parametrize("taxed", ["materials", "materials-and-labour", "all-costs"])
def test_each_charge_alone_is_in_answer_and_bound(taxed: str) -> None:
    """One charge after the other, so that none hides behind the rest; the general solver sees each in the least."""
    given = site(300, charged=True)
    every = replace(given.charges, taxed=taxed)
    free = {name: replace(each, each=0.0) for name, each in every.shared.items()}
    bare = replace(every, shared=free, mobilisation=0.0, permit=0.0, permit_share=0.0, tax_share=0.0)
    alone = {
        "mobilisation": replace(bare, mobilisation=750.0),
        "permit": replace(bare, permit=85.0, permit_share=0.04),
        "travel and containers": replace(bare, shared=every.shared),
        "tax": replace(bare, tax_share=0.21),
    }
    least = {}
    for name, charges in alone.items():
        charged = replace(given, charges=charges)
        check(charged)
        solved = GeneralModel(charged).solved()
        assert solved is not None
        least[name] = solved[1]
    uncharged = GeneralModel(replace(given, charges=bare)).solved()
    assert uncharged is not None
    assert all(worth > uncharged[1] + 1.0 for worth in least.values())
