"""What may be chosen is weighed of the ways that planning kept, and is to the cent and the letter what planning anew finds."""

from __future__ import annotations

import copy
from random import Random
from typing import Any, cast

import pytest
from tests.planning.demo_records import demo_records
from tests.scenarios.test_what_is_weighed import told_of, varied
from tests.site_order.ready_site import ready_site

from spanwalk.rules.arrangements.plan import plan_in_short
from spanwalk.rules.site_order.problem import LEFT
from spanwalk.services.planning.plans import SitePlan, make_plans
from spanwalk.services.scenarios.weighing import with_decision
from spanwalk.services.site_order.asked import Decided, OrderAsked
from spanwalk.services.site_order.difference import planned_so, value_of
from spanwalk.services.site_order.feasible import Gathered, gather
from spanwalk.services.site_order.offered import Offered, Offering

Json = Any


def site_at_random(seed: int, random: Random) -> SitePlan:
    """Plans of the demo, which has bodies on one ballast, or of many ready groups; terms of money and decisions of its own."""
    records = copy.deepcopy(demo_records()) if seed % 2 else ready_site(45, seed)
    return make_plans(decided_at_random(varied(records, random), random))


def decided_at_random(records: list[Json], random: Random) -> list[Json]:
    """The same records, where some decisions by name accept a trial or the lamp too."""
    for each in records:
        decision = each["facets"].get("decision", {})
        if "arrangement" in decision and random.random() < 0.4:
            decision |= {"accepts_trial": True, "accepts_lamp": True, "reason": "Seen on site"}
    return records


def asked_at_random(random: Random) -> OrderAsked:
    every: dict[str, Any] = {
        "each_item": 40.0,
        "budget": 20_000.0,
        "least_light_pct": 95.0,
        "same_look": True,
        "no_dark_columns": True,
        "keep_decided": False,
        "bars_each": 2,
    }
    names = random.sample(list(every), random.randrange(0, 4))
    return cast("OrderAsked", {"keep_decided": False} | {name: every[name] for name in names})


def gathered_anew(found: SitePlan, asked: OrderAsked, monkeypatch: pytest.MonkeyPatch) -> Gathered:
    """By planning each candidate of each group anew, as pairs on one ballast are."""

    def anew(self: Offering, id: str) -> Offered:
        return self.of_pair(found.plans[id], None)

    with monkeypatch.context() as patched:
        patched.setattr(Offering, "of", anew)
        return gather(found, asked)


@pytest.mark.parametrize("seed", range(3))
def test_what_is_weighed_is_what_planning_each_candidate_anew_finds(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    random = Random(seed)
    found = site_at_random(seed, random)
    asked = asked_at_random(random)
    kept, anew = gather(found, asked), gathered_anew(found, asked, monkeypatch)
    assert sum(len(unit.alternatives) for unit in anew.problem.units) > 2 * len(anew.problem.units) > 20
    assert (kept.recommended, kept.stuck, kept.fixed) == (anew.recommended, anew.stuck, anew.fixed)
    assert kept == anew
    found.kept.clear()
    assert gather(found, asked) == anew
    lone = {id for unit in anew.problem.units for id in unit.groups if id not in found.inputs.partners}
    assert len(found.kept) > len(lone) / 2
    assert gather(found, asked) == anew


def decided_otherwise(found: SitePlan, random: Random) -> dict[str, Decided]:
    """Decisions of half of the groups: left, for later, as recommended, by a name that passes, by one that is not there."""
    names = {
        unit.groups: [each.names for each in unit.alternatives if each.names[0] != LEFT]
        for unit in gather(found, {"keep_decided": False}).problem.units
    }
    wanted: dict[str, Decided] = {}
    for groups, every in names.items():
        chosen = random.choice(every)
        for id, name in zip(groups, chosen, strict=True):
            wanted[id] = {"group": id, "decision": "convert-with-this-arrangement", "arrangement": name}
    for id in random.sample(list(found.plans), len(found.plans) // 2):
        other = random.choice(("leave-as-is", "defer", "convert-as-recommended"))
        wanted[id] = {"group": id, "decision": other}
    for id in random.sample(list(found.plans), 3):
        wanted[id] = {"group": id, "decision": "convert-with-this-arrangement", "arrangement": "a bar in no row"}
    return wanted


@pytest.mark.parametrize("seed", range(3))
def test_what_is_decided_comes_to_what_the_planner_makes_of_the_decision(seed: int) -> None:
    random = Random(seed)
    found = site_at_random(seed, random)
    decisions = decided_otherwise(found, random)
    anew = dict(found.plans)
    touched = {*decisions, *(found.inputs.partners.get(id, id) for id in decisions)}
    for id in sorted(touched, key=lambda id: (found.inputs.is_fed(id), id)):
        written = decisions.get(id)
        value = value_of(written) if written else found.survey.by_id[id]["facets"].get("decision") or {}
        anew[id] = plan_in_short(with_decision(found.inputs.body(id, anew), cast("dict[str, object]", value)))
    then = planned_so(found, decisions)
    assert {plan["state"] for plan in anew.values()} >= {"ready", "deferred", "left as it is"}
    expected = SitePlan(found.head, found.inputs, anew)
    assert told_of(then) == told_of(expected)
