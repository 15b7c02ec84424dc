"""What is retired or recalled is not proposed, of whatever sort; what was brought back is."""

from __future__ import annotations

from typing import Any

import pytest

from spanwalk.rules.arrangements.body import Catalogue

RETIRED = {"retired": {"retired": True, "reason": "no longer made"}}
RECALLED = {"recall": {"reason": "runs hot"}}
BACK = {"retired": {"retired": False}, "recall": {}}


def item(sort: str, code: str, **facets: Any) -> dict[str, Any]:
    return {
        "id": code,
        "type": "catalogue_item",
        "removed": False,
        "facets": {"identity": {"item": sort, "code": code}, sort: {"purpose": "other", "watts": 30}, **facets},
    }


@pytest.mark.parametrize(("sort", "among"), [("bar", "bars"), ("driver", "drivers"), ("accessory", "accessories")])
def test_a_plan_is_made_without_what_is_retired_or_recalled(sort: str, among: str) -> None:
    records = [item(sort, "A", **RETIRED), item(sort, "B", **RECALLED), item(sort, "C", **BACK), item(sort, "D")]
    assert [each["id"] for each in getattr(Catalogue.of(records), among)] == ["C", "D"]
