"""Under which names numbers of a kind are kept, and when a site does not believe them. The page runs the same vectors."""

from __future__ import annotations

import json
from bisect import bisect_left
from pathlib import Path
from typing import Any

import pytest
from scipy.stats import f as f_distribution

from spanwalk.reference import tables
from spanwalk.rules.judging.firm_numbers import FirmSpread, age_band, is_odd, keys_of

VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "firm_numbers.json").read_text(encoding="utf-8"))
FACTORS = tables()["prediction"]
Json = Any


def kind_of(facets: Json) -> Json:
    return {"id": "k", "type": "kind", "parent": "s", "removed": False, "facets": facets, "conflicts": []}


@pytest.mark.parametrize("case", VECTORS["ages"], ids=lambda case: case["made"] or "empty")
def test_a_date_on_a_ballast_has_a_band(case: Json) -> None:
    assert age_band(case["made"]) == case["band"]


@pytest.mark.parametrize("case", VECTORS["keys"], ids=lambda case: case["name"])
def test_numbers_of_a_kind_are_kept_under_its_names_the_narrowest_first(case: Json) -> None:
    assert list(keys_of(kind_of(case["facets"]))) == case["keys"]


@pytest.mark.parametrize("case", VECTORS["odd"], ids=lambda case: case["name"])
def test_a_site_is_odd_beyond_the_thirty_per_cent_point(case: Json) -> None:
    firm = FirmSpread(**case["firm"])
    assert is_odd(case["squares_ticks2"], case["degrees"], firm, FACTORS) is case["odd"]


@pytest.mark.parametrize("own", [1, 2, 5, 11, 22, 60, 200])
@pytest.mark.parametrize("prior", [3, 8, 13, 30])
def test_the_points_are_those_of_the_f_distribution_and_never_above_them(own: int, prior: int) -> None:
    """Against scipy.stats.f, an implementation that is not ours."""
    degrees = FACTORS["degrees"]
    at = FACTORS["conflicts"][bisect_left(degrees, own)][bisect_left(degrees, prior)]
    exact = f_distribution.isf(0.3, own, prior) * 1000
    assert at <= exact
    if own in degrees and prior in degrees:
        assert exact - at < 5
