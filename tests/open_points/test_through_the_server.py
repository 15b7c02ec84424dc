"""Each open point on a real server: planted in a complete site by push, told once with a working link, put right, gone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.open_points.complete_site import CompleteSite, make_complete_site
from tests.open_points.plants import PLANTS, Plant
from tests.support import back_ends, demo_server
from tests.support.server import Client, Server

back_end = back_ends.on_both()
server = demo_server.on_both()


@pytest.fixture
def site(server: Server) -> CompleteSite:
    return make_complete_site(server)


def test_a_complete_site_is_complete(site: CompleteSite) -> None:
    told = site.hand.completeness()
    assert told["open_points"] == []
    assert told["complete"] is True
    assert told["fixtures"]["share_pct"] == told["rooms"]["share_pct"] == 100


@pytest.mark.parametrize(("rule", "plant"), PLANTS.items(), ids=PLANTS.keys())
def test_planted_told_once_put_right_gone(site: CompleteSite, rule: str, plant: Plant) -> None:
    fix = plant(site)
    told = site.hand.completeness()
    assert [point["rule"] for point in told["open_points"]] == [rule], told["open_points"]
    assert told["complete"] is False
    assert told["open_points"][0]["path"].startswith(f"/s/{site.hand.site}/")
    fix()
    assert site.hand.completeness()["open_points"] == []


def test_what_is_complete_can_be_ordered_and_what_cannot_be_ordered_has_a_point(
    client: Callable[[str], Client],
) -> None:
    """Completeness and readiness are one list: no group of the demo building is held back without being told of."""
    manager = client("manager")
    site = f"/api/sites/{manager.site_id()}"
    records = {each["id"]: each for each in manager.get(f"{site}/pull?since=0&limit=5000")["records"]}
    points = manager.get(f"{site}/completeness")["open_points"]
    told = {point["record"] for point in points} | {point["room"] for point in points}
    told |= {records[each]["parent"] for each in told if each in records and records[each]["type"] == "cavity_reading"}
    held = [each for each in manager.get(f"{site}/plan")["groups"] if each["state"] != "ready"]
    held = [each for each in held if is_to_convert(records, each)]
    assert len(held) > 5
    assert [each["room_name"] for each in held if told.isdisjoint({each["group"], each["kind"], each["room"]})] == []


def is_to_convert(records: dict[str, Any], group: dict[str, Any]) -> bool:
    """Whether a group of a plan is neither decided against nor without anything to convert."""
    lamps = records[group["kind"]]["facets"]["lamps"]["value"]["fitted"]
    decision = records[group["group"]]["facets"].get("decision", {}).get("value", {}).get("decision")
    return lamps not in ("built-in-led", "none") and decision not in ("leave-as-is", "defer")


def test_who_is_not_on_the_site_learns_nothing(site: CompleteSite, server: Server) -> None:
    stranger = Client(server.url, "surveyor")
    status, problem = stranger.call("GET", f"/api/sites/{site.hand.site}/completeness")
    assert status == 404, problem


def test_the_demo_building_has_open_points_of_most_rules(client: Callable[[str], Client]) -> None:
    """Its traps are there to be seen: at least fifteen rules find something, each of them more than nothing."""
    manager = client("manager")
    told = manager.get(f"/api/sites/{manager.site_id()}/completeness")
    rules = {point["rule"] for point in told["open_points"]}
    assert len(rules) >= 15, sorted(rules)
    assert told["complete"] is False
    assert 0 < told["rooms"]["complete"] < told["rooms"]["known"]
    assert {
        "room-not-visited",
        "no-access",
        "conflict",
        "outlier",
        "pair-set-aside",
        "photo-not-arrived",
        "unsent-work",
    } <= rules
