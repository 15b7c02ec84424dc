"""The rules' share: what planning costs beside trying every combination for every group afresh."""

from __future__ import annotations

import copy
from typing import Any

from spanwalk.rules import driver as driver_rules
from spanwalk.rules.arrangements import plan as planning
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.candidate import drivers_for, with_driver
from spanwalk.rules.arrangements.now import now
from spanwalk.rules.arrangements.telling import told
from spanwalk.rules.arrangements.wanted import check_light, wanted_light
from spanwalk.rules.arrangements.worth import worth_of
from spanwalk.services.planning import make_plans
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.planning.demo_records import demo_records

COPIES = 1
RUNS = 3
MOST = 0.5
COPIED = ("floor", "room", "group", "cavity_reading")


def many_records(copies: int = COPIES) -> list[dict[str, Any]]:
    """The demo building so many times over on one site."""
    base = demo_records()
    records = [record for record in base if record["type"] not in COPIED]
    for number in range(copies):
        for record in base:
            if record["type"] in COPIED:
                again = copy.deepcopy(record) | {"id": f"{record['id'][:-4]}{number:04x}"}
                if again["type"] != "floor":
                    again["parent"] = f"{record['parent'][:-4]}{number:04x}"
                records.append(again)
    return records


def plan_of_many_groups() -> Figure:
    """All groups planned from scratch, against naive enumeration of the same bodies with the same checks."""
    records = many_records()
    bodies = list(make_plans(records).bodies.values())

    def naive() -> object:
        return [enumerate_all(body) for body in bodies]

    ours, reference = in_turns(
        lambda: milliseconds(lambda: make_plans(records)), lambda: milliseconds(naive), RUNS
    )
    return Figure(f"plan of {len(bodies)} groups", ours, "every combination tried afresh", reference, MOST, RUNS)


def enumerate_all(body: Body) -> list[dict[str, Any]]:
    """Every layout with every driver at every setting, each wholly checked, lit and priced; the best one told."""
    found = []
    current = now(body)
    wanted = wanted_light(body, current)
    for kind in planning.KINDS:
        for layout in kind.propose(body) if kind.applies(body) else ():
            before = tuple(planning.layout_checks(body, layout))
            for driver in body.catalogue.drivers:
                facet = driver["facets"]["driver"]
                drivers = drivers_for(facet, len(layout.bars_fed)) if layout.feeds else None
                for setting in facet["settings_ma"] if drivers else ():
                    body.catalogue.fed.clear()
                    place = driver_rules.check_place(facet, drivers or 1, body.place)
                    candidate = with_driver(body, layout, driver, drivers or 1, setting, (*before, *place))
                    check = check_light(candidate, body.fixtures, wanted)
                    worth = worth_of(body, candidate, current)
                    passes = candidate.verdict != "fails" and check.verdict != "fails"
                    lcc = worth.result.lcc if worth.result else float("inf")
                    found.append((not passes, lcc, candidate.name, candidate, worth))
    found.sort(key=lambda each: each[:3])
    return [told(body, candidate, current, worth) for *_, candidate, worth in found[:1]]
