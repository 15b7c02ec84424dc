"""Groups that cost the job more than they save are told, with what the job gains without them; nothing is decided by that."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.site_order.ready_site import ready_site

from spanwalk.services.planning.plans import SitePlan, make_plans
from spanwalk.services.planning.totals import job_of_site
from spanwalk.services.site_order.asked import Decided
from spanwalk.services.site_order.difference import difference
from spanwalk.services.site_order.not_paying import NotPaying, not_paying

Json = Any
LEFT = {"decision": "leave-as-is", "reason": "Does not pay"}
KEPT = {"decision": "convert-as-recommended", "reason": "All alike"}


def planned(**decisions: Json) -> SitePlan:
    """The demo building, with decisions by group id."""
    records = copy.deepcopy(demo_records())
    for each in records:
        if each["id"] in decisions:
            each["facets"]["decision"] = decisions[each["id"]]
    return make_plans(records)


def told_at_first() -> NotPaying:
    return not_paying(planned(), {})


def test_those_are_told_whose_part_of_the_value_of_the_job_is_below_nought() -> None:
    found = planned()
    shares = job_of_site(found).shares
    told = not_paying(found, {})
    below = {id for id, share in shares.items() if share["npv"] is not None and share["npv"] < 0}
    assert {each["group"] for each in told["groups"]} == below
    assert below
    assert told["kept"] == []
    assert all(each["npv_share"] < 0 and each["fixtures"] > 0 for each in told["groups"])


def test_the_gain_is_what_the_value_of_the_job_rises_by_once_they_are_left() -> None:
    """Leaving them costs nothing more than they cost today: the net present value of the rest is that of the job."""
    told = told_at_first()
    left = planned(**{each["group"]: LEFT for each in told["groups"]})
    before, after = (job_of_site(each).totals["money"]["npv"] for each in (planned(), left))
    assert before is not None
    assert after is not None
    assert told["gain"] == pytest.approx(after - before, abs=0.05)
    assert not_paying(left, {})["groups"] == []


def test_nothing_is_decided_by_asking() -> None:
    found = planned()
    before = copy.deepcopy(found.plans)
    not_paying(found, {})
    assert found.plans == before


@pytest.mark.parametrize("how", [{}, {"how_chosen": "by-rule"}])
def test_one_that_somebody_decided_to_convert_all_the_same_is_kept_and_still_told(how: Json) -> None:
    group = told_at_first()["groups"][0]["group"]
    told = not_paying(planned(**{group: KEPT | how}), {})
    assert [each["group"] for each in told["kept"]] == [group]
    assert group not in [each["group"] for each in told["groups"]]


def test_what_a_best_order_chose_nobody_has_weighed_by_itself() -> None:
    group = told_at_first()["groups"][0]["group"]
    told = not_paying(planned(**{group: KEPT | {"how_chosen": "best-order"}}), {})
    assert group in [each["group"] for each in told["groups"]]


def test_what_is_released_or_fitted_is_not_asked_about() -> None:
    group = told_at_first()["groups"][0]["group"]
    told = not_paying(planned(), {group: "released"})
    assert group not in [each["group"] for each in (*told["groups"], *told["kept"])]


@pytest.mark.parametrize("seed", range(3))
def test_on_invented_sites_the_gain_is_that_of_the_choice_by_rule(seed: int) -> None:
    found = make_plans(ready_site(40, seed))
    told = not_paying(found, {})
    decided: list[Decided] = [{"group": each["group"], "decision": "leave-as-is"} for each in told["groups"]]
    assert told["gain"] == (difference(found, decided)["saved"] if decided else 0.0)
