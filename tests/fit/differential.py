"""Server and page judge the same drawn groups: `python -m tests.fit.differential 20000 [seed]`.

Exits 1 where they differ, or where the groups drawn try too little: see `Run.lacking`.
"""

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

from tests.fit.active_terms import TERMS, active_terms
from tests.fit.random_groups import NEAR_TICKS, ON_THE_LIMIT, Case, draw_case, limits
from tests.support import machine

from spanwalk.reference import tables
from spanwalk.rules.judging.judging import judge_group

Json = Any
JUDGE = Path(__file__).with_name("judge_lines.js")
ACTIVE_IN = 20
"""Each term changes the numbers of one group in twenty at least: 1,000 of 20,000."""


@dataclass
class Run:
    """What came out: groups that differ, verdicts and statuses met, groups near a limit or on it, terms active."""

    cases: int = 0
    near: int = 0
    on_the_limit: Counter[int] = field(default_factory=Counter)
    terms: Counter[str] = field(default_factory=Counter)
    verdicts: Counter[str] = field(default_factory=Counter)
    different: list[tuple[Case, Json, Json]] = field(default_factory=list)

    def lacking(self) -> list[str]:
        """What these groups try too little, as sentences."""
        found = (
            []
            if 3 * self.near >= self.cases
            else [f"only {self.near} of {self.cases} groups lie within 0.1 mm of a change of verdict"]
        )
        found += [f"no clearance is {ticks / 320} mm" for ticks in ON_THE_LIMIT if not self.on_the_limit[ticks]]
        found += [
            f"'{term}' changes only {self.terms[term]} of {self.cases} groups"
            for term in TERMS
            if ACTIVE_IN * self.terms[term] < self.cases
        ]
        return found

    def __str__(self) -> str:
        return "\n".join(
            [
                f"{self.cases} groups judged on both sides, {len(self.different)} come out otherwise",
                f"{self.near} ({self.near / self.cases:.0%}) within 0.1 mm of a change of verdict",
                "clearances at "
                + ", ".join(f"{ticks / 320:+.1f} mm: {self.on_the_limit[ticks]}" for ticks in ON_THE_LIMIT),
                "verdicts: " + ", ".join(f"{name} {count}" for name, count in sorted(self.verdicts.items())),
                "groups whose numbers change without",
                *(f"{self.terms[term]:8} {term}" for term in TERMS),
                *(f"TOO LITTLE: {each}" for each in self.lacking()),
            ]
        )


def drawn(count: int, seed: int) -> list[Case]:
    """The groups of a seed."""
    rng = Random(seed)
    return [draw_case(rng, tables()) for _ in range(count)]


def run(count: int, seed: int) -> Run:
    """Judge `count` drawn groups on both sides."""
    cases = drawn(count, seed)
    done = Run(count)
    for case, page in zip(cases, page_judges(cases), strict=True):
        server = server_judges(case)
        _look_at(done, case, server)
        if server != page:
            done.different.append((case, server, page))
    return done


def server_judges(case: Case) -> Json:
    """The server's judgement of a group, as JSON."""
    return json.loads(json.dumps(judge_group(**case, tables=tables())))


def _look_at(done: Run, case: Case, judged: Json) -> None:
    """Count what a judgement met."""
    status, fits = judged["trusted"]["status"], judged["fits"]
    done.verdicts.update(
        [f"trusted: {status}", f"basis: {judged['trusted']['basis']}", *(fit["verdict"] for fit in fits)]
    )
    if status == "known":
        done.on_the_limit.update(fit["clearance_ticks"] for fit in fits if fit["clearance_ticks"] in ON_THE_LIMIT)
    distances = [min(map(abs, limits(fit, status).values()), default=NEAR_TICKS + 1) for fit in fits]
    done.near += min(distances, default=NEAR_TICKS + 1) <= NEAR_TICKS
    nearest = fits[distances.index(min(distances))]["bars"] if fits else []
    done.terms.update(active_terms(case, nearest, tables()))


def page_judges(cases: list[Case]) -> list[Json]:
    """The page's judgements of groups."""
    with tempfile.TemporaryDirectory() as folder:
        lines, reference = Path(folder) / "cases.jsonl", Path(folder) / "tables.json"
        lines.write_text("".join(json.dumps(case) + "\n" for case in cases), encoding="utf-8")
        reference.write_text(json.dumps(dict(tables())), encoding="utf-8")
        said = subprocess.run(
            [machine.node(), str(JUDGE), str(lines), str(reference)], capture_output=True, text=True, check=True
        )
    return [json.loads(line) for line in said.stdout.splitlines()]


if __name__ == "__main__":
    found = run(int(sys.argv[1]) if len(sys.argv) > 1 else 2000, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    print(found)
    for case, server, page in found.different[:3]:
        print(json.dumps({"case": case, "server": server, "page": page}))
    sys.exit(bool(found.different or found.lacking()))
