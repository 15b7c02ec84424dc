"""Whether bars fit between the sockets of a row. The page runs the same vectors."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.reference import tables
from spanwalk.rules.fit.fit import Surroundings, fit_row

VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "fit.json").read_text(encoding="utf-8"))
EXPANSION = tables()["expansion"]


def fit(case: dict[str, Any]) -> dict[str, Any]:
    said = VECTORS["base"] | case["with"]
    return fit_row(said["trusted"], said["bars"], Surroundings(**said["around"]), EXPANSION)


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_what_fits(case: dict[str, Any]) -> None:
    found = fit(case)
    assert {name: found[name] for name in case["expect"]} == case["expect"], case["why"]


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_the_terms_add_up_to_the_clearance(case: dict[str, Any]) -> None:
    found = fit(case)
    terms = found["terms"]
    needed = sum(terms[f"{name}_ticks"] for name in ("bars", "tolerance", "joints", "change", "end_gaps"))
    assert terms["needed_ticks"] == needed
    if found["clearance_ticks"] is not None:
        assert terms["trusted_ticks"] - needed == found["clearance_ticks"]


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_every_verdict_has_a_reason(case: dict[str, Any]) -> None:
    assert fit(case)["reasons"]
