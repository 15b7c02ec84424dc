"""What fits into the fixtures of a group, from its records. The page runs the same vectors."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from itertools import islice, permutations
from typing import Any

import pytest
from tests.fit.judging_cases import VECTORS, arguments, shown

from spanwalk.reference import tables
from spanwalk.rules.judging import judging
from spanwalk.rules.judging.judging import judge_group

Json = Any


def judged(case: Json) -> Json:
    return judge_group(**arguments(case), tables=tables())


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_a_group_is_judged(case: Json) -> None:
    found = judged(case)
    assert {path: shown(found, path) for path in case["expect"]} == case["expect"], case["why"]


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_every_judgement_is_plain_json(case: Json) -> None:
    found = judged(case)
    assert json.loads(json.dumps(found, allow_nan=False)) == found


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_the_order_of_records_does_not_matter_to_the_last_letter(case: Json) -> None:
    said = arguments(case)
    orders = islice(permutations(said["readings"]), 0, 120, 17)
    told = {json.dumps(judge_group(**said | {"readings": list(order)}, tables=tables())) for order in orders}
    assert len(told) == 1


def test_nothing_that_was_given_is_changed() -> None:
    said = arguments(VECTORS["cases"][0])
    before = copy.deepcopy(said)
    judge_group(**said, tables=tables())
    assert said == before


def test_a_catalogue_of_two_hundred_bars_gives_a_list_that_can_be_read() -> None:
    said = arguments(VECTORS["cases"][0])
    bar = said["bars"][0]
    said["bars"] = [copy.deepcopy(bar) | {"id": f"bar-{at:03}"} for at in range(200)]
    for at, each in enumerate(said["bars"]):
        each["facets"]["bar"] |= {"length_ticks": 90_000 + 600 * at, "lit_ticks": 89_000 + 600 * at}
    found = judge_group(**said, tables=tables())
    assert len([fit for fit in found["fits"] if len(fit["bars"]) > 1]) == 40
    assert len([fit for fit in found["fits"] if fit["verdict"] == "fits"]) >= 20
    assert found["fits"][0]["verdict"] == "fits"


def test_every_bar_by_itself_is_shown_however_many_there_are() -> None:
    said = arguments(VECTORS["cases"][0])
    bar = said["bars"][0]
    said["bars"] = [copy.deepcopy(bar) | {"id": f"bar-{at:03}"} for at in range(60)]
    for at, each in enumerate(said["bars"]):
        each["facets"]["bar"] |= {"length_ticks": 379_000 + 200 * at}
    found = judge_group(**said, tables=tables())
    assert sorted(fit["bars"][0] for fit in found["fits"]) == [f"bar-{at:03}" for at in range(60)]


def rows_of_two(*verdicts: str) -> Iterator[dict[str, Any]]:
    return ({"bars": ["A", "B"], "verdict": verdict} for verdict in verdicts)


@pytest.mark.parametrize(("may_fit", "fitting"), [(False, 0), (True, 1)])
def test_a_row_that_a_trial_bar_settles_is_shown_however_many_stand_before_it(may_fit: bool, fitting: int) -> None:
    many = rows_of_two(*["tight"] * 200, "fits")
    assert [each["verdict"] for each in judging._worth_showing(many, may_fit)].count("fits") == fitting
