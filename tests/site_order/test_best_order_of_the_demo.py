"""The best order of the demo building: what is told is what the job comes to once it is decided so."""

from __future__ import annotations

from typing import Any, cast

import pytest
from tests.planning.demo_records import demo_records

from spanwalk.rules.site_order.sums import told_of
from spanwalk.services.planning.plans import SitePlan, make_plans
from spanwalk.services.planning.totals import totals
from spanwalk.services.refusals import InTheWay
from spanwalk.services.site_order.asked import OrderAsked
from spanwalk.services.site_order.difference import difference, value_of
from spanwalk.services.site_order.feasible import gather, refuse_without_money
from spanwalk.services.site_order.ordering import Begun, Step, best_order

Json = Any


FLOORS = ("Undercroft", "Packing floor", "Lantern floor")
"""Of the demo's five: enough to choose from, and proved within seconds."""


def on_floors(records: list[Json]) -> list[Json]:
    """Records without the groups of other floors, and without what hangs on those."""
    by_id = {each["id"]: each for each in records}
    named = {each["id"] for each in records if each["facets"].get("identity", {}).get("name") in FLOORS}
    groups = [each for each in records if each["type"] == "group"]
    gone = {each["id"] for each in groups if by_id[each["parent"]]["parent"] not in named}
    return [each for each in records if each["id"] not in gone and each["parent"] not in gone]


@pytest.fixture(scope="module")
def records() -> list[Json]:
    """Floors of the demo with terms of order, invented: bars in tens, drivers in sixes, 5 % off from 50, 12 % from 200."""
    found = on_floors(demo_records())
    by_id = {each["id"]: each for each in found}
    for each in found:
        if each["type"] == "price" and "each" in each["facets"].get("identity", {}):
            price, item = each["facets"]["identity"], by_id[each["parent"]]
            price |= {"from_2": 50, "each_2": round(price["each"] * 0.95, 2)}
            price |= {"from_3": 200, "each_3": round(price["each"] * 0.88, 2)}
            size = 10 if "bar" in item["facets"] else 6 if "driver" in item["facets"] else 1
            item["facets"]["supply"] = {**item["facets"].get("supply", {}), "pack_size": size}
    return found


@pytest.fixture(scope="module")
def found(records: list[Json]) -> SitePlan:
    return make_plans(records)


def steps(found: SitePlan, fixed: dict[str, str] | None = None, **asked: Any) -> list[Step]:
    return list(best_order(Begun(found, fixed or {}), cast("OrderAsked", {"seconds": 60, **asked})))


@pytest.fixture(scope="module")
def answered(found: SitePlan) -> list[Step]:
    return steps(found, each_item=40.0)


def test_what_is_gathered_comes_to_the_job_of_today_to_the_cent(found: SitePlan) -> None:
    given = gather(found, {}).problem
    told, job = told_of(given, given.today), totals(found)
    assert round(told.lcc, 2) == job["money"]["lcc"]
    assert (round(told.cost, 2), told.days) == (job["money"]["cost"], job["money"]["days"])
    assert told.items == sum(each["order"] > 0 for each in job["quantities"])


def test_a_first_answer_comes_before_the_search_and_the_last_is_proved(answered: list[Step]) -> None:
    assert answered[0]["step"] == "gather"
    assert "first" in [each["step"] for each in answered]
    last = answered[-1]["answer"]
    assert (last["found"], last["proved"], last["gap"]) == (True, True, 0)
    assert last["saved"] is not None
    assert last["saved"] > 0


def test_once_decided_the_job_comes_to_what_was_told(records: list[Json], answered: list[Step]) -> None:
    answer = answered[-1]["answer"]
    assert answer["changes"]
    after = [{**each, "facets": dict(each["facets"])} for each in records]
    by_id = {each["id"]: each for each in after}
    for change in answer["changes"]:
        decided = {"group": change["group"], "decision": change["decision"]}
        named = {} if change["arrangement"] is None else {"arrangement": change["arrangement"]}
        value = value_of(cast("Any", decided | named))
        by_id[change["group"]]["facets"]["decision"] = {**value, "reason": "Best order", "how_chosen": "best-order"}
    job = totals(make_plans(after))
    told = answer["best"]
    assert {name: job["money"][name] for name in ("cost", "rebate", "npv", "lcc", "days")} == {
        name: told[name]
        for name in ("cost", "rebate", "npv", "lcc", "days")  # type: ignore[literal-required]
    }
    assert (job["order_sum"], job["groups"]) == (told["order_sum"], told["groups"])


