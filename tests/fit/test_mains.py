"""Which world's mains a group hangs on, and whether lamp watts can be taken; the cases are shared with the phone (tests/vectors)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.rules.gear.mains import lamp_watts_doubt, mains_hz

CASES = json.loads((Path(__file__).parents[1] / "vectors" / "mains.json").read_text(encoding="utf-8"))["cases"]


def of_rule(name: str) -> list[dict[str, Any]]:
    return [case for case in CASES if case["rule"] == name]


@pytest.mark.parametrize("case", of_rule("mains_hz"), ids=lambda case: case["name"])
def test_the_mains_are_told_by_what_was_seen_nearest(case: dict[str, Any]) -> None:
    assert mains_hz(case["supply"], case["ballast"], case["settings"]) == case["expect"]


@pytest.mark.parametrize("case", of_rule("lamp_watts_doubt"), ids=lambda case: case["name"])
def test_watts_are_doubtful_where_another_lamp_may_be_in_it(case: dict[str, Any]) -> None:
    assert lamp_watts_doubt(case["lamps"], case["ballast"], case["hertz"]) == case["expect"]
