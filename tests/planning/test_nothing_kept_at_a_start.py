"""A server that starts with nothing but its data plans by itself, and comes to what one has that planned a moment ago.

Servers of tests begin with plans of the demo that were made for all of them: see `forked_server.planned`.
"""

from __future__ import annotations

from typing import Any

from tests.support.server import Client, Server


def told(server: Server) -> tuple[Any, Any, Any]:
    manager = Client(server.url, "manager")
    site = f"/api/sites/{manager.site_id()}"
    return tuple(manager.get(f"{site}/{what}") for what in ("plan", "completeness", "open-points?by=room"))


def test_the_demo_planned_by_a_server_with_nothing_kept_is_as_all_servers_of_tests_have_it(
    fresh_server: Server,
) -> None:
    begun_with_plans = told(fresh_server)
    assert len(begun_with_plans[0]["groups"]) > 40
    fresh_server.stop()
    assert fresh_server.planned == "", "what was kept went with the server"
    fresh_server.start()
    assert told(fresh_server) == begun_with_plans
