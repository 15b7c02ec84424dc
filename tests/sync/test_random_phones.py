"""Any phones, any edits, any order of syncs, answers lost, phones copied: nothing that was ticked is missing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from tests.sync.paper_site import FLOOR, ROOM, SITE, PaperSite, pen
from tests.sync.phones import Ledger, PaperServer, Phone, Server

from spanwalk.sync import decide as rules
from spanwalk.sync.digest import digest, digest_line
from spanwalk.sync.model import APPLIED, CONFLICT

PEOPLE = [f"00000000-0000-4000-8000-00000000000{n}" for n in "abcd"]
FLOORS = [FLOOR, "00000000-0000-4000-8000-0000000000f2"]
ROOMS = [ROOM, *(f"00000000-0000-4000-8000-0000000000a{n}" for n in (2, 3))]
PHONES_MOST = 6

steps = st.lists(
    st.tuples(
        st.integers(0, PHONES_MOST - 1),
        st.sampled_from(
            [
                "edit",
                "edit",
                "edit",
                "move",
                "remove",
                "restore",
                "settle",
                "sync",
                "sync",
                "push",
                "push lost",
                "pull",
                "copy",
            ]
        ),
        st.integers(0, 2**16),
    ),
    min_size=4,
    max_size=60,
)


def furnish() -> PaperSite:
    site, hand = PaperSite(), pen(0)
    site.push(
        *(
            hand.set(floor, "identity", {"name": f"Level {n}", "parent": SITE}, type="floor")
            for n, floor in enumerate(FLOORS)
        ),
        *(hand.set(room, "identity", {"number": str(n), "parent": FLOORS[0]}) for n, room in enumerate(ROOMS)),
    )
    return site


def act(phones: list[Phone], server: Server, which: int, action: str, choice: int, number: int) -> None:
    """One step of one phone."""
    phone = phones[which % len(phones)]
    rooms, floors = phone.known("room"), phone.known("floor")
    if action == "copy" and len(phones) < PHONES_MOST:
        phones.append(phone.copied())
    elif action == "pull":
        phone.pull(server)
    elif action in ("push", "push lost"):
        phone.push(server, answer_lost=action == "push lost", at_most=1 + choice % 4)
    elif action == "sync":
        phone.push(server)
        phone.pull(server)
    elif not rooms or not floors:
        return
    elif action == "edit":
        phone.save(rooms[choice % len(rooms)], "room", ("walk", "hours")[choice // 8 % 2], _value(choice, number))
    elif action == "move":
        to = {"number": str(number), "parent": floors[choice // 8 % len(floors)]}
        phone.save(rooms[choice % len(rooms)], "room", "identity", to)
    elif action in ("remove", "restore"):
        record, type = (
            (floors[choice // 8 % len(floors)], "floor")
            if choice % 3 == 0
            else (rooms[choice // 8 % len(rooms)], "room")
        )
        if phone.removed(record) == (action == "restore"):
            getattr(phone, action)(record, type)
    elif action == "settle":
        settle(phone, choice, number)


def _value(choice: int, number: int) -> dict[str, Any]:
    order = number if choice % 5 else choice % 2  # now and then two people write the same
    return {"order": order} if choice // 8 % 2 == 0 else {"hours_year": order}


def settle(phone: Phone, choice: int, number: int) -> None:
    """Settle the conflicts of one facet that the phone shows."""
    open_ones = [(record, each) for record in phone.records.values() for each in record["conflicts"]]
    if not open_ones:
        return
    record, conflict = open_ones[choice % len(open_ones)]
    named = [each["id"] for each in record["conflicts"] if each["facet"] == conflict["facet"]]
    if conflict["facet"] == "life":
        (phone.restore if choice // 8 % 2 else phone.remove)(record["id"], record["type"], named)
    elif phone.removed(record["id"]) and choice // 8 % 2:
        phone.remove(record["id"], record["type"], named)
    else:
        mine = choice // 16 % 2 and record["facets"].get(conflict["facet"])
        phone.save(
            record["id"],
            record["type"],
            conflict["facet"],
            mine["value"] if mine else conflict["value"],
            named,
        )


def finish(phones: list[Phone], server: Server) -> None:
    """Everyone syncs until there is nothing left to send."""
    for _ in range(4):
        for phone in phones:
            phone.push(server)
            phone.pull(server)
    assert all(not phone.outbox for phone in phones)


def own_digest(phone: Phone) -> tuple[int, str]:
    lines = (digest_line(record) for record in phone.records.values())
    return digest(line for line in lines if line is not None)


def play(server: Server, script: list[tuple[int, str, int]]) -> None:
    """Play a script, then see that all agree and nothing is missing."""
    ledger = Ledger()
    phones = [Phone(by, ledger) for by in PEOPLE[:3]]
    for phone in phones:
        phone.pull(server)
    for number, (which, action, choice) in enumerate(script, 100):
        act(phones, server, which, action, choice, number)
    finish(phones, server)
    records = server.everything()
    missing = ledger.missing(records)
    assert not missing, f"missing: {missing}"
    assert {own_digest(phone) for phone in phones} == {digest(filter(None, map(digest_line, records)))}
    by_id = {record["id"]: record for record in records}
    for record in records:
        parent = by_id.get(record["parent"] or "")
        if not record["removed"] and parent is not None and parent["removed"]:
            assert parent["conflicts"], "a live child lies unseen under a removed parent"


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(steps)
def test_nothing_ticked_is_missing_and_all_phones_agree(script: list[tuple[int, str, int]]) -> None:
    play(PaperServer(furnish()), script)


@pytest.mark.soak
@settings(max_examples=20_000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(steps)
def test_nothing_ticked_is_missing_in_many_thousand_histories(script: list[tuple[int, str, int]]) -> None:
    play(PaperServer(furnish()), script)


# -- faults, planted to see that the property would notice


def last_writer_wins(work: Any, operation: Any, state: Any, base: Any) -> Any:
    return work._apply(operation, state)


def loser_dropped(work: Any, operation: Any, state: Any, base: Any) -> Any:
    return work._known(operation, CONFLICT, work._touch(state), base, operation.id)


def loser_called_applied(work: Any, operation: Any, state: Any, base: Any) -> Any:
    return work._known(operation, APPLIED, work._touch(state), operation.id)


def all_conflicts_closed(close: Callable[..., bool]) -> Callable[..., bool]:
    def closing(work: Any, state: Any, ids: Any, life: bool = False) -> bool:
        return close(work, state, [conflict["id"] for conflict in state.conflicts], life=True)

    return closing


FAULTS: dict[str, tuple[str, Any, str]] = {
    "last writer wins": ("_lose", last_writer_wins, "missing"),
    "the loser is dropped": ("_lose", loser_dropped, "missing"),
    "the loser is told that it was applied": ("_lose", loser_called_applied, "missing"),
    "every write closes all conflicts": ("_close", all_conflicts_closed(rules._Work._close), "missing"),
    "a child under a removed parent is not noticed": (
        "_arrive",
        lambda work, operation, child: None,
        "lies unseen",
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_noticed(fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    name, broken, words = FAULTS[fault]
    monkeypatch.setattr(rules._Work, name, broken)

    @settings(
        max_examples=2000,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(steps)
    def history(script: list[tuple[int, str, int]]) -> None:
        play(PaperServer(furnish()), script)

    with pytest.raises(AssertionError, match=words):
        history()
