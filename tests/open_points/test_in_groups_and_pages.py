"""Open points of a site that has more of them than a screen holds: counted, grouped, a page at a time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from tests.open_points.complete_site import Hand, make_complete_site
from tests.support.server import Client, Server

BY = ("floor", "room", "kind", "who")


@pytest.fixture
def points(manager: Client) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = manager.get(f"{site_of(manager)}/completeness")["open_points"]
    assert len(found) > 20
    return found


@pytest.fixture
def manager(client: Callable[[str], Client]) -> Client:
    return client("manager")


def site_of(manager: Client) -> str:
    return f"/api/sites/{manager.site_id()}"


def values(point: dict[str, Any], by: str) -> list[str]:
    if by == "who":
        return list(point["who"])
    return [(point["facts"].get("kind") if by == "kind" else point[by]) or "none"]


def pages(manager: Client, query: str) -> list[dict[str, Any]]:
    """All points of all pages of a query."""
    found: list[dict[str, Any]] = []
    start: int | None = 0
    while start is not None:
        told = manager.get(f"{site_of(manager)}/open-points/of?{query}&from={start}")
        assert len(told["points"]) <= 50
        found += told["points"]
        start = told["next"]
        assert start is None or start == len(found) < told["found"]
    return found


@pytest.mark.parametrize("by", BY)
def test_each_group_counts_its_points_and_holds_them_in_the_order_of_the_walk(
    manager: Client, points: list[dict[str, Any]], by: str
) -> None:
    told = manager.get(f"{site_of(manager)}/open-points?by={by}")
    assert told["points"] == len(points)
    counted = Counter(value for point in points for value in values(point, by))
    assert {each["id"]: each["points"] for each in told["groups"]} == counted
    for group in told["groups"]:
        expected = [point for point in points if group["id"] in values(point, by)]
        assert pages(manager, f"by={by}&value={group['id'].replace(' ', '%20')}") == expected


def test_rooms_and_floors_come_with_their_names(manager: Client) -> None:
    names = [each["name"] for each in manager.get(f"{site_of(manager)}/open-points?by=floor")["groups"]]
    assert "Undercroft" in names
    rooms = manager.get(f"{site_of(manager)}/open-points?by=room")["groups"]
    assert all(each["name"] and each["name"] != each["id"] for each in rooms if each["id"] != "none")


def test_only_what_a_role_can_close_is_told_where_that_is_asked(manager: Client, points: list[dict[str, Any]]) -> None:
    told = manager.get(f"{site_of(manager)}/open-points?by=who&role=crew")
    assert told["points"] == len([point for point in points if "crew" in point["who"]]) > 0
    assert pages(manager, "by=who&value=crew&role=crew") == [point for point in points if "crew" in point["who"]]


def test_what_is_in_no_group_is_an_empty_page_and_what_cannot_be_asked_is_said(manager: Client) -> None:
    site = site_of(manager)
    assert manager.get(f"{site}/open-points/of?by=room&value=nowhere")["points"] == []
    status, problem = manager.call("GET", f"{site}/open-points?by=colour")
    assert status == 422
    assert "floor, room, kind, who or person" in str(problem)


def test_each_point_is_counted_with_one_person_or_with_nobody_and_told_with_that_name(
    manager: Client, points: list[dict[str, Any]]
) -> None:
    site = site_of(manager)
    told = manager.get(f"{site}/open-points?by=person")
    assert sum(each["points"] for each in told["groups"]) == len(points)
    for group in told["groups"]:
        page = manager.get(f"{site}/open-points/of?by=person&value={group['id']}")
        assert page["found"] == group["points"]
        assert set(page["persons"]) == ({""} if group["id"] == "none" else {group["name"]})
        only = manager.get(f"{site}/open-points?by=floor&person={group['id']}")
        assert (only["points"], only["person"]) == (group["points"], "" if group["id"] == "none" else group["name"])


def test_a_point_is_with_who_surveyed_last_until_its_room_is_assigned(
    server: Server,
) -> None:
    site = make_complete_site(server)
    people = f"/api/sites/{site.hand.site}/people"
    for name in ("surveyor", "crew"):
        status, _ = site.hand.client.call("PUT", people, {"name": name, "role": name})
        assert status in (200, 201)
    surveyor, crew = (Hand(Client(server.url, name), site.hand.site) for name in ("surveyor", "crew"))
    room = surveyor.make("room", site.floor, {"number": "X1"})
    site.hand.save(room, "room", surfaces={"floor_pct": 20})

    def persons() -> list[str]:
        told = site.hand.client.get(f"/api/sites/{site.hand.site}/open-points/of?by=room&value={room}")
        found: list[str] = told["persons"]
        assert len(found) == len(told["points"]) > 0
        groups = site.hand.client.get(f"/api/sites/{site.hand.site}/open-points?by=person&room={room}")["groups"]
        assert set(found) - {""} <= {each["name"] for each in groups}
        return found

    names = {each.person: each.client.get("/api/session")["person"]["name"] for each in (site.hand, surveyor, crew)}
    assert set(persons()) == {names[site.hand.person]}
    surveyor.save(room, "room", surfaces={"floor_pct": 25})
    assert set(persons()) == {names[surveyor.person]}
    day = {"day": "2027-01-04", "who": names[site.hand.person], "noted_at": "2027-01-03T08:00:00Z"}
    site.hand.make("assignment", room, {**day, "deed": "assigned", "person": site.hand.person})
    assert set(persons()) == {names[site.hand.person]}
    site.hand.make("assignment", room, {**day, "deed": "given-back", "person": site.hand.person})
    assert set(persons()) == {names[surveyor.person]}
    site.hand.make("assignment", room, {**day, "deed": "taken", "person": crew.person})
    assert set(persons()) == {names[surveyor.person]}, "a crew closes no point of the survey"


def test_a_long_list_comes_in_pages(server: Server) -> None:
    site = make_complete_site(server)
    for number in range(60):
        site.hand.make("room", site.floor, {"number": f"X{number}"})
    path = f"/api/sites/{site.hand.site}/open-points/of?by=floor&value={site.floor}"
    first = site.hand.client.get(f"{path}&from=0")
    assert (len(first["points"]), first["found"], first["next"]) == (50, 60, 50)
    second = site.hand.client.get(f"{path}&from=50")
    assert (len(second["points"]), second["next"]) == (10, None)


def test_without_points_completeness_tells_the_rest_alike(manager: Client) -> None:
    whole = manager.get(f"{site_of(manager)}/completeness")
    short = manager.get(f"{site_of(manager)}/completeness?points=no")
    assert "open_points" not in short
    assert short == {name: value for name, value in whole.items() if name != "open_points"}


def test_of_a_fixture_what_the_server_took_last_is_counted_whatever_the_clocks_say(server: Server) -> None:
    site = make_complete_site(server)
    outcomes = (("done", "2031-01-01T00:00:00Z"), ("problem", "2020-01-01T00:00:00Z"))
    for outcome, noted_at in outcomes:
        identity = {"position": 1, "outcome": outcome, "noted_at": noted_at, "reason": "earth-missing"}
        if outcome == "done":
            del identity["reason"]
        site.hand.make("installation", site.group, identity)
    assert site.hand.completeness()["installed"] == {site.floor: {"problem": 1}}
