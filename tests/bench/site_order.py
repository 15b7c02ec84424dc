"""The best order for a site: how far from the least it is, beside what choosing group by group leaves, and how long it takes."""

from __future__ import annotations

import time
from typing import cast

from spanwalk.rules.site_order.sums import told_of
from spanwalk.services.planning.plans import make_plans
from spanwalk.services.site_order.alternatives import Way
from spanwalk.services.site_order.offered import Offered, Offering
from spanwalk.services.site_order.ordering import Begun, Step, best_order
from spanwalk.services.site_order.searching import Answer, Search
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.site_order.random_sites import large_site
from tests.site_order.ready_site import ready_site

SEED = 1
SIZES = ((50, 120.0), (500, 60.0), (5_000, 120.0), (20_000, 180.0))
"""Groups, and how long is looked for them [s]."""
MOST_PCT = {50: 0.05, 500: 0.2, 5_000: 0.2, 20_000: 0.1}
"""How far above the bound an answer may be [%]."""


GATHERED, MOST_GATHERED, RUNS = 300, 0.35, 3
LARGE, KINDS = 20_000, 200
LARGE_MOST_S, ASKED_S, NEAR_PCT = 180.0, 120, 0.1
"""How long all of it may take, how long is asked for [s], and how near to the bound is near enough [%]."""


class _Anew(Offering):
    """What may be chosen, each candidate of each group planned anew, as pairs on one ballast are."""

    def of(self, id: str) -> Offered:
        return self.of_pair(self._found.plans[id], None)


def gathering() -> Figure:
    """What may be chosen for each group, weighed of what is kept beside the plans, against planning each candidate anew."""
    found = make_plans(ready_site(GATHERED))
    groups = [id for id, plan in found.plans.items() if plan["state"] == "ready" and id in found.kept]

    def every(offering: Offering) -> list[list[list[Way]]]:
        return [offering.of(id).ways for id in groups]

    kept, anew = every(Offering(found)), every(_Anew(found))
    least = [min(each[0].lcc for each in ways) for ways in kept]
    same = least == [min(each[0].lcc for each in ways) for ways in anew]
    ours, reference = in_turns(
        lambda: milliseconds(lambda: every(Offering(found))), lambda: milliseconds(lambda: every(_Anew(found))), RUNS
    )
    note = f"{ours / len(groups):.2f} ms a group; the cheapest of each {'equal' if same else 'DIFFER'}"
    return Figure(
        f"alternatives of {len(groups)} groups", ours, "planned anew", reference, MOST_GATHERED, RUNS, (note,), same
    )


def order_of_20000_groups() -> Figure:
    """From the request to the answer, as the desk's button asks, of a large site that is planned: gathered, searched for and told."""
    found = make_plans(ready_site(LARGE, kinds=KINDS))
    at: dict[str, float] = {}
    last: Step = {}
    bettered: list[tuple[float, float]] = []
    start, used = time.monotonic(), time.process_time()
    for step in best_order(Begun(found, {}), {"each_item": 40.0, "seconds": ASKED_S}):
        at.setdefault(step["step"], time.monotonic() - start)
        if step.get("gap") is not None and step.get("saved") is not None:
            bettered.append((time.monotonic() - start, cast("float", step["gap"])))
        last = step
    took, processor, answer = time.monotonic() - start, time.process_time() - used, last["answer"]
    worth = answer["best"]["lcc"]
    assert worth is not None
    near = next((seconds for seconds, gap in bettered if 100 * gap / worth <= NEAR_PCT), None)
    ready = sum(plan["state"] == "ready" for plan in found.plans.values())
    told = "not reached" if near is None else f"after {near:.0f} s"
    notes = (
        f"{ready:,} groups of {KINDS} kinds are ready; gathered in {at['begun']:.0f} s, first answer after {at['first']:.0f} s,"
        f" within {NEAR_PCT} % of the bound {told}, processor of the server {processor:.0f} s",
        f"gap {answer['gap'] or 0.0:,.0f} of {worth:,.0f}; saved {answer['saved'] or 0.0:,.0f} by {len(answer['changes']):,} decisions",
    )
    return Figure(
        f"best order of {LARGE:,} groups, asked to told",
        took,
        "wanted at most",
        LARGE_MOST_S,
        1.0,
        1,
        notes,
        near is not None,
        unit="s ",
    )


def best_orders() -> list[Figure]:
    """Sites of 200 kinds and 51 items, invented, of more and more groups."""
    return [_best_order(groups, seconds) for groups, seconds in SIZES]


def _best_order(groups: int, seconds: float) -> Figure:
    given = large_site(SEED, groups)
    today = told_of(given, given.today)
    said: list[Answer] = []
    start, used = time.monotonic(), time.process_time()
    answer = Search(given, seconds, said.append).run()
    took, processor = time.monotonic() - start, time.process_time() - used
    assert answer.found is not None
    assert answer.gap is not None
    first = next(each for each in said if each.step == "first")
    notes = (
        f"{sum(len(unit.alternatives) for unit in given.units)} alternatives; first answer after {first.seconds:.1f} s,"
        f" all {took:.0f} s ({processor:.0f} s of a processor); {'proved' if answer.proved else 'not proved'}",
        f"different items {today.items} → {answer.found.told.items}; life-cycle cost with 40 for each item"
        f" {today.worth:,.0f} → {answer.found.told.worth:,.0f}; gap {answer.gap:,.0f}",
    )
    gap_pct = 100 * answer.gap / answer.found.told.worth
    return Figure(
        f"best order of {groups} groups, above bound",
        gap_pct,
        "wanted at most",
        MOST_PCT[groups],
        1.0,
        1,
        notes,
        unit="% ",
    )
