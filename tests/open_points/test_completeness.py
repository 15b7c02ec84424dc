"""Shares complete by fixtures and by rooms. Shared with the page's own test."""

from __future__ import annotations

from typing import Any

import pytest
from tests.open_points.planting import patched, vectors

from spanwalk.rules.points.completeness import completeness
from spanwalk.rules.points.open_points import open_points

SITE = vectors("open_points")
CASES = vectors("completeness")["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_completeness(case: dict[str, Any]) -> None:
    records = patched(SITE["site"], case["plant"])
    points = open_points(records, SITE["facts"] | case["facts"], {})
    assert completeness(records, points) == case["told"]


def test_99_of_100_is_not_100_percent() -> None:
    """Shares are rounded down: 199 of 200 fixtures are 99 %."""
    groups = [
        {**SITE["site"][5], "id": f"g{n}", "facets": {**SITE["site"][5]["facets"], "count": {"count": n}}}
        for n in (1, 199)
    ]
    records = [*SITE["site"][:5], *groups]
    told = completeness(records, [{"record": "g1", "room": "g01"}])
    assert told["fixtures"] == {"known": 200, "complete": 199, "share_pct": 99}


def test_a_site_without_rooms_is_not_complete() -> None:
    told = completeness(SITE["site"][:2], [])
    assert (told["complete"], told["rooms"]) == (False, {"known": 0, "complete": 0, "share_pct": 0})
