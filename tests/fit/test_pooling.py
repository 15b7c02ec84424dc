"""Spread of a kind, pooled once: the same verdicts as group by group, and work that grows with the groups only."""

from __future__ import annotations

from typing import Any

import pytest

from spanwalk.reference import tables
from spanwalk.rules.fit import sampling
from spanwalk.rules.fit.cavity import Spread, pooled, without
from spanwalk.rules.judging import judged
from spanwalk.rules.judging.judged import judge_groups
from spanwalk.rules.judging.judging import judge_group
from spanwalk.rules.survey import Survey

TICKS_PER_MM = 320
KIND = {
    "fitted": "fluorescent",
    "diameter": "T8",
    "cap": "G13",
    "nominal_ft": "4-ft",
    "rows": 2,
    "lamps_end_to_end": 1,
}
BAR = {
    "length_ticks": 380_480,
    "tolerance_ticks": 160,
    "joint_ticks": 320,
    "end_gap_ticks": 640,
    "width_ticks": 7040,
    "height_ticks": 3840,
}
BAR |= {"cover": "none", "lit_ticks": 374_080, "rise_k": 15}


def record(type_name: str, name: str, parent: str | None, **facets: Any) -> dict[str, Any]:
    return {
        "id": name,
        "type": type_name,
        "parent": parent,
        "removed": False,
        "facets": facets,
        "conflicts": [],
    }


def site_of(groups: int) -> list[dict[str, Any]]:
    """A site with so many groups of one kind, each with its own mean and spread."""
    found = [
        record(
            "site",
            "site",
            None,
            identity={"name": "An invented site"},
            settings={"coldest_c": 10, "hottest_c": 38},
        ),
        record("floor", "floor", "site", identity={"name": "Ground"}),
        record("room", "room", "floor", identity={"number": "1"}),
        record("kind", "kind", "site", identity={"mark": "K1"}, housing={"material": "steel"}, lamps=KIND),
        record("catalogue_item", "bar", "site", identity={"item": "bar", "code": "B"}, bar=BAR),
    ]
    for at in range(groups):
        found.append(record("group", f"group {at:03}", "room", identity={"kind": "kind"}, count={"count": 6}))
        for position in (1, 2, 3):
            length = round((1200 + at % 5 * 0.2 + position * 0.3) * TICKS_PER_MM)
            identity = {
                "position": position,
                "row": 1,
                "cavity": 1,
                "length_ticks": length,
                "instrument": "tape-class-ii",
            }
            found.append(record("cavity_reading", f"reading {at:03} {position}", f"group {at:03}", identity=identity))
    return found


def test_the_spread_pooled_once_gives_what_each_group_gets_by_itself() -> None:
    survey = Survey(site_of(7))
    bars, site, kind = survey.of_type("catalogue_item"), survey.site(), survey.by_id["kind"]
    every = [(group, kind, survey.children(group, "cavity_reading")) for group in survey.of_type("group")]
    for group, _, own in every:
        others = [each for each in every if each[0] is not group]
        alone = judge_group(group, kind, survey.by_id["room"], site, own, others, bars, tables())
        assert alone["trusted"]["terms"]["degrees"] == 7 * 2
        assert judge_groups(survey, tables())[group["id"]] == alone


@pytest.mark.parametrize("groups", [1, 10, 40])
def test_each_group_is_looked_at_once_for_the_spread_of_its_kind(groups: int, monkeypatch: pytest.MonkeyPatch) -> None:
    looked: list[str] = []

    def counted(group: Any, *rest: Any) -> Spread:
        looked.append(group["id"])
        return sampling.spread_of_group(group, *rest)

    monkeypatch.setattr(judged, "spread_of_group", counted)
    judge_groups(Survey(site_of(groups)), tables())
    assert len(looked) == groups


def test_what_is_taken_out_of_a_pool_is_what_went_in() -> None:
    parts = [Spread(512, 1), Spread(0, 0), Spread(10_240, 4)]
    for part in parts:
        rest = [each for each in parts if each is not part]
        assert without(pooled(parts), part) == pooled(rest)
