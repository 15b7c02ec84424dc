"""A count that was lowered below a fixture that is done: all that tell of what is done tell the same, and what came out is counted."""

from __future__ import annotations

from typing import Any

import pytest
from tests.open_points.complete_site import CompleteSite, make_complete_site
from tests.support.releasing import release_seen
from tests.support.server import Server


@pytest.fixture(scope="module")
def site(server: Server) -> CompleteSite:
    site = make_complete_site(server)
    assert release_seen(site.hand.client, site.hand.site)[0] == 201
    return site


def note(site: CompleteSite, position: int, outcome: str = "done") -> str:
    said = {"position": position, "outcome": outcome, "noted_at": f"2026-04-0{position}T09:00:00Z"}
    conversion = released(site)
    return site.hand.make(
        "installation", site.group, said | {"conversion": conversion}, as_fitted={"as_released": True}
    )


def released(site: CompleteSite) -> str:
    pulled = site.hand.client.get(f"/api/sites/{site.hand.site}/pull?since=0&limit=5000")["records"]
    return str(next(each["id"] for each in pulled if each["type"] == "conversion"))


def count(site: CompleteSite, number: int, **more: Any) -> None:
    site.hand.save(site.group, "group", count={"count": number, "dark_lamps": 0, "sure": "yes"} | more)


def told(site: CompleteSite) -> dict[str, Any]:
    client, at = site.hand.client, f"/api/sites/{site.hand.site}"
    completeness, handover = client.get(f"{at}/completeness"), client.get(f"{at}/handover")
    return {
        "installed": completeness["installed"].get(site.floor, {}),
        "handover": (handover["done"], handover["fixtures"]),
        "points": [each["rule"] for each in completeness["open_points"]],
        "open": [each["text"] for each in handover["open"]],
    }


def test_a_fixture_beyond_the_count_is_converted_all_the_same(site: CompleteSite) -> None:
    note(site, 2)
    count(site, 1)
    now = told(site)
    assert (now["installed"], now["handover"]) == ({"done": 1}, (1, 2))
    assert "position-above-count" in now["points"]
    assert any("not in the count of 1: no. 2" in each for each in now["open"])


def test_taken_away_since_it_is_nowhere_a_fixture(site: CompleteSite) -> None:
    count(site, 1, gone=[2])
    now = told(site)
    assert (now["installed"], now["handover"]) == ({}, (0, 1))
    assert not any("in the count" in each for each in now["open"])


def test_counted_again_it_is_one_of_two(site: CompleteSite) -> None:
    count(site, 2)
    now = told(site)
    assert (now["installed"], now["handover"]) == ({"done": 1}, (1, 2))
    assert not any("in the count" in each for each in now["open"])
