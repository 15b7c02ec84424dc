"""Server and page judge the same drawn groups: `python -m tests.fit.differential 20000 [seed]`."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Any

from tests.fit.random_groups import NEAR_TICKS, Case, draw_case
from tests.support import machine

from spanwalk.reference import tables
from spanwalk.rules.judging import judge_group

Json = Any
JUDGE = Path(__file__).with_name("judge_lines.js")


@dataclass
class Run:
    """What came out: cases that differ, verdicts and statuses met, cases with a limit within 0.1 mm."""

    cases: int = 0
    near: int = 0
    verdicts: Counter[str] = field(default_factory=Counter)
    different: list[tuple[Case, Json, Json]] = field(default_factory=list)


def run(count: int, seed: int) -> Run:
    """Judge `count` drawn groups on both sides."""
    rng = Random(seed)
    cases = [draw_case(rng, tables()) for _ in range(count)]
    done = Run(count)
    for case, page in zip(cases, _page_judges(cases), strict=True):
        server = json.loads(json.dumps(judge_group(**case, tables=tables())))
        done.near += any(_is_near(fit) for fit in server["fits"])
        done.verdicts.update([f"trusted: {server['trusted']['status']}", f"basis: {server['trusted']['basis']}", *(fit["verdict"] for fit in server["fits"])])
        if server != page:
            done.different.append((case, server, page))
    return done


def _is_near(fit: Json) -> bool:
    limits = (fit["clearance_ticks"], fit["terms"].get("nominal_clearance_ticks"))
    return any(each is not None and abs(each) <= NEAR_TICKS for each in limits)


def _page_judges(cases: list[Case]) -> list[Json]:
    with tempfile.TemporaryDirectory() as folder:
        lines, reference = Path(folder) / "cases.jsonl", Path(folder) / "tables.json"
        lines.write_text("".join(json.dumps(case) + "\n" for case in cases), encoding="utf-8")
        reference.write_text(json.dumps(dict(tables())), encoding="utf-8")
        said = subprocess.run([machine.node(), str(JUDGE), str(lines), str(reference)], capture_output=True, text=True, check=True)
    return [json.loads(line) for line in said.stdout.splitlines()]


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    found = run(wanted, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    print(f"{found.cases} groups, {found.near} within 0.1 mm of a limit, {len(found.different)} different; {dict(found.verdicts)}")
    for case, server, page in found.different[:3]:
        print(json.dumps({"case": case, "server": server, "page": page}))
    sys.exit(bool(found.different))
