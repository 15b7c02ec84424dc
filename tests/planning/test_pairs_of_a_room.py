"""Which group shares its ballasts with which: groups of a room pair off, or each of them says first why that is not clear."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from tests.planning.demo_records import demo_records

from spanwalk.services.planning.plans import SitePlan, make_plans

Records = list[dict[str, Any]]


def of_room(records: Records, number: str, mark: str) -> dict[str, Any]:
    """The one group of a kind in a room."""
    room = next(
        each for each in records if each["type"] == "room" and each["facets"]["identity"].get("number") == number
    )
    marks = {each["id"]: each["facets"]["identity"]["mark"] for each in records if each["type"] == "kind"}
    return next(
        each
        for each in records
        if each["type"] == "group"
        and each["parent"] == room["id"]
        and marks[each["facets"]["identity"]["kind"]] == mark
    )


def classroom(fed_too: tuple[int, ...] = (), feeding: int = 6, fed: int = 6) -> tuple[SitePlan, list[str]]:
    """The demo's classroom N01 with so many fixtures, and further fed groups; ids of the feeding one and of all fed ones."""
    records = demo_records()
    one, other = of_room(records, "N01", "K6"), of_room(records, "N01", "K7")
    more = [
        copy.deepcopy(other) | {"id": f"00000000-0000-4000-8000-0000000000{place:02d}"}
        for place, _ in enumerate(fed_too)
    ]
    for group, count in zip((one, other, *more), (feeding, fed, *fed_too), strict=True):
        group["facets"]["count"]["count"] = count
    here = {each["id"] for each in (one, other)}
    few = [
        each
        for each in records
        if each["type"] not in ("group", "cavity_reading", "trial_bar") or {each["id"], each["parent"]} & here
    ]
    return make_plans([*few, *more]), [one["id"], other["id"], *(each["id"] for each in more)]


def first_codes(found: SitePlan, ids: list[str]) -> list[str | None]:
    return [next((each["code"] for each in found.plans[id]["blockers"]), None) for id in ids]


def test_a_pair_that_counts_alike_is_ready_together_and_names_each_other() -> None:
    found, (one, other) = classroom()
    assert [found.plans[id]["state"] for id in (one, other)] == ["ready", "ready"]
    assert [found.plans[id]["partner"]["group"] for id in (one, other)] == [other, one]
    assert found.plans[one]["proposal"]["partner"]["mark"] == "K7"
    assert found.plans[one]["proposal"]["wiring"] == found.plans[other]["proposal"]["neighbour_wiring"]


@pytest.mark.parametrize(("feeding", "fed"), [(6, 5), (5, 6)])
def test_counts_that_differ_are_said_first_on_both_sides(feeding: int, fed: int) -> None:
    found, ids = classroom(feeding=feeding, fed=fed)
    assert first_codes(found, ids) == ["plan.blocked.neighbour-counts"] * 2
    assert {found.plans[id]["state"] for id in ids} == {"open"}


def test_one_that_feeds_two_is_not_planned_and_all_three_say_so_first() -> None:
    found, ids = classroom((6,))
    assert first_codes(found, ids) == ["plan.blocked.neighbour-several"] * 3
    assert all(found.plans[id]["state"] != "ready" for id in ids)
    assert found.plans[ids[0]]["blockers"][0]["facts"] == {"feeding": [6], "fed": [6, 6]}


def test_a_fed_group_of_another_count_is_the_one_without_a_neighbour() -> None:
    found, (one, other, third) = classroom((4,))
    assert [found.plans[id]["state"] for id in (one, other)] == ["ready", "ready"]
    assert first_codes(found, [third]) == ["plan.blocked.neighbour-not-found"]


def test_half_of_a_pair_is_never_ordered() -> None:
    """Ready together or not at all: what is ordered is what is ready."""
    states = []
    for changes in ({}, {"feeding": 5}, {"fed_too": (6,)}):
        found, ids = classroom(**changes)  # type: ignore[arg-type]
        states.append([found.plans[id]["state"] == "ready" for id in ids[:2]])
    assert states == [[True, True], [False, False], [False, False]]
