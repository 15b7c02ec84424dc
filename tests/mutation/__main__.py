"""Plants one small fault after another: `python -m tests.mutation [fit cavity …] [--side python|javascript]`.

Exits 1 where a fault is noticed by nothing and judged.json does not say why that is right. `--kind comparison` tries
one sort of fault only, `--list` tries none.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter

from tests.mutation.judging import Judged, judged, why
from tests.mutation.mutant import Mutant
from tests.mutation.targets import TARGETS
from tests.mutation.trying import SIDES, SURVIVED, mutants, try_all


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation")
    parser.add_argument("names", nargs="*", choices=[[], *TARGETS], metavar=" ".join(TARGETS))
    parser.add_argument("--side", choices=SIDES)
    parser.add_argument("--kind")
    parser.add_argument("--list", action="store_true")
    said = parser.parse_args(arguments)
    known, open_ones = judged(), 0
    for name in said.names or TARGETS:
        for side in [said.side] if said.side else SIDES:
            chosen = [each for each in mutants(TARGETS[name], side) if said.kind in (None, each.kind)]
            if said.list:
                print(*chosen, sep="\n")
            elif chosen:
                open_ones += _run(name, side, chosen, known)
    return bool(open_ones)


def _run(name: str, side: str, chosen: list[Mutant], known: Judged) -> int:
    """Try the faults of a target on one side; how many survived unjudged."""
    counts: Counter[str] = Counter()
    unjudged = 0
    for mutant, fate in try_all(TARGETS[name], side, chosen):
        counts[fate] += 1
        if fate == SURVIVED:
            reason = why(mutant, known)
            unjudged += reason is None
            print(f"{mutant}\n    {'NOT JUDGED' if reason is None else reason}", flush=True)
    print(f"{name}, {side}: {len(chosen)} mutants, {dict(counts)}, {unjudged} not judged", flush=True)
    return unjudged


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
