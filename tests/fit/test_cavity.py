"""How long every cavity is, at least, from the few that were read. The page runs the same vectors."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from spanwalk.reference import tables
from spanwalk.rules.fit.cavity import (
    Cavity,
    Sample,
    Spread,
    bought_by,
    gap_between_clusters,
    joined,
    measure_more,
    spread_of,
    trusted_cavity,
    without,
)

VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "cavity.json").read_text(encoding="utf-8"))
FACTORS = tables()["prediction"]


def sample(**change: Any) -> Sample:
    said = VECTORS["base"] | change
    return Sample(
        cavities=tuple(Cavity(**each) for each in said["cavities"]),
        elsewhere=Spread(**said["elsewhere"]),
        gauged_ticks=tuple(said["gauged_ticks"]),
        stopped_ticks=tuple(said["stopped_ticks"]),
        **{name: said[name] for name in ("population", "spread_floor_ticks", "lamp_ticks", "alike")},
        asked=said.get("asked", 0),
    )


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_what_is_trusted(case: dict[str, Any]) -> None:
    found = trusted_cavity(sample(**case["with"]), FACTORS)
    assert {name: found[name] for name in case["expect"]} == case["expect"], case["why"]


@pytest.mark.parametrize("case", VECTORS["measure_more"], ids=lambda case: case["name"])
def test_how_many_more_to_read(case: dict[str, Any]) -> None:
    assert measure_more(sample(**case["with"]), case["needed_ticks"], FACTORS) == case["more"], case["why"]


@pytest.mark.parametrize("case", VECTORS["bought_by"], ids=lambda case: case["name"])
def test_what_reading_more_buys(case: dict[str, Any]) -> None:
    assert bought_by(sample(**case["with"]), case["more"], FACTORS) == case["buys"], case["why"]


@pytest.mark.parametrize("case", VECTORS["joined"], ids=lambda case: case["name"])
def test_readings_of_one_cavity_are_one_cavity(case: dict[str, Any]) -> None:
    found = joined(
        [(length, systematic, random, division) for length, systematic, random, division in case["readings"]]
    )
    assert found == Cavity(**case["expect"]), case["why"]


@pytest.mark.parametrize("case", VECTORS["without"], ids=lambda case: case["name"])
def test_what_is_left_of_a_pool_of_spreads(case: dict[str, Any]) -> None:
    assert without(Spread(**case["whole"]), Spread(**case["part"])) == Spread(**case["left"]), case["why"]


@pytest.mark.parametrize("case", VECTORS["clusters"], ids=lambda case: case["name"])
def test_two_makes_stand_apart(case: dict[str, Any]) -> None:
    assert gap_between_clusters(case["lengths_ticks"]) == case["gap_ticks"]


def test_one_cavity_has_no_spread() -> None:
    assert spread_of([384_000]) == Spread(0, 0)


def test_the_order_of_the_readings_does_not_matter() -> None:
    cavities = sample().cavities
    found = [trusted_cavity(replace(sample(), cavities=each), FACTORS) for each in permutations(cavities)]
    assert all(each == found[0] for each in found)


def test_the_more_are_left_the_less_is_trusted() -> None:
    trusted = [
        trusted_cavity(sample(population=5 + m), FACTORS)["trusted_ticks"] for m in (1, 2, 3, 10, 11, 100, 5000, 50_000)
    ]
    assert trusted == sorted(trusted, reverse=True)
    assert trusted[0] > trusted[-1]


def test_between_two_rows_of_the_table_the_less_favourable_one_counts() -> None:
    listed = [trusted_cavity(sample(population=5 + m), FACTORS)["trusted_ticks"] for m in (20, 21, 22)]
    assert listed[0] > listed[1] == listed[2]


def test_every_number_behind_a_limit_is_told() -> None:
    terms = trusted_cavity(sample(), FACTORS)["terms"]
    assert terms["mean_ticks"] - terms["below_ticks"] - terms["systematic_ticks"] == terms["limit_ticks"]
    assert terms["shortest_trusted_ticks"] == 383_680 - 400
    assert (terms["spread_ticks"], terms["degrees"], terms["factor_thousandths"]) == (253, 4, 5029)
