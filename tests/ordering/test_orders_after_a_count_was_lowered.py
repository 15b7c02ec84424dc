"""Orders after fixtures were done and counted down, gone, withdrawn or removed since: what is fitted is used.

By hand: two fixtures with two rows of one bar each, a driver each: 4 bars and 2 drivers are ordered.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from tests.open_points.complete_site import CompleteSite, make_complete_site, reading, supplied
from tests.support.releasing import release_seen
from tests.support.server import Server

Json = Any


def records(site: CompleteSite, type_name: str) -> list[Json]:
    pulled = site.hand.client.get(f"/api/sites/{site.hand.site}/pull?since=0&limit=5000")["records"]
    return [each for each in pulled if each["type"] == type_name]


def draft(site: CompleteSite) -> Json:
    status, told = site.hand.client.call("POST", f"/api/sites/{site.hand.site}/orders/draft", {})
    assert status == 200, told
    return told


def pieces(site: CompleteSite) -> dict[str, int]:
    """What is to be ordered, or called off, by code."""
    return {line["code"]: line["pieces"] for each in draft(site)["orders"] for line in each["lines"]}


def order(site: CompleteSite) -> None:
    at = f"/api/sites/{site.hand.site}/orders"
    status, told = site.hand.client.call("POST", at, {"content": draft(site)["content"]})
    assert status == 201, told


def note(site: CompleteSite, position: int, group: str = "") -> None:
    group = group or site.group
    newest = max(
        (each for each in records(site, "conversion") if each["facets"]["identity"]["value"]["parent"] == group),
        key=lambda each: each["facets"]["identity"]["value"]["number"],
    )
    said = {"position": position, "outcome": "done", "noted_at": f"2026-04-0{position}T09:00:00Z"}
    site.hand.make("installation", group, said | {"conversion": newest["id"]}, as_fitted={"as_released": True})


def count(site: CompleteSite, number: int, **more: Any) -> None:
    site.hand.save(site.group, "group", count={"count": number, "dark_lamps": 0, "sure": "yes"} | more)


def release(site: CompleteSite) -> None:
    status, told = release_seen(site.hand.client, site.hand.site)
    assert status == 201, told


def one_more_group(site: CompleteSite) -> str:
    group = site.hand.make("group", site.room, {"kind": site.kind, "note": "the far end"}, **supplied())
    for position in (1, 2):
        for row in (1, 2):
            site.hand.make("cavity_reading", group, reading(position, row))
    return group


@pytest.fixture
def site(server: Server) -> CompleteSite:
    """Released and ordered: 4 bars and 2 drivers."""
    site = make_complete_site(server)
    release(site)
    assert pieces(site) == {"BAR-4": 4, "DRIVER-2": 2}
    order(site)
    assert pieces(site) == {}
    return site


def withdraw(site: CompleteSite) -> None:
    (conversion,) = records(site, "conversion")
    site.hand.save(conversion["id"], "conversion", withdrawn={"reason": "not any more"})


def count_down(site: CompleteSite) -> None:
    count(site, 1)
    release(site)


def take_away(site: CompleteSite) -> None:
    count(site, 1, gone=[2])
    release(site)


def remove(site: CompleteSite) -> None:
    one_more_group(site)
    site.hand.remove(site.group, "group")
    release(site)


@pytest.mark.parametrize("what", [count_down, take_away, withdraw, remove], ids=lambda each: each.__name__)
def test_what_is_fitted_is_not_called_off(site: CompleteSite, what: Callable[[CompleteSite], None]) -> None:
    note(site, 1)
    note(site, 2)
    what(site)
    told = draft(site)
    called_off = {
        line["code"]: line["pieces"] for each in told["orders"] for line in each["lines"] if line["pieces"] < 0
    }
    assert (called_off, told["over"]) == ({}, [])


def test_of_two_fixtures_counted_down_to_none_done_what_is_not_fitted_is_called_off(site: CompleteSite) -> None:
    """Fixture 2 is done, the count says one: 1 is to be done with 2 bars and a driver, 2 has its own: nothing is free."""
    note(site, 2)
    count_down(site)
    assert pieces(site) == {}


def test_what_nobody_fitted_is_called_off_as_before(site: CompleteSite) -> None:
    """Only fixture 1 is done and counted: the second's 2 bars and driver are not wanted."""
    note(site, 1)
    count_down(site)
    assert pieces(site) == {"BAR-4": -2, "DRIVER-2": -1}


def test_fitted_pieces_serve_no_other_group(site: CompleteSite) -> None:
    """4 bars are ordered and 2 of them fitted beyond the count; 2 for the one counted, 4 for two fixtures more: 4 to order."""
    note(site, 2)
    one_more_group(site)
    count_down(site)
    assert pieces(site) == {"BAR-4": 4, "DRIVER-2": 2}


def test_what_was_brought_from_elsewhere_orders_nothing(server: Server) -> None:
    site = make_complete_site(server)
    release(site)
    note(site, 2)
    count_down(site)
    assert pieces(site) == {"BAR-4": 2, "DRIVER-2": 1}


def test_what_came_and_is_fitted_beyond_the_count_is_not_too_much(site: CompleteSite) -> None:
    note(site, 1)
    note(site, 2)
    (made,) = records(site, "order")
    for line in made["facets"]["identity"]["value"]["lines"]:
        identity = {"parent": made["id"], "item": line["item"], "slip": "1"}
        site.hand.save(str(uuid4()), "delivery", identity=identity, count={"good": line["pieces"]})
    count_down(site)
    told = draft(site)
    assert (told["orders"], told["over"]) == ([], [])


def test_what_is_fitted_in_a_removed_group_serves_no_other(site: CompleteSite) -> None:
    """4 bars are ordered and fitted in a group that is removed then: another group of two needs 4 of its own."""
    note(site, 1)
    note(site, 2)
    remove(site)
    assert pieces(site) == {"BAR-4": 4, "DRIVER-2": 2}
