"""What is answered once for a floor or a panel holds for its rooms and groups until they say otherwise. Twin of inherited.test.js."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.reference import tables
from spanwalk.rules.points.open_points import open_points
from spanwalk.rules.survey import Survey

CASES = json.loads((Path(__file__).parents[1] / "vectors" / "inherited.json").read_text())["cases"]


def record(id: str, type_name: str, parent: str | None, facets: dict[str, Any]) -> Any:
    return {"id": id, "type": type_name, "parent": parent, "removed": False, "facets": facets, "conflicts": []}


def records_of(case: dict[str, Any]) -> list[Any]:
    panels = case.get("panels", {})
    return [
        record("site", "site", None, {}),
        record("floor", "floor", "site", {"identity": {"name": "Level 2"}, **case["floor"]}),
        *(
            record(name, "panel", "site", {"identity": {"name": name}, "supply": value})
            for name, value in panels.items()
        ),
        record("room", "room", "floor", case.get("room", {})),
        record("group", "group", "room", case.get("group", {})),
    ]


@pytest.mark.parametrize("case", CASES, ids=[each["name"] for each in CASES])
def test_a_room_or_group_is_answered_by_what_stands_above_it(case: dict[str, Any]) -> None:
    about = "group" if "group" in case else "room"
    survey = Survey(records_of(case))
    assert survey.by_id[about]["facets"] == case["wanted"]
    told = [f"{each['facet']}.{each['field']} {each['source']}" for each in survey.inherited.get(about, [])]
    assert told == case["answers"]


def test_who_goes_on_to_write_reads_only_what_was_said_of_the_room_itself() -> None:
    case = CASES[0]
    assert Survey(records_of(case), inherits=False).by_id["room"]["facets"] == {}


def test_what_is_inherited_is_the_word_of_who_answered_for_the_floor() -> None:
    floor = {**record("floor", "floor", "site", {"surroundings": {"moisture": "dry"}}), "by": {"surroundings": "rosa"}}
    room = {**record("room", "room", "floor", {}), "by": {}}
    survey = Survey([record("site", "site", None, {}), floor, room])
    assert survey.by_id["room"]["by"] == {"surroundings": "rosa"}


def test_volts_answered_for_a_floor_close_the_open_points_of_its_groups() -> None:
    here = [*records_of({"floor": {}, "group": {"identity": {"kind": "k"}, "count": {"count": 2}}})]
    open_here = {each["rule"] for each in open_points(here, {}, tables())}
    there = [
        *records_of(
            {"floor": {"supply": {"volts": "277"}}, "group": {"identity": {"kind": "k"}, "count": {"count": 2}}}
        )
    ]
    open_there = {each["rule"] for each in open_points(there, {}, tables())}
    assert open_here - open_there == {"no-volts"}
