"""The grid of measuring points, by the vectors that the page's own test reads too."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.rules.light.light_grid import grid

CASES = json.loads((Path(__file__).parents[1] / "vectors" / "light_grid.json").read_text(encoding="utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_a_room_is_read_at_so_many_points(case: dict[str, Any]) -> None:
    found = grid(*case["sides"])
    assert (found.along, found.across) == (case["along"], case["across"])
    assert found.cell_m == pytest.approx(case["cell_m"], abs=0.002)
