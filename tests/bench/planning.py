"""The rules' share: what planning costs beside trying every combination for every group afresh."""

from __future__ import annotations

from spanwalk.services.planning.plans import make_plans
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.planning.demo_records import demo_records
from tests.planning.naive import enumerate_all

RUNS = 3
MOST = 0.5


def plan_of_the_demo() -> Figure:
    """All groups of the demo planned from scratch, against naive enumeration of the same bodies with the same checks."""
    records = demo_records()
    first = make_plans(records)
    bodies = [first.body(group_id) for group_id in first.plans]

    def naive() -> object:
        return [enumerate_all(body) for body in bodies]

    ours, reference = in_turns(lambda: milliseconds(lambda: make_plans(records)), lambda: milliseconds(naive), RUNS)
    return Figure(f"plan of {len(bodies)} groups", ours, "every combination tried afresh", reference, MOST, RUNS)
