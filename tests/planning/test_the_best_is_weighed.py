"""Of many ways only the best is told, the others are weighed: the same plan comes out as of every way judged, for drawn sites and bodies."""

from __future__ import annotations

import os
from random import Random
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.planning.drawn_bodies import drawn_bodies
from tests.planning.invented_site import invented_site

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.choosing.choosing import Way
from spanwalk.rules.arrangements.choosing.weighing import alike_key, plan_weighed
from spanwalk.rules.arrangements.plan import plan_in_short
from spanwalk.services.planning.kept import Sets
from spanwalk.services.planning.plans import make_plans

Json = Any
SITES = int(os.environ.get("SITES", "5"))
DRAWN = int(os.environ.get("DRAWN", "200"))
POLICIES = ("keep-a-share-of-todays-light", "meet-the-target-of-the-space")


def site_of(seed: int) -> list[Json]:
    """The demo, or an invented site, with some terms of its own; sometimes without a tariff, hours or a price."""
    random = Random(seed)
    records = demo_records() if seed % 3 == 0 else invented_site(24, seed)
    by_type: dict[str, list[Json]] = {}
    for each in records:
        by_type.setdefault(each["type"], []).append(each)
    money = by_type["money"][0]["facets"]["identity"]
    money["tariff_per_kwh"] = round(random.uniform(0.02, 0.6), 3)
    money["heating_pct"], money["heating_per_kwh"] = random.choice(((0, 0.0), (40, 0.9)))
    money["travel_per_day"], money["crew_people"], money["crew_day_h"] = 60, 2, 7
    if random.random() < 0.2:
        del money["tariff_per_kwh"]
    for room in by_type["room"]:
        if random.random() < 0.1:
            room["facets"].pop("hours", None)
    for price in by_type["price"]:
        if random.random() < 0.05:
            price["facets"]["identity"].pop("each", None)
    settings = by_type["site"][0]["facets"].setdefault("settings", {})
    settings["light_policy"] = random.choice(POLICIES)
    return records


def compared(body: Body, sets: Sets) -> bool:
    """Whether anything passes: both plans, and the ways that pass, are the same."""
    ways: list[Way] = []
    whole = plan_in_short(body, ways)
    plan, shared = plan_weighed(body, sets.shared)
    assert plan == whole
    if body.partner is None:
        assert shared is not None
        assert shared.key == alike_key(ways)
    return plan["proposal"] is not None


@pytest.mark.parametrize("seed", range(SITES))
def test_the_plan_of_each_group_of_a_site_is_the_same(seed: int) -> None:
    found, sets = make_plans(site_of(seed)), Sets()
    proposed = [compared(found.body(id), sets) for id in found.plans]
    assert any(proposed)
    assert found.plans == {id: plan_in_short(found.body(id)) for id in found.plans}


def test_the_plan_of_a_chosen_arrangement_is_the_same() -> None:
    random, records = Random(5), invented_site(16, 5)
    found = make_plans(records)
    by_id = {each["id"]: each for each in records}
    chosen = 0
    for id in found.plans:
        ways: list[Way] = []
        plan_in_short(found.body(id), ways)
        names = [each.layout.name for each in ways]
        proposal = found.plans[id]["proposal"]
        if names and proposal is not None:
            arrangement = random.choice((proposal["arrangement"], f"{random.choice(names)}; nothing of the kind"))
            decision = {"decision": "convert-with-this-arrangement", "arrangement": arrangement}
            by_id[id]["facets"]["decision"] = decision
            chosen += 1
    assert chosen > 3
    then, sets = make_plans(records), Sets()
    assert [compared(then.body(id), sets) for id in then.plans]


def test_the_plan_of_drawn_bodies_is_the_same() -> None:
    proposed, kept = 0, []
    for drawn in drawn_bodies(DRAWN, 11):
        sets = Sets()
        # Sets tell drivers apart by which object they are: each body's catalogue stays.
        kept.append((sets, drawn))
        proposed += compared(drawn.here, sets)
    assert proposed > DRAWN // 10