def test_after_it_was_taken_the_best_order_changes_nothing_more(records: list[Json], answered: list[Step]) -> None:
    after = [{**each, "facets": dict(each["facets"])} for each in records]
    by_id = {each["id"]: each for each in after}
    for change in answered[-1]["answer"]["changes"]:
        named = {} if change["arrangement"] is None else {"arrangement": change["arrangement"]}
        by_id[change["group"]]["facets"]["decision"] = {
            "decision": change["decision"],
            **named,
            "reason": "Best order",
            "how_chosen": "best-order",
        }
    again = steps(make_plans(after), each_item=40.0)[-1]["answer"]
    assert (again["changes"], again["saved"]) == ([], 0)


def test_what_a_person_decided_for_one_group_stays(records: list[Json], answered: list[Step]) -> None:
    change = answered[-1]["answer"]["changes"][0]
    after = [{**each, "facets": dict(each["facets"])} for each in records]
    group = next(each for each in after if each["id"] == change["group"])
    group["facets"]["decision"] = {"decision": "convert-with-this-arrangement", "arrangement": change["today"]}
    last = steps(make_plans(after), each_item=40.0)[-1]["answer"]
    assert change["group"] not in [each["group"] for each in last["changes"]]
    assert last["fixed"] == {"by-hand": 1}


def test_what_a_person_wants_as_recommended_stays_too_unless_it_is_to_be_decided_anew(
    records: list[Json], answered: list[Step]
) -> None:
    change = answered[-1]["answer"]["changes"][0]
    after = [{**each, "facets": dict(each["facets"])} for each in records]
    group = next(each for each in after if each["id"] == change["group"])
    group["facets"]["decision"] = {"decision": "convert-as-recommended", "reason": "By hand"}
    plans = make_plans(after)
    last = steps(plans, each_item=40.0)[-1]["answer"]
    assert change["group"] not in [each["group"] for each in last["changes"]]
    anew = steps(plans, each_item=40.0, keep_decided=False)[-1]["answer"]
    assert change["group"] in [each["group"] for each in anew["changes"]]


def test_what_is_released_or_fitted_stays_and_is_counted_in_what_the_job_comes_to(
    found: SitePlan, answered: list[Step]
) -> None:
    changed = [each["group"] for each in answered[-1]["answer"]["changes"]]
    fixed = dict.fromkeys(changed[:-1], "released")
    last = steps(found, fixed, each_item=40.0, keep_decided=False, budget=1e9)[-1]["answer"]
    assert {each["group"] for each in last["changes"]} & set(fixed) == set()
    assert last["fixed"]["released"] >= len(fixed)
    assert (last["today"]["groups"], last["today"]["cost"]) == (
        answered[-1]["answer"]["today"]["groups"],
        answered[-1]["answer"]["today"]["cost"],
    )


def test_with_every_group_released_nothing_changes_whatever_the_rules(found: SitePlan) -> None:
    last = steps(found, dict.fromkeys(found.plans, "fitted"), each_item=40.0, same_look=True)[-1]["answer"]
    assert (last["found"], last["changes"]) == (True, [])
    assert last["fixed"] == {"fitted": len(found.plans)}


def test_a_least_share_of_today_s_light_holds_for_every_group_that_changes(found: SitePlan) -> None:
    last = steps(found, least_light_pct=107.0)[-1]["answer"]
    lights = [each["light_best_pct"] for each in last["changes"]]
    assert last["changes"]
    assert not last["today_keeps"]
    assert min(light for light in lights if light is not None) >= 107


def test_only_groups_of_the_kind_that_is_asked_for_are_changed(found: SitePlan) -> None:
    kind = next(plan["kind"] for plan in found.plans.values() if plan["state"] == "ready")
    last = steps(found, scope={"kind": kind}, least_light_pct=97.0)[-1]["answer"]
    assert {found.plans[each["group"]]["kind"] for each in last["changes"]} <= {kind}


def test_leaving_groups_is_told_with_what_they_cost_as_they_are(found: SitePlan) -> None:
    group = next(id for id, plan in found.plans.items() if plan["state"] == "ready")
    told = difference(found, [{"group": group, "decision": "leave-as-is"}])
    [change] = told["changes"]
    assert (change["today_state"], change["best_state"]) == ("ready", "left as it is")
    assert told["best"]["groups"] == told["today"]["groups"] - 1
    assert told["best"]["left_lcc"] > 0


def test_a_site_where_nothing_is_ready_is_refused() -> None:
    with pytest.raises(InTheWay) as refused:
        refuse_without_money(make_plans([each for each in demo_records() if each["type"] != "group"]))
    assert refused.value.code == "site-order.nothing-ready"


def test_a_site_without_prices_of_energy_is_refused_and_says_what_is_missing() -> None:
    records = [each for each in demo_records() if each["type"] != "money"]
    with pytest.raises(InTheWay) as refused:
        refuse_without_money(make_plans(records))
    assert refused.value.code == "site-order.no-money"
    assert "tariff" in refused.value.facts["what"]  # type: ignore[operator]
