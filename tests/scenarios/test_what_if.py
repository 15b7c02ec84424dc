"""What if: figures of a scenario are what the plan comes to once its changes are written; today's stay untouched."""

from __future__ import annotations

from typing import Any, cast

import pytest
from tests.planning.demo_records import demo_records

from spanwalk.services.planning.plans import SitePlan, make_plans
from spanwalk.services.refusals import InTheWay
from spanwalk.services.scenarios.asked import ScenarioAsked
from spanwalk.services.scenarios.changing import hours_of
from spanwalk.services.scenarios.told import ScenarioTold, figures_of, scenario

Json = Any
ITEM = "item"


@pytest.fixture(scope="module")
def records() -> list[Json]:
    return demo_records()


@pytest.fixture(scope="module")
def found(records: list[Json]) -> SitePlan:
    return make_plans(records)


def told(found: SitePlan, fixed: dict[str, str] | None = None, **asked: Any) -> ScenarioTold:
    return scenario(found, cast("ScenarioAsked", asked), fixed or {})


def written(records: list[Json], answer: ScenarioTold) -> SitePlan:
    """The plans once a scenario is applied, made from nothing."""
    after = {each["id"]: {**each, "facets": dict(each["facets"])} for each in records}
    for edit in answer["edits"]:
        after[edit["record"]]["facets"][edit["facet"]] = edit["value"]
    for decided in answer["decided"]:
        value = {name: decided[name] for name in ("decision", "arrangement") if name in decided}  # type: ignore[literal-required]
        after[decided["group"]]["facets"]["decision"] = {**value, "reason": "What if", "how_chosen": "best-order"}
    return make_plans(after.values())


def dearest(found: SitePlan) -> str:
    """The bar or driver of which most is fitted."""
    parts = [part for plan in found.plans.values() if plan["proposal"] for part in plan["proposal"]["parts"]]
    count = {part[ITEM]: sum(each["count"] for each in parts if each[ITEM] == part[ITEM]) for part in parts}
    return max(count, key=lambda item: count[item])


def test_nothing_said_is_today(found: SitePlan) -> None:
    answer = told(found)
    assert answer["today"] == answer["then"]
    assert (answer["changed"], answer["edits"], answer["decided"]) == (0, [], [])


@pytest.mark.parametrize(
    "asked",
    [
        {"tariff_per_kwh": 0.31},
        {"labour_per_h": 140, "discount_pct": 9, "escalation_pct": 0},
        {"hours_pct": 60},
        {"keep_light_pct": 110},
        {"light_policy": "meet-the-target-of-the-space", "tariff_per_kwh": 0.1},
        {"budget": 9000},
    ],
)
def test_what_it_comes_to_is_what_the_plan_is_once_it_is_applied(
    records: list[Json], found: SitePlan, asked: dict[str, Any]
) -> None:
    before = figures_of(found)
    answer = told(found, **asked)
    assert answer["then"] != answer["today"]
    assert answer["then"] == figures_of(written(records, answer))
    assert answer["today"] == before == figures_of(found)


def test_without_an_item_only_its_groups_are_planned_anew_and_none_gets_it(
    records: list[Json], found: SitePlan
) -> None:
    item = dearest(found)
    answer = told(found, without=[item])
    after = written(records, answer)
    assert answer["then"] == figures_of(after)
    assert not any(
        part[ITEM] == item for plan in after.plans.values() if plan["proposal"] for part in plan["proposal"]["parts"]
    )
    assert 0 < answer["changed"] < len(found.plans)


def test_hours_of_rooms_that_say_none_are_those_of_their_use_and_half_of_them_is_written(found: SitePlan) -> None:
    answer = told(found, hours_pct=50)
    by_room = {edit["record"]: edit["value"]["hours_year"] for edit in answer["edits"]}
    hours = {found.inputs.places[id][1]["id"]: hours_of(found.inputs, id) for id in found.plans}
    assert by_room == {room: round(each / 2) for room, each in hours.items() if each}


def test_a_budget_leaves_groups_but_never_those_that_are_released(found: SitePlan) -> None:
    ready = [id for id, plan in found.plans.items() if plan["state"] == "ready"]
    answer = told(found, dict.fromkeys(ready[:3], "released"), budget=9000)
    assert answer["decided"]
    assert answer["then"]["cost"] is not None
    assert answer["then"]["cost"] <= 9000
    assert {each["group"] for each in answer["decided"]} & set(ready[:3]) == set()
    all_fixed = told(found, dict.fromkeys(ready, "released"), budget=9000)
    assert (all_fixed["over_budget"], all_fixed["decided"]) == (True, [])


def test_a_price_is_refused_where_the_site_has_no_money(records: list[Json]) -> None:
    with pytest.raises(InTheWay) as refused:
        told(make_plans(each for each in records if each["type"] != "money"), tariff_per_kwh=0.2)
    assert refused.value.code == "scenarios.no-money"
