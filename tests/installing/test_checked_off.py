"""What is checked off at a fixture and counts, and what was fitted in it: the vectors that the page reads too, and the merge of checks."""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spanwalk import records
from spanwalk.rules.arrangements.card import crew_card
from spanwalk.rules.installing.as_fitted import differences, fitted_items, released_items, spares_used
from spanwalk.rules.installing.checked_off import Moment, checked_off_at, may_go_on, missing_checks
from spanwalk.rules.installing.last_word import last_word
from spanwalk.sync.decide import decide
from spanwalk.sync.model import SET, Gathered, Operation, State

VECTORS = Path(__file__).resolve().parents[1] / "vectors"
TICKS = json.loads((VECTORS / "checked_off.json").read_text(encoding="utf-8"))
FITTED = json.loads((VECTORS / "as_fitted.json").read_text(encoding="utf-8"))
PEOPLE = ("ann", "ben", "cem")
CHECKS = records.fields_of("visit", "ticks")["checks"].choices
ITS_GROUP = "10000000-0000-4000-8000-000000000000"


def named(cases: list[Any]) -> Any:
    return pytest.mark.parametrize("case", cases, ids=[case["name"] for case in cases])


@named(TICKS["cases"])
def test_which_ticks_count(case: Any) -> None:
    assert (
        checked_off_at(case["visits"], case["installations"], TICKS["steps"], Moment(**case["now"])) == case["expect"]
    )


@named(TICKS["may_go_on"])
def test_in_which_visit_one_goes_on(case: Any) -> None:
    assert may_go_on(case["visit"], case["installations"], case["phone"], Moment(**case["now"])) is case["expect"]


@named(TICKS["missing"])
def test_which_ticks_are_missing_before_done(case: Any) -> None:
    assert missing_checks(case["frozen"], case["position"], case["ticked"]) == case["expect"]


@named(FITTED["released"])
def test_what_a_release_wants_in_one_fixture(case: Any) -> None:
    assert released_items(case["card"], case["position"], case["fixtures"]) == case["expect"]


@named(FITTED["differences"])
def test_what_was_fitted_otherwise_than_released(case: Any) -> None:
    assert differences(case["released"], case["fitted"]) == case["expect"]


@named(FITTED["fitted"])
def test_what_was_fitted_as_far_as_it_was_said(case: Any) -> None:
    assert fitted_items(case["installation"], FITTED["wanted"]) == case["expect"]


@named(FITTED["spares"])
def test_spares_are_counted_by_code(case: Any) -> None:
    assert spares_used(case["installations"]) == case["expect"]


def test_the_ticks_of_every_fixture_are_those_of_the_card_and_of_the_spec() -> None:
    assert missing_checks({}, 1, []) == crew_card.CHECKS
    assert records.fields_of("installation", "identity")["checks"].choices == CHECKS


def test_the_last_word_is_the_one_that_the_server_took_last_whatever_the_clocks_say() -> None:
    def noted(id: str, outcome: str, seq: int, at: str) -> Any:
        identity = {"position": 3, "outcome": outcome, "noted_at": at}
        return {"id": id, "facets": {"identity": identity}, "seqs": {"identity": seq}}

    said = [noted("b", "not-done-after-all", 9, "2020-01-01"), noted("a", "done", 4, "2031-01-01")]
    newest = last_word(said, 3)
    assert newest is not None
    assert newest["id"] == "b"
    assert last_word(said, 4) is None


def _operation(phone: int, counter: int, record: str, facet: str, seen: str | None, to: dict[str, Any]) -> Operation:
    id = f"{phone:08d}-0000-4000-8000-000000000000.0000000a.{counter}"
    device = id.split(".")[0]
    return Operation(
        id, device, PEOPLE[phone], record, "visit", facet, SET, seen, to, (), None, None, "", id, "{}", 3
    )  # fmt: skip


def _ticked_on(phone: int, ticked: list[int]) -> list[Operation]:
    """What one phone sends: its visit, then its ticks as they grow."""
    record = f"{phone + 1:08d}-0000-4000-8000-00000000000a"
    identity = {
        "parent": ITS_GROUP, "position": 1, "conversion": "c1", "begun_at": "2026-11-28T08:00:00Z",
        "day": "2026-11-28", "phone": str(phone),
    }  # fmt: skip
    found = [_operation(phone, 1, record, "identity", None, identity)]
    seen = None
    for place, _ in enumerate(ticked):
        each = _operation(phone, place + 2, record, "ticks", seen, {"checks": [CHECKS[i] for i in ticked[: place + 1]]})
        found.append(each)
        seen = each.id
    return found


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.lists(st.integers(0, 7), max_size=6, unique=True), min_size=2, max_size=3),
    st.lists(st.integers(0, 2), max_size=30),
    st.integers(1, 6),
)
def test_whatever_the_order_in_which_phones_send_no_tick_is_lost_and_none_is_in_conflict(
    ticked: list[list[int]], turns: list[int], at_once: int
) -> None:
    queues = [_ticked_on(phone, some) for phone, some in enumerate(ticked)]
    wanted = {(phone, CHECKS[i]) for phone, some in enumerate(ticked) for i in some}
    states = {ITS_GROUP: State(ITS_GROUP, "group", None, 1, False, {}, [])}
    head, results = 1, []
    for phone in itertools.chain((turn for turn in turns if turn < len(queues)), range(len(queues)), range(99)):
        if phone >= len(queues) or (phone >= len(ticked)):
            continue
        size = at_once if len(queues[phone]) > at_once else len(queues[phone])
        batch, queues[phone] = queues[phone][:size], queues[phone][size:]
        decision = decide(Gathered("site", head, states), batch)
        head = decision.head
        results += [answer.result for answer in decision.answers]
    for phone, queue in enumerate(queues):
        decision = decide(Gathered("site", head, states), queue)
        head, queues[phone] = decision.head, []
        results += [answer.result for answer in decision.answers]
    assert set(results) == {"applied"}
    visits: list[Any] = [
        {
            "id": state.id,
            "facets": {name: held["value"] for name, held in state.facets.items()},
            "by": {name: held["by"] for name, held in state.facets.items()},
            "seqs": {name: held["seq"] for name, held in state.facets.items()},
        }
        for state in states.values()
        if state.type == "visit"
    ]
    now = Moment(1, "c1", "ann", "2026-11-28", "2026-11-28T09:00:00Z")
    told = checked_off_at(visits, [], [], now)
    assert {(PEOPLE.index(person), each["check"]) for each in told["checks"] for person in each["by"]} == wanted
