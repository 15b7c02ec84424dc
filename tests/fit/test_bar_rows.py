"""Which bars could lie in a cavity, alone or end to end. The page runs the same vectors."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.rules.fit.bar_rows import bar_rows

Json = Any
VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "bar_rows.json").read_text(encoding="utf-8"))


def item(said: Json) -> Json:
    identity = {"offered": said["offered"]} if "offered" in said else {}
    bar = {name: said.get(name, usual) for name, usual in VECTORS["base"].items()}
    others = {name: said[name] for name in ("recall", "retired") if name in said}
    return {"id": said["id"], "facets": {"identity": identity, "bar": bar, **others}}


@pytest.mark.parametrize("case", VECTORS["cases"], ids=lambda case: case["name"])
def test_rows_worth_judging(case: Json) -> None:
    rows = bar_rows([item(each) for each in case["items"]], case["cavity_ticks"])
    assert [" ".join(each["id"] for each in row) for row in rows] == case["rows"], case["why"]


def test_of_a_huge_catalogue_five_thousand_rows_are_kept() -> None:
    """60 bars of about a quarter of the cavity: 60 × 59 / 2 pairs in five ways each, 8,850 rows of three or four."""
    items = [item({"id": f"{at:02}", "length_ticks": 72_000 + at, "lit_ticks": 70_000 + at}) for at in range(60)]
    assert len(bar_rows(items, 300_000)) == 5000
