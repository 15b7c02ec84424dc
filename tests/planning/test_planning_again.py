"""A plan is made again only for the groups of which something changed."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest
from tests.planning.demo_records import demo_records

from spanwalk.services.planning import SitePlan, make_plans

Records = list[dict[str, Any]]


@pytest.fixture(scope="module")
def records() -> Records:
    return demo_records()


@pytest.fixture(scope="module")
def first(records: Records) -> SitePlan:
    return make_plans(records)


def test_nothing_is_planned_again_when_nothing_changed(records: Records, first: SitePlan) -> None:
    assert first.made == len(first.plans)
    again = make_plans(copy.deepcopy(records), 1, first)
    assert again.made == 0
    assert again.plans == first.plans


def group_in(records: Records, number: str) -> dict[str, Any]:
    room = next(each for each in records if each["type"] == "room" and each["facets"]["identity"].get("number") == number)
    return next(each for each in records if each["type"] == "group" and each["parent"] == room["id"])


def one_more_dark_lamp(records: Records) -> None:
    group_in(records, "G06")["facets"]["count"]["dark_lamps"] = 1


def a_dearer_tariff(records: Records) -> None:
    money = next(each for each in records if each["type"] == "money")
    money["facets"]["identity"]["tariff_per_kwh"] = 0.3


def a_photo(records: Records) -> None:
    records.append({"id": "p", "type": "photo", "parent": records[0]["id"], "removed": False, "facets": {}, "conflicts": []})


@pytest.mark.parametrize(("change", "made"), [(one_more_dark_lamp, 1), (a_dearer_tariff, 48), (a_photo, 0)], ids=lambda each: getattr(each, "__name__", ""))
def test_a_change_is_planned_for_what_it_touches(records: Records, first: SitePlan, change: Callable[[Records], None], made: int) -> None:
    changed = copy.deepcopy(records)
    change(changed)
    again = make_plans(changed, 1, first)
    assert again.made == made
    assert again.plans == make_plans(changed).plans
