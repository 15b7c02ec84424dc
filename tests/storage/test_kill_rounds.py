"""The server killed with -9 while phones push and send photos. Many rounds: `python -m tests.storage.kill_rounds 100`."""

from __future__ import annotations

import pytest
from tests.storage.kill_rounds import run
from tests.support.forked_server import PLANTS

ROUNDS = 3
CAUGHT_WITHIN = 25


def test_what_was_acknowledged_is_there_once_and_whole_after_each_kill(back_end: str) -> None:
    rounds, wrong = run(back_end, ROUNDS, seed=7)
    assert wrong == []
    assert rounds.done == ROUNDS
    assert sum(rounds.cut.values()) == ROUNDS * len(rounds.phones), "each phone is cut off in each round"


@pytest.mark.parametrize("plant", [name for name in PLANTS if name != "none"])
def test_a_planted_fault_is_caught(back_end: str, plant: str) -> None:
    _rounds, wrong = run(back_end, CAUGHT_WITHIN, seed=7, plant=plant)
    assert wrong != []
