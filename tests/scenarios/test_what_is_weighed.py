"""Other money, hours or light are weighed of what is kept beside the plans: the same to the cent as planning anew, and judging nothing."""

from __future__ import annotations

import copy
from collections.abc import Callable
from random import Random
from typing import Any, cast

import pytest
from tests.planning.demo_records import demo_records
from tests.planning.invented_site import invented_site
from tests.support.charges import CHARGES

from spanwalk.reference import tables
from spanwalk.rules.figures import SiteValue, figures
from spanwalk.services.planning import fingerprints
from spanwalk.services.planning import inputs as plan_inputs
from spanwalk.services.planning.plans import SitePlan, make_plans
from spanwalk.services.scenarios.asked import ScenarioAsked
from spanwalk.services.scenarios.changing import edits_of, planned_with
from spanwalk.services.scenarios.told import figures_of, scenario
from spanwalk.services.scenarios.weighing import weighed

Json = Any
GROUPS = 50
CHARGED = {**CHARGES, "pcb_ballast_container_each": 480, "pcb_ballast_container_holds": 12}
"""What is charged on a job, invented."""
WEIGHED_PARTS = ("arrangement", "watts", "parts", "minutes", "light", "energy", "money", "fill_items")


def asked_at_random(random: Random) -> ScenarioAsked:
    """Some figures of a scenario, each said or not."""
    every: dict[str, Any] = {
        "tariff_per_kwh": round(random.uniform(0, 0.6), 3),
        "escalation_pct": random.choice((0, 2.5, 6)),
        "discount_pct": random.choice((0, 3, 9)),
        "labour_per_h": random.randrange(30, 160),
        "hours_pct": random.randrange(20, 180),
        "light_policy": random.choice(("keep-a-share-of-todays-light", "meet-the-target-of-the-space")),
        "keep_light_pct": random.randrange(40, 140),
    }
    names = random.sample(list(every), random.randrange(1, 5))
    return cast("ScenarioAsked", {name: every[name] for name in names})


def site_at_random(random: Random) -> list[Json]:
    """An invented site, or the demo, with terms of money and decisions of its own."""
    records = copy.deepcopy(invented_site(GROUPS, random.randrange(1000)) if random.random() < 0.7 else demo_records())
    return varied(records, random)


def varied(records: list[Json], random: Random) -> list[Json]:
    """The same records with terms of money and decisions of their own."""
    money = next(each for each in records if each["type"] == "money")["facets"]["identity"]
    money |= {"heating_pct": 40, "heating_per_kwh": random.choice((0.02, 0.5))} if random.random() < 0.3 else {}
    money |= {"ratchet_pct": 80, "rebate_per_kw": 300, "rebate_cap_pct": 30} if random.random() < 0.5 else {}
    money |= {**CHARGED, "tax_on": random.choice(("materials", "all-costs"))} if random.random() < 0.7 else {}
    plans = make_plans(records).plans
    for each in records:
        proposal = plans[each["id"]]["proposal"] if each["id"] in plans else None
        if proposal is not None and random.random() < 0.2:
            named = {"decision": "convert-with-this-arrangement", "arrangement": proposal["arrangement"]}
            each["facets"]["decision"] = random.choice((named, {"decision": "defer"}, {"decision": "leave-as-is"}))
    return records


def told_of(found: SitePlan) -> dict[str, Any]:
    """Of each group what figures look at."""
    return {
        id: (
            plan["state"],
            plan["misfits"],
            None
            if plan["proposal"] is None
            else [cast("dict[str, Any]", plan["proposal"])[name] for name in WEIGHED_PARTS],
        )
        for id, plan in found.plans.items()
    }


@pytest.mark.parametrize("seed", range(3))
def test_what_is_kept_comes_to_what_planning_anew_does(seed: int) -> None:
    random = Random(seed)
    found = make_plans(site_at_random(random))
    for _ in range(2):
        asked = asked_at_random(random)
        edits = edits_of(found, asked)
        anew = planned_with(found, edits)
        assert told_of(weighed(found, edits)) == told_of(anew), asked
        assert scenario(found, asked, {})["then"] == figures_of(anew), asked


def test_one_question_after_another_is_told_as_if_it_were_the_first() -> None:
    """What was lit for the question before serves only where the same light is wanted: money, light and hours change in turns."""
    found = make_plans(site_at_random(Random(7)))
    asked: list[Json] = [
        {"tariff_per_kwh": 0.4},
        {"keep_light_pct": 75},
        {"labour_per_h": 140, "tariff_per_kwh": 0},
        {"hours_pct": 60},
        {"keep_light_pct": 120, "tariff_per_kwh": 0.4},
        {"tariff_per_kwh": 0.4},
    ]
    told = [scenario(found, each, {})["then"] for each in asked]
    assert told == [figures_of(planned_with(found, edits_of(found, each))) for each in asked]
    assert len({str(each) for each in told}) == len(asked) - 1


