"""Released work that is stopped since is in no shift: nobody is sent out to it, and the schedule and the calendar say so."""

from __future__ import annotations

from typing import Any

import pytest
from tests.open_points.complete_site import KIND, CompleteSite, make_complete_site
from tests.ordering.test_orders_after_a_count_was_lowered import one_more_group, records, release
from tests.support.server import Server

Json = Any
ASKED = "from=2027-01-01&people=1"


@pytest.fixture
def site(server: Server) -> CompleteSite:
    """Released with minutes: 5 for each bar and driver."""
    site = make_complete_site(server)
    for item in records(site, "catalogue_item"):
        site.hand.make("price", item["id"], {"each": 10, "fit_minutes": 5})
    release(site)
    return site


def schedule(site: CompleteSite) -> Json:
    return site.hand.client.get(f"/api/sites/{site.hand.site}/schedule?{ASKED}")


def stop(site: CompleteSite, group: str) -> None:
    site.hand.save(group, "group", decision={"decision": "leave-as-is", "reason": "the tenant stays dark"})


def stopped(told: Json) -> list[tuple[str, int, list[str]]]:
    return [
        (each["group"], each["fixtures"], [change["fact"] for change in each["changes"]]) for each in told["stopped"]
    ]


def test_a_site_of_which_everything_is_stopped_has_no_shift_and_says_why(site: CompleteSite) -> None:
    assert stopped(schedule(site)) == []
    old = {"ballast": "magnetic", "pcb_mark": "not-seen", "made": "1975"}
    site.hand.save(site.kind, "kind", ballast=KIND["ballast"] | old)
    told = schedule(site)
    ((group, fixtures, facts),) = stopped(told)
    assert (told["shifts"], told["cost"]["days"], group, fixtures) == ([], 0, site.group, 2)
    assert any(fact.startswith("kind.ballast") for fact in facts), facts


def test_of_a_room_the_rest_is_planned_and_says_how_many_are_stopped_there(site: CompleteSite) -> None:
    other = one_more_group(site)
    release(site)
    ((before,),) = [shift["rooms"] for shift in schedule(site)["shifts"]]
    stop(site, other)
    told = schedule(site)
    ((room,),) = [shift["rooms"] for shift in told["shifts"]]
    assert (before["fixtures"], before["stopped"]) == (4, 0)
    assert (room["fixtures"], room["stopped"]) == (2, 2)
    assert stopped(told) == [(other, 2, ["group.decision.decision"])]
    data = site.hand.client.get(f"/api/sites/{site.hand.site}/schedule.ics?{ASKED}")
    assert "Stopped here\\, do not convert: 2 fixtures" in data.decode().replace("\r\n ", "")


def test_what_is_to_be_converted_again_is_in_the_shifts_again(site: CompleteSite) -> None:
    stop(site, site.group)
    assert schedule(site)["shifts"] == []
    site.hand.save(site.group, "group", decision={"decision": "convert-as-recommended"})
    told = schedule(site)
    assert (told["stopped"], [each["fixtures"] for each in told["shifts"][0]["rooms"]]) == ([], [2])


def test_what_a_manager_said_of_other_changes_sends_nobody_to_fixtures_that_were_counted_since(
    site: CompleteSite,
) -> None:
    (conversion,) = records(site, "conversion")
    site.hand.save(conversion["id"], "conversion", answer={"changes": "of other changes", "answer": "looked at, go on"})
    (group,) = [each for each in records(site, "group") if each["id"] == site.group]
    site.hand.save(site.group, "group", count=group["facets"]["count"]["value"] | {"count": 5})
    assert [each["fixtures"] for each in schedule(site)["shifts"][0]["rooms"]] == [2]
