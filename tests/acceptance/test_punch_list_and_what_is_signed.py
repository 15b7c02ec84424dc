"""What is open at a hand-over and what a customer signs: the vectors that the page reads too, and a signature that stands."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.rules.installing.acceptance import content_of, is_as_signed, since, statement
from spanwalk.rules.installing.punch_list import punch_list
from spanwalk.rules.survey import Survey

VECTORS = json.loads((Path(__file__).resolve().parents[1] / "vectors" / "acceptance.json").read_text(encoding="utf-8"))


def named(cases: list[Any]) -> Any:
    return pytest.mark.parametrize("case", cases, ids=[case["name"] for case in cases])


@named(VECTORS["points"])
def test_what_is_on_the_punch_list(case: Any) -> None:
    assert punch_list(Survey(case["records"])) == case["expect"]


@named(VECTORS["statements"])
def test_what_is_signed(case: Any) -> None:
    told = statement(Survey(case["records"]), case["subject"])
    assert told == case["expect"]
    assert content_of(told["lines"]) == case["content"]


def signed(case: Any) -> Any:
    shown = {"subject": case["subject"], "content": case["content"], "shown": case["expect"]["lines"]}
    return {"id": "a", "type": "acceptance", "facets": {"identity": shown}}


def test_a_signature_holds_while_all_is_as_it_was_shown() -> None:
    case = VECTORS["statements"][0]
    changed = since(signed(case), statement(Survey(case["records"]), case["subject"]))
    assert changed.holds
    assert is_as_signed(signed(case))


def test_a_later_word_stands_beside_what_was_signed_line_by_line() -> None:
    case = VECTORS["statements"][0]
    after = {"position": 4, "outcome": "skipped", "conversion": "c-g1"}
    later = {**case["records"][-1], "id": "i4", "type": "installation", "parent": "g1", "facets": {"identity": after}}
    changed = since(signed(case), statement(Survey([*case["records"], later]), case["subject"]))
    assert changed.was == (
        "fixtures\tg1\tK1\t4\tnot-noted\t",
        "point\tr1\tnot-done\tg1\t4\topen\tnot-done|g1|4|not-noted",
    )
    assert changed.now == (
        "fixtures\tg1\tK1\t4\tskipped\t",
        "point\tr1\tnot-done\tg1\t4\topen\tnot-done|g1|4|skipped",
    )


def test_a_work_in_another_room_changes_nothing_of_what_was_signed_here() -> None:
    case = VECTORS["statements"][0]
    elsewhere = {"position": 1, "outcome": "skipped", "conversion": "c-g2"}
    later = {
        **case["records"][-1],
        "id": "i8",
        "type": "installation",
        "parent": "g2",
        "facets": {"identity": elsewhere},
    }
    assert since(signed(case), statement(Survey([*case["records"], later]), case["subject"])).holds


def test_lines_that_are_not_those_that_were_signed_are_noticed() -> None:
    forged = signed(VECTORS["statements"][0])
    forged["facets"]["identity"]["shown"] = forged["facets"]["identity"]["shown"][:-1]
    assert not is_as_signed(forged)
