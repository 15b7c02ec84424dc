"""What came out is counted by what is known of it now: the recycler is told of PCB that became known after the release."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from tests.releases.standing_cases import records_of, vectors

from spanwalk.rules.installing.noted import gone_since, noted_in
from spanwalk.rules.survey import Survey
from spanwalk.services.handover.fixtures import fixtures_told
from spanwalk.services.handover.waste import waste_of

Json = Any
BASE = vectors()["records"]
REMOVE = {"lamps": 2, "lamp": "T8 4 ft", "ballasts": 1, "ballast": "electronic", "pcb": "not suspect"}


def counted(ballast: Json) -> dict[str, int]:
    """Ballasts of one fixture done, by suspicion, after the survey was changed."""
    records: list[Json] = copy.deepcopy(records_of(BASE, {"set": {"kind": {"ballast": ballast}}}))
    (conversion,) = [each for each in records if each["id"] == "conversion of group"]
    conversion["facets"]["identity"]["frozen"] = {"remove": REMOVE}
    identity = {
        "position": 2,
        "outcome": "done",
        "conversion": "conversion of group",
        "noted_at": "2026-04-01T09:00:00Z",
    }
    done = {"id": "done", "type": "installation", "parent": "group", "removed": False, "conflicts": []}
    survey = Survey([*records, {**done, "facets": {"identity": identity}, "by": {}, "at": {}}])
    group: Json = survey.by_id["group"]
    return waste_of(survey, {"group": noted_in(survey, group, conversion)}).ballasts


@pytest.mark.parametrize(
    ("ballast", "suspicion"),
    [
        ({}, "not suspect"),
        ({"ballast": "magnetic", "pcb_mark": "no-mark", "made": "1974"}, "suspect"),
        ({"ballast": "magnetic", "pcb_mark": "no-mark", "capacitor": "none", "made": "2001"}, "not suspect"),
        ({"capacitor": "seen", "made": "1974"}, "suspect"),
    ],
)
def test_a_ballast_taken_out_is_counted_by_the_stricter_of_its_card_and_what_is_known_now(
    ballast: Json, suspicion: str
) -> None:
    assert {name: number for name, number in counted(ballast).items() if number} == {suspicion: 1}


@pytest.mark.parametrize("count", [{"count": 16}, {"count": 1}, {"count": 15, "gone": [2]}], ids=str)
def test_what_came_out_is_counted_whatever_the_count_says_since(count: Json) -> None:
    records: list[Json] = copy.deepcopy(records_of(BASE, {"set": {"group": {"count": count}}}))
    (conversion,) = [each for each in records if each["id"] == "conversion of group"]
    conversion["facets"]["identity"]["frozen"] = {"remove": REMOVE}
    identity = {"position": 2, "outcome": "done", "conversion": "conversion of group"}
    done = {"id": "done", "type": "installation", "parent": "group", "removed": False, "conflicts": []}
    survey = Survey([*records, {**done, "facets": {"identity": identity}, "by": {}, "at": {}}])
    group: Json = survey.by_id["group"]
    noted = {**noted_in(survey, group, conversion), **gone_since(survey, group, conversion)}
    assert waste_of(survey, {"group": noted}).lamps == {"T8 4 ft": 2}


def test_of_a_fixture_that_was_counted_after_the_release_nothing_is_told_as_released() -> None:
    records: list[Json] = copy.deepcopy(records_of(BASE, {"set": {"group": {"count": {"count": 17}}}}))
    (conversion,) = [each for each in records if each["id"] == "conversion of group"]
    conversion["facets"]["identity"]["frozen"] = {"driver": {"name": "DRIVER", "number": 1, "setting_ma": 700}}
    survey = Survey(records)
    group: Json = survey.by_id["group"]
    told = list(fixtures_told(group, noted_in(survey, group, conversion), {}, ""))
    assert [(each.released, each.release) for each in told[-2:]] == [("1 × DRIVER, 700 mA", 1), ("", None)]
