"""The shipped page code, several phones of it in Node, against a real server over HTTP, through a proxy that plays tricks.

Messages are lost, doubled, cut and late; phones crash between any two durable writes, are copied, have wrong clocks and
change hands; roles and sessions end; phones are revoked; the server is set back to a backup. The ledger of what was ticked
is kept by the test. `python -m tests.sync.test_phones_on_a_real_server 500 1000` runs more: how many, from which seed.
"""

from __future__ import annotations

import sys

import pytest
from tests.support.server import Server
from tests.sync.histories import per_thousand_edits, run_histories, run_many


@pytest.mark.parametrize("seed", [1, 101])
def test_no_ticked_value_is_lost_whatever_happens_on_the_way(server: Server, seed: int) -> None:
    """Every value ticked is current, superseded by one who had seen it, in a conflict, or visibly refused; digests are equal."""
    found = run_histories(server, seed, count=4)
    assert [one for one in found if one["wrong"]] == []
    assert sum(one["counts"]["ticks"] for one in found) > 100
    assert sum(one["counts"]["faults"] for one in found) > 20, "a run without faults shows nothing"


def test_two_careful_people_seldom_meet_a_conflict(server: Server) -> None:
    """Of 100 edits 90 are in one's own rooms; there is a signal half of the time, and the phone syncs after each save."""
    careful = run_histories(server, 1, count=1, steps=200, kinds=["careful"])
    assert [one for one in careful if one["wrong"]] == []
    rough = run_histories(server, 1, count=1, kinds=["plain"])
    told = per_thousand_edits(careful), per_thousand_edits(rough)
    print("conflicts per 1,000 edits: {:.1f} of two careful people, {:.1f} of three rough ones".format(*told))
    assert told[0] < told[1] / 2


if __name__ == "__main__":
    sys.exit(run_many(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1000))
