"""The rules' share: what planning costs beside trying every combination for every group afresh."""

from __future__ import annotations

from spanwalk.services.planning.plans import make_plans
from spanwalk.services.scenarios.asked import ScenarioAsked
from spanwalk.services.scenarios.changing import edits_of, planned_with
from spanwalk.services.scenarios.told import figures_of, scenario
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.planning.demo_records import demo_records
from tests.planning.invented_site import invented_site
from tests.planning.naive import enumerate_all

RUNS = 3
MOST = 0.5
GROUPS, MOST_WEIGHED = 500, 0.25


def plan_of_the_demo() -> Figure:
    """All groups of the demo planned from scratch, against naive enumeration of the same bodies with the same checks."""
    records = demo_records()
    first = make_plans(records)
    bodies = [first.body(group_id) for group_id in first.plans]

    def naive() -> object:
        return [enumerate_all(body) for body in bodies]

    ours, reference = in_turns(lambda: milliseconds(lambda: make_plans(records)), lambda: milliseconds(naive), RUNS)
    return Figure(f"plan of {len(bodies)} groups", ours, "every combination tried afresh", reference, MOST, RUNS)


def what_if_is_weighed() -> Figure:
    """A dearer tariff and less light, one after the other, weighed of what is kept, against planning every group anew."""
    found = make_plans(invented_site(GROUPS))
    asked: list[ScenarioAsked] = [{"tariff_per_kwh": 0.31}, {"keep_light_pct": 80}]

    def anew() -> object:
        return [figures_of(planned_with(found, edits_of(found, each))) for each in asked]

    def kept() -> object:
        return [scenario(found, each, {})["then"] for each in asked]

    same = anew() == kept()
    ours, reference = in_turns(lambda: milliseconds(kept), lambda: milliseconds(anew), RUNS)
    note = f"{ours / len(asked) / GROUPS:.2f} ms a group and question once asked for before; figures {'equal' if same else 'DIFFER'}"
    return Figure(
        f"two what-ifs of {GROUPS} groups", ours, "planned anew", reference, MOST_WEIGHED, RUNS, (note,), same
    )
