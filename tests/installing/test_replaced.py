"""What is in a fixture once parts were replaced; the same cases hold on the phone: see `replaced.test.js`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.rules.installing.replaced import by_code, items_now

VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "replaced.json").read_text(encoding="utf-8"))


def item_of(told: dict[str, str]) -> Any:
    retired = {"retired": {"replaced_by": told["replaced_by"]}} if "replaced_by" in told else {}
    return {"id": told["code"], "facets": {"identity": {"code": told["code"], "item": told["item"]}, **retired}}


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_the_items_that_are_in_it_now(case: Any) -> None:
    failures: Any = [{"id": f"f{at}", "facets": facets} for at, facets in enumerate(case["failures"])]
    assert items_now(case["fitted"], failures, by_code(map(item_of, VECTORS["catalogue"]))) == case["expect"]
