"""What one row of bars that does not go in would cost. The page runs the same vectors."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.rules.fit.misfit import misfit_cost

VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "misfit.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_what_a_misfit_costs(case: dict[str, Any]) -> None:
    assert misfit_cost(**VECTORS["base"] | case["with"]) == case["expect"], case["why"]
