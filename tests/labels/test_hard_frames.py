"""A small sample of the hard frames; the whole set is a figure: see DEVELOPERS.md."""

from __future__ import annotations

import json
import subprocess
from itertools import chain
from pathlib import Path

from tests.support import machine
from tests.support.hard_frames import DAMAGES, EMPTY, FOREIGN, foreign, hard_frames, without_label, write

RUN = Path(__file__).parents[1] / "bench" / "hard_frames.mjs"


def test_the_pages_reader_reads_the_weakest_of_each_damage_and_nothing_else_in_what_is_no_label(tmp_path: Path) -> None:
    write(tmp_path, chain(hard_frames(of_each=1), foreign(4)))
    run = subprocess.run(
        [machine.node(), str(RUN), str(tmp_path)], capture_output=True, text=True, check=True, timeout=120
    )
    told = json.loads(run.stdout)["told"]
    others = told.pop(FOREIGN)
    assert (others["frames"], others["wrong"]) == (4, 0)
    assert {kind: row["still"] for kind, row in told.items()} == {**dict.fromkeys(DAMAGES, 1), EMPTY: 0}
    assert sum(row["wrong"] for row in told.values()) == 0


def test_the_same_seed_makes_the_same_frames() -> None:
    first, again = ([each.picture.tobytes() for each in (next(hard_frames()), *without_label(1))] for _ in range(2))
    assert len(first) == 2
    assert first == again