def test_what_nothing_was_kept_of_is_found_once_and_kept() -> None:
    """As after a start of the server, when plans come from the database."""
    found = make_plans(site_at_random(Random(8)))
    asked = cast("ScenarioAsked", {"keep_light_pct": 85})
    told = scenario(found, asked, {})["then"]
    kept = {id for id in found.kept if found.plans[id]["state"] != "not by this method"}
    found.kept.clear()
    assert scenario(found, asked, {})["then"] == told
    assert found.kept.keys() == kept


@pytest.fixture(scope="module")
def records() -> list[Json]:
    return invented_site(GROUPS)


@pytest.fixture(scope="module")
def found(records: list[Json]) -> SitePlan:
    return make_plans(records)


def test_no_cavity_is_judged_and_no_group_planned_but_pairs_on_one_ballast(
    found: SitePlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: Any) -> Any:
        raise AssertionError("judged anew")

    monkeypatch.setattr(plan_inputs, "judge_group", never)
    alone = SitePlan(found.head, found.inputs, {id: each for id, each in found.plans.items() if id in found.kept})
    alone.kept = found.kept
    assert len(alone.plans) > GROUPS / 2
    for asked in ({"tariff_per_kwh": 0.31}, {"keep_light_pct": 70}, {"hours_pct": 50}):
        assert weighed(alone, edits_of(found, cast("ScenarioAsked", asked))).plans.keys() == alone.plans.keys()


def test_groups_for_which_the_same_passes_share_one_set(found: SitePlan) -> None:
    sets = {id(each.ways) for each in found.kept.values()}
    assert len(sets) < len(found.kept) / 2
    assert len({each.ways.key for each in found.kept.values()}) == len(sets)


def group_counted(records: list[Json]) -> None:
    next(each for each in records if each["type"] == "group")["facets"]["count"]["count"] += 3


def driver_retired(records: list[Json]) -> None:
    item = next(each for each in records if each["facets"].get("driver"))
    item["facets"]["retired"] = {"retired": True}


def item_dearer(records: list[Json]) -> None:
    for each in records:
        if each["type"] == "price":
            each["facets"]["identity"]["each"] *= 1.5


def kind_deeper(records: list[Json]) -> None:
    for each in records:
        if each["type"] == "kind" and "length_ticks" in each["facets"].get("ballast_space", {}):
            each["facets"]["ballast_space"]["length_ticks"] //= 3


@pytest.mark.parametrize("change", [group_counted, driver_retired, item_dearer, kind_deeper])
def test_after_a_change_what_is_kept_is_that_of_the_change(
    records: list[Json], found: SitePlan, change: Callable[[list[Json]], None]
) -> None:
    changed = copy.deepcopy(records)
    change(changed)
    after, fresh = make_plans(changed, 1, found), make_plans(changed)
    assert after.kept.keys() == fresh.kept.keys()
    assert {id: each.judged for id, each in after.kept.items()} == {id: each.judged for id, each in fresh.kept.items()}
    for asked in ({"tariff_per_kwh": 0.05}, {"keep_light_pct": 75}):
        told = cast("ScenarioAsked", asked)
        assert scenario(after, told, {})["then"] == scenario(fresh, told, {})["then"]


def test_a_change_of_one_group_lets_go_what_was_kept_of_it_alone(records: list[Json], found: SitePlan) -> None:
    changed = copy.deepcopy(records)
    group_counted(changed)
    after = make_plans(changed, 1, found)
    other = [id for id, each in after.kept.items() if each is not found.kept[id]]
    assert other == [next(each["id"] for each in records if each["type"] == "group" and each["id"] in found.kept)]


def test_other_rules_and_other_figures_of_lamps_let_all_go(
    records: list[Json], found: SitePlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    figure = next(each for each in figures(tables()) if each.table == "lumens" and each.least is not None)
    lamp = SiteValue("r", *figure.address, cast("float", figure.least), "read here", "", "Mara", "2026-03-01")
    of_lamp = make_plans(records, 1, found, [lamp])
    monkeypatch.setattr(fingerprints, "RULES_VERSION", "another")
    of_rules = make_plans(records, 1, found)
    for after in (of_lamp, of_rules):
        assert after.made == len(found.plans)
        assert not any(each is found.kept[id] for id, each in after.kept.items())


def test_what_is_kept_of_a_group_is_small(found: SitePlan) -> None:
    """Packed judgements of 2 kB on average, so that 20,000 groups keep 40 MB."""
    sizes = [len(each.packed) for each in found.kept.values()]
    assert sum(sizes) / len(sizes) < 2_048


def test_asking_changes_nothing_of_what_is_planned(found: SitePlan) -> None:
    """Asking changes neither plans nor what they come to."""
    before = copy.deepcopy(told_of(found))
    scenario(found, {"keep_light_pct": 60, "hours_pct": 140}, {})
    assert told_of(found) == before
