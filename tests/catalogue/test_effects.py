"""What taking changed items does to a plan, and what uses an item, on the demo's building."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

Json = Any


class Building:
    """The demo's building, whose catalogue is the firm's, as its owner has both."""

    def __init__(self, client: Client) -> None:
        self.client = client
        sites = client.get("/api/session")["sites"]
        self.site, self.firm = (
            next(each["id"] for each in sites if each["kind"] == kind) for kind in ("building", "catalogue")
        )

    def ask(self, what: str, body: Json | None = None) -> Json:
        path = f"/api/sites/{self.site}/catalogue{what}"
        if body is None:
            return self.client.get(path)
        status, told = self.client.call("POST", path, body)
        assert status == 200, told
        return told

    def plan(self) -> Json:
        return self.client.get(f"/api/sites/{self.site}/plan")

    def records(self, site: str) -> dict[str, Json]:
        pulled = self.client.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]
        return {each["id"]: each for each in pulled if not each["removed"]}


@pytest.fixture
def building(fresh_server: Server) -> Building:
    return Building(Client(fresh_server.url, "owner"))


@pytest.fixture
def retire(building: Building) -> Callable[[str], None]:
    from tests.open_points.complete_site import Hand

    hand = Hand(building.client, building.firm)
    return lambda item: hand.save(item, "catalogue_item", retired={"retired": True, "reason": "no longer made"})


def test_the_demos_building_has_taken_the_firms_catalogue(building: Building) -> None:
    told = building.ask("")
    assert told["firm"]["items"] == told["items"] > 20
    assert (told["own_items"], told["differences"]) == (0, [])
    assert building.plan()["catalogue"] == told["taken"]["name"]


def test_a_release_says_which_version_of_the_catalogue_it_was_planned_with(building: Building) -> None:
    status, _ = release_seen(building.client, building.site, None)
    assert status == 201
    (release,) = [each for each in building.records(building.site).values() if each["type"] == "release"]
    assert release["facets"]["identity"]["value"]["catalogue"] == building.ask("")["taken"]["name"]


def test_an_item_that_is_planned_with_says_how_often(building: Building) -> None:
    uses = {each["item"]: each for each in building.ask("/uses")["uses"]}
    groups = building.plan()["groups"]
    proposed = [each for each in groups if each["arrangement"] is not None]
    assert proposed
    assert sum(each["groups"] for each in uses.values()) >= len(proposed)
    assert max(each["fixtures"] for each in uses.values()) <= sum(each["fixtures"] for each in proposed)


def test_what_a_retired_item_does_to_the_plan_is_told_before_it_is_taken_and_true_after(
    building: Building, retire: Callable[[str], None]
) -> None:
    used = max(building.ask("/uses")["uses"], key=lambda each: each["groups"])
    retire(used["item"])
    before = {each["group"]: each for each in building.plan()["groups"]}
    told = building.ask("/effects", {"items": [used["item"]]})
    assert sum(each["groups"] for each in told["using"]) == used["groups"]
    assert told["otherwise"] >= used["groups"]
    assert building.plan()["groups"] == list(before.values()), "asking changes nothing"
    building.ask("/take", {"items": [used["item"]]})
    after = {each["group"]: each for each in building.plan()["groups"]}
    changed = {
        group
        for group in before
        if (before[group]["state"], before[group]["arrangement"], before[group].get("cost"))
        != (after[group]["state"], after[group]["arrangement"], after[group].get("cost"))
    }
    assert {each["group"] for each in told["told"]} == changed
    for each in told["told"]:
        assert (each["state_to"], each["arrangement_to"], each["cost_to"]) == (
            after[each["group"]]["state"],
            after[each["group"]]["arrangement"],
            after[each["group"]].get("cost"),
        )
    assert used["item"] not in {each["item"] for each in building.ask("/uses")["uses"] if each["groups"]}


def test_where_nothing_changed_nothing_would_be_planned_otherwise(building: Building) -> None:
    told = building.ask("/effects", {})
    assert (told["otherwise"], told["told"], told["using"]) == (0, [], [])
    assert told["groups"] == len(building.plan()["groups"])
