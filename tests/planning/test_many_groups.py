"""Planning many groups at once gives each the plan that it would get by itself."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from tests.planning.demo_records import demo_records
from tests.planning.invented_site import invented_site
from tests.planning.naive import enumerate_all

from spanwalk.rules.arrangements.body import Catalogue
from spanwalk.rules.arrangements.plan import SHOWN, plan_group, plan_in_short
from spanwalk.services.planning.plans import make_plans

Records = list[dict[str, Any]]
POLICIES = ("keep-a-share-of-todays-light", "meet-the-target-of-the-space")


def agrees_with_each_by_itself(records: Records, every: int = 1) -> set[str]:
    """Compare the plans of a site, or each so many-th of them, with naive enumeration; the states that occurred."""
    found = make_plans(records)
    compared = list(found.plans.items())[::every]
    for group_id, plan in compared:
        body = found.body(group_id)
        # A catalogue of its own: nothing that another group worked out can be looked up in it.
        alone = type(body)(
            **{name: getattr(body, name) for name in body.__dataclass_fields__} | {"catalogue": Catalogue.of(records)}
        )
        whole, naive = plan_group(alone), enumerate_all(alone)
        assert [each["arrangement"] for each in whole["feasible"]] == naive.names[:SHOWN]
        assert (whole["feasible_count"], whole["proposal"]) == (len(naive.names), naive.best)
        assert plan == plan_in_short(alone)
        for name in ("state", "fixtures", "blockers", "instead", "site_values", "cautions", "waste"):
            assert plan[name] == whole[name], name
        assert plan["now"]["watts"] == whole["now"]["watts"]
        assert in_part(plan["proposal"], whole["proposal"])
    return {plan["state"] for _, plan in compared}


def in_part(some: Any, whole: Any) -> bool:
    """Whether all that is said in short is said whole too, and alike."""
    if isinstance(some, dict) and isinstance(whole, dict):
        return all(name in whole and in_part(value, whole[name]) for name, value in some.items())
    return bool(some == whole)


@settings(max_examples=4, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 2**32), groups=st.integers(1, 7), policy=st.sampled_from(POLICIES))
@example(seed=284, groups=1, policy=POLICIES[0])  # two of four rows cost the same: the inner ones look better
def test_each_group_of_a_random_site_gets_the_plan_that_it_would_get_by_itself(
    seed: int, groups: int, policy: str
) -> None:
    records = invented_site(groups, seed)
    site = next(each for each in records if each["type"] == "site")
    site["facets"]["settings"]["light_policy"] = policy
    agrees_with_each_by_itself(records)


def test_so_do_groups_of_the_demo() -> None:
    assert agrees_with_each_by_itself(demo_records(), every=2) == {
        "ready",
        "open",
        "nothing passes",
        "not by this method",
    }


@pytest.mark.soak
def test_so_do_a_thousand_groups_of_an_invented_site() -> None:
    agrees_with_each_by_itself(invented_site(1000, 7))
