"""Each rule: planted in an otherwise complete site, found exactly once, put right, gone. Shared with the page's own test."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.open_points.planting import patched, vectors

from spanwalk.reference import tables
from spanwalk.rules.points.open_points import RULES, open_points

ROOT = Path(__file__).resolve().parents[2]
VECTORS = vectors("open_points")
TABLES = {"lamps": tables()["lamps"]}
WORDS = json.loads((ROOT / "server/spanwalk/spec/words.en/open-points.json").read_text(encoding="utf-8"))
CASES = {case["name"]: case for case in VECTORS["cases"]}
ANYONE = ("surveyor", "manager", "crew", "someone qualified", "anyone", "whoever")


def planted(case: dict[str, Any]) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    return patched(VECTORS["site"], case["plant"]), VECTORS["facts"] | case.get("facts", {})


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_what_is_planted_is_found_once(case: dict[str, Any]) -> None:
    records, facts = planted(case)
    assert open_points(records, facts, TABLES) == case["found"]


FIXED = [case for case in CASES.values() if case.get("fix") is not None]


@pytest.mark.parametrize("case", FIXED, ids=lambda case: case["name"])
def test_put_right_it_goes(case: dict[str, Any]) -> None:
    records, facts = planted(case)
    assert open_points(patched(records, case["fix"]), facts | case.get("facts_fixed", {}), TABLES) == []


def test_the_order_of_the_records_does_not_matter() -> None:
    for case in CASES.values():
        records, facts = planted(case)
        assert open_points(records[::-1], facts, TABLES) == case["found"], case["name"]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_each_rule_is_planted_alone_and_put_right(rule: Any) -> None:
    alone = [case for case in FIXED if [point["rule"] for point in case["found"]] == [rule.name]]
    assert alone, f"no case plants {rule.name} alone and puts it right"


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_each_rule_has_a_sentence_that_names_who_can_close_it(rule: Any) -> None:
    sentence = WORDS["open-point." + rule.name]
    assert any(who in sentence.lower() for who in ANYONE), sentence


def test_the_sentences_want_only_facts_that_their_rule_gives() -> None:
    for case in CASES.values():
        for point in case["found"]:
            WORDS["open-point." + point["rule"]].format(**point["facts"])


def test_there_is_no_sentence_without_its_rule() -> None:
    assert {"open-point." + rule.name for rule in RULES} == set(WORDS)
