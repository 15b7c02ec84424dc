"""The light on a task area of a room: from the least to the most, by what was said of the area and of how the fixtures stand."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from tests.planning.demo_records import demo_records

from spanwalk.rules.survey import facet
from spanwalk.services.planning.plans import SitePlan, make_plans
from spanwalk.services.planning.room_light import RoomLight, light_of_room
from spanwalk.services.planning.task_light import TaskLight, task_of_room
from spanwalk.services.text.explaining import _task_light

MM = 320
GALLERY, CLASSROOM, LIBRARY = "L01", "N01", "G02"
"""Twenty fixtures alike; two groups alike in light; several groups that differ, some lamps of which are dark."""
DESK = {"length_ticks": 1600 * MM, "width_ticks": 800 * MM}
EVEN = {"spread": "evenly-spread", "along": 5, "across": 4, "direction": "along-the-length"}
LIGHTS = ("found", "all_burning", "day_one", "maintained", "around")


@pytest.fixture(scope="module")
def plain() -> SitePlan:
    return make_plans(demo_records())


def lit(plain: SitePlan, number: str, **facets: Any) -> RoomLight:
    """The light of a room with such facets."""
    records = copy.deepcopy(demo_records())
    room = next(
        each
        for each in records
        if each["type"] == "room" and facet(each, "identity").get("number") == number  # type: ignore[call-overload]
    )
    room["facets"] |= facets
    found = make_plans(records, before=plain)
    return light_of_room(found, next(each for each in found.survey.of_type("room") if each["id"] == room["id"]))


def on_task(plain: SitePlan, number: str = GALLERY, layout: Any = None, **task: Any) -> TaskLight:
    more = {} if layout is None else {"layout": layout}
    told = lit(plain, number, task={**DESK, **task}, **more)["task"]
    assert told is not None
    return told


def codes(told: TaskLight) -> list[str]:
    return [each["code"].removeprefix("task-light.") for each in told["says"]]


def reach(told: TaskLight, name: str) -> tuple[int, int]:
    found: Any = told[name]  # type: ignore[literal-required]
    assert found is not None
    return found["low"], found["high"]


def test_a_room_without_a_task_area_tells_none(plain: SitePlan) -> None:
    assert lit(plain, GALLERY)["task"] is None


def test_what_nobody_said_makes_the_range_wider_and_is_told(plain: SitePlan) -> None:
    """Not seen: every even layout, every place. Said how they stand: fewer. Said where the area lies: one."""
    nothing = on_task(plain)
    stand = on_task(plain, layout=EVEN)
    place = on_task(plain, layout=EVEN, from_end_ticks=3000 * MM, from_side_ticks=2000 * MM)
    for name in LIGHTS:
        outer, middle, inner = reach(nothing, name), reach(stand, name), reach(place, name)
        assert outer[0] <= middle[0] <= inner[0] < inner[1] <= middle[1] <= outer[1], name
    assert reach(place, "maintained")[1] - reach(place, "maintained")[0] < 0.6 * (
        reach(nothing, "maintained")[1] - reach(nothing, "maintained")[0]
    )
    assert {"layout-not-seen", "anywhere"} <= set(codes(nothing))
    assert {"layout-said", "anywhere"} <= set(codes(stand))
    assert {"layout-not-seen", "anywhere"} & set(codes(place)) == set()


def test_a_place_on_the_wall_is_darker_than_one_in_the_middle(plain: SitePlan) -> None:
    corner = on_task(plain, layout=EVEN, from_end_ticks=800 * MM, from_side_ticks=400 * MM)
    sides = facet(
        next(each for each in plain.survey.of_type("room") if facet(each, "identity").get("number") == GALLERY), "size"
    )
    middle = on_task(
        plain, layout=EVEN, from_end_ticks=sides["length_ticks"] // 2, from_side_ticks=sides["width_ticks"] // 2
    )
    for name in LIGHTS:
        assert reach(corner, name)[1] < reach(middle, name)[1]
        assert reach(corner, name)[0] < reach(middle, name)[0]


def test_the_range_of_the_room_lies_within_that_of_a_task_area_that_may_be_anywhere(plain: SitePlan) -> None:
    """Somewhere it is as bright as the mean, and what the mean may be off by, the task may be."""
    room = lit(plain, GALLERY, task=DESK)
    for name in ("found", "all_burning", "day_one", "maintained"):
        low, high = reach(room["task"], name)  # type: ignore[arg-type]
        mean: Any = room[name]  # type: ignore[literal-required]
        assert low < mean["low"] < mean["high"] < high


@pytest.mark.parametrize(
    ("layout", "task", "says"),
    [
        ({"spread": "not-evenly-spread"}, {}, "layout-not-even"),
        ({}, {"width_ticks": 90_000 * MM}, "outside"),
        ({}, {"from_end_ticks": 300 * MM}, "outside"),
    ],
    ids=["not even", "wider than the room", "through a wall"],
)
def test_what_cannot_be_reckoned_is_a_sentence_and_no_figure(
    plain: SitePlan, layout: dict[str, Any], task: dict[str, Any], says: str
) -> None:
    told = on_task(plain, layout=layout, **task)
    assert codes(told) == [says]
    assert [told[name] for name in LIGHTS] == [None] * len(LIGHTS)  # type: ignore[literal-required]


def test_a_layout_of_another_number_than_was_counted_is_taken_as_not_seen(plain: SitePlan) -> None:
    wrong = on_task(plain, layout={**EVEN, "across": 3})
    not_seen = on_task(plain, layout={"direction": "along-the-length"})
    assert "layout-differs" in codes(wrong)
    assert [wrong[name] for name in LIGHTS] == [not_seen[name] for name in LIGHTS]  # type: ignore[literal-required]
    facts: Any = next(each["facts"] for each in wrong["says"] if each["code"].endswith("layout-differs"))
    assert (facts["along"], facts["across"], facts["fixtures"]) == (5, 3, 20)


def test_fixtures_that_differ_may_stand_either_way(plain: SitePlan) -> None:
    """Its mean over the whole room stays within; dark lamps may hang over the desk, or none of them."""
    told = on_task(plain, LIBRARY)
    assert {"mixed", "narrow"} <= set(codes(told))
    assert reach(told, "found")[0] < reach(told, "all_burning")[0]
    assert reach(told, "found")[1] <= reach(told, "all_burning")[1]


def test_whether_the_target_is_reached_is_told_only_where_the_whole_range_says_so(plain: SitePlan) -> None:
    """The same desk: of a range about the target nothing is told; far above it, it is reached, far below it is not."""
    told = on_task(plain)
    low, high = reach(told, "maintained")
    assert told["wanted"] is not None
    assert low < told["wanted"] < high
    assert codes(told)[0] == "cannot-tell"
    corner = on_task(plain, layout=EVEN, from_end_ticks=800 * MM, from_side_ticks=400 * MM)
    assert reach(corner, "maintained")[1] < 108 <= told["wanted"]
    assert codes(corner)[0] == "not-reached"


def test_a_task_area_that_is_the_whole_room_has_the_light_of_the_room(plain: SitePlan) -> None:
    """The mean on it is the mean of the lumen method, to what even rows differ from an even ceiling."""
    room = next(each for each in plain.survey.of_type("room") if facet(each, "identity").get("number") == GALLERY)
    size = facet(room, "size")
    told = lit(
        plain, GALLERY, layout=EVEN, task={"length_ticks": size["length_ticks"], "width_ticks": size["width_ticks"]}
    )
    share: Any = next(each["facts"] for each in told["task"]["says"] if each["code"] == "task-light.share")  # type: ignore[index]
    assert 97 <= share["least_pct"] <= share["most_pct"] <= 106
    assert told["task"]["around"] is None  # type: ignore[index]


def test_a_report_tells_it_over_the_mean_by_the_survey_alone(plain: SitePlan) -> None:
    records = copy.deepcopy(demo_records())
    for each in records:
        if each["type"] == "room" and each["facets"].get("identity", {}).get("number") == GALLERY:
            each["facets"] |= {"task": DESK, "layout": EVEN}
    survey = make_plans(records).survey
    room = next(each for each in survey.of_type("room") if facet(each, "identity").get("number") == GALLERY)
    told = task_of_room(survey, room)
    assert [each["code"] for each in told] == ["task-light.area", "task-light.share", "task-light.layout-said"]
    facts: Any = told[1]["facts"]
    assert 50 < facts["least_pct"] < 100 < facts["most_pct"] < 150
    assert task_of_room(plain.survey, room | {"facets": {"identity": {}}}) == []  # type: ignore[operator]


def test_explain_tells_each_light_and_on_what_it_rests(plain: SitePlan) -> None:
    told = "\n".join(_task_light(on_task(plain, layout=EVEN), 12))
    low, high = reach(on_task(plain, layout=EVEN), "maintained")
    assert f"New, after 12 years: between {low} and {high} lx." in told
    assert "5 by 4" in told
    assert "ray-traced" in told
