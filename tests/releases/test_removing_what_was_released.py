"""A group that was released can still be taken out of the survey: its release is history that nobody may remove."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.open_points.complete_site import Hand
from tests.releases.test_through_the_server import Site
from tests.support.back_ends import ONE_MACHINE
from tests.support.demo_server import started
from tests.support.server import Client


@pytest.fixture(scope="module")
def site(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Any:
    running = started(ONE_MACHINE, demo_data, tmp_path_factory.mktemp("removing") / "data")
    client = Client(running.url, "manager")
    made = Site(Hand(client, client.site_id()))
    made.release()
    yield made
    running.stop()


def test_a_released_group_is_removed_once_its_readings_are(site: Site) -> None:
    group = site.plan_of("N06", "K8")["group"]
    assert site.conversions(group)
    below = [
        each["id"] for each in (*site.records("cavity_reading"), *site.records("trial_bar")) if each["parent"] == group
    ]
    for each in below:
        site.hand.remove(each, site.hand.state(each)["type"])
    site.hand.remove(group, "group")
    assert site.hand.state(group) == {"facets": {}, "conflicts": []}, "it is gone, without a conflict"
    assert site.conversions(group), "what was released stays"


def test_work_that_crews_noted_still_holds_the_group(site: Site) -> None:
    group = site.plan_of("L02", "K19")["group"]
    (conversion,) = site.conversions(group)
    told = {"position": 1, "conversion": conversion["id"], "outcome": "skipped", "reason": "no-access"}
    site.hand.make("installation", group, told)
    site.hand.remove(group, "group")
    assert site.hand.state(group)["facets"]
