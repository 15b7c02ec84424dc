"""Claims of a building: each failure that was reported, how its claim stands, and every step of it with its day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TypedDict

from spanwalk.services.memory.told import FailureTold, Remembered, StepTold
from spanwalk.services.text.neutral import csv_text
from spanwalk.words import choice_text, say

NOT_SENT, SENT, ACCEPTED, REFUSED, REPLACED, CLOSED = (
    "not-sent", "claim-sent", "claim-accepted", "claim-refused", "claim-replaced", "claim-closed",
)  # fmt: skip
NOTHING_WRONG = "nothing-wrong"
OPEN = (NOT_SENT, SENT, ACCEPTED, REFUSED)
"""States that still want somebody: an accepted claim waits for its item, a refused one for a decision."""
HEADS = (
    "floor", "room", "fixture", "label", "seen-on", "sign", "item", "serials", "state", "step", "on", "by", "reference", "note",
)  # fmt: skip


STEP_CELLS = 5


class ClaimTold(TypedDict):
    """A failure and its claim: where, what, how it stands since when, and its steps in their order."""

    group: str
    position: int
    floor_name: str
    room_name: str
    mark: str
    code: str
    firm: str
    failure: FailureTold
    state: str
    since: str
    open: bool


def claims_of(fixtures: Iterable[Remembered]) -> list[ClaimTold]:
    """All claims: the open ones first, the oldest of them on top; then those that are closed, the newest on top.

    Parameters
    ----------
    fixtures : iterable of Remembered
        All fixtures that failures may be of.
    """
    every = [_claim(fixture, failure) for fixture in fixtures for failure in fixture["failures"]]
    waiting = sorted((each for each in every if each["open"]), key=_seen_on)
    return waiting + sorted((each for each in every if not each["open"]), key=_seen_on, reverse=True)


def _seen_on(claim: ClaimTold) -> tuple[str, str]:
    return claim["failure"]["on"], claim["failure"]["id"]


def _claim(fixture: Remembered, failure: FailureTold) -> ClaimTold:
    last = failure["steps"][-1] if failure["steps"] else None
    state = last["state"] if last else NOT_SENT
    return {
        "group": fixture["group"],
        "position": fixture["position"],
        "floor_name": fixture["floor_name"],
        "room_name": fixture["room_name"],
        "mark": fixture["mark"],
        "code": fixture["code"],
        "firm": fixture["firm"],
        "failure": failure,
        "state": state,
        "since": last["on"] if last else failure["on"],
        "open": state in OPEN and failure["replaced"] != NOTHING_WRONG,
    }


def claims_csv(claims: Sequence[ClaimTold]) -> str:
    """Claims as CSV: a row for each step, one where there is none yet."""
    return csv_text(
        [[say(f"memory.claims.{name}") for name in HEADS], *(row for each in claims for row in _rows(each))]
    )


def _rows(claim: ClaimTold) -> Iterator[list[str]]:
    failure = claim["failure"]
    about = [
        claim["floor_name"],
        claim["room_name"],
        say("memory.fixture", {"mark": claim["mark"], "position": claim["position"]}),
        claim["code"],
        failure["on"],
        choice_text(failure["sign"]),
        failure["item"],
        failure["serials"],
        choice_text(claim["state"]),
    ]
    steps = [step_cells(each) for each in failure["steps"]]
    yield from (about + step for step in steps or [[""] * STEP_CELLS])


def step_cells(step: StepTold) -> list[str]:
    """A step in cells: state, day, by whom, reference, words."""
    return [choice_text(step["state"]), step["on"], step["by"], step["reference"], step["note"]]


__all__ = ["ClaimTold", "claims_csv", "claims_of", "step_cells"]
