"""Who orders through the server reads which released work is stopped: in the draft, and in the answer to the order."""

from __future__ import annotations

from typing import Any

import pytest
from tests.open_points.complete_site import CompleteSite, make_complete_site
from tests.ordering.test_a_schedule_of_stopped_work import stop, stopped
from tests.ordering.test_orders_after_a_count_was_lowered import draft, note, one_more_group, release
from tests.support.server import Server

Json = Any


@pytest.fixture
def site(server: Server) -> CompleteSite:
    site = make_complete_site(server)
    release(site)
    return site


def ordered(site: CompleteSite) -> Json:
    at = f"/api/sites/{site.hand.site}/orders"
    status, told = site.hand.client.call("POST", at, {"content": draft(site)["content"]})
    assert status == 201, told
    return told


def test_a_draft_and_the_answer_to_an_order_name_what_is_stopped_and_by_what(site: CompleteSite) -> None:
    other = one_more_group(site)
    release(site)
    assert draft(site)["stopped"] == []
    content = draft(site)["content"]
    stop(site, other)
    told = draft(site)
    assert stopped(told) == [(other, 2, ["group.decision.decision"])]
    assert told["content"] == content, "what would be ordered is the same"
    assert stopped(ordered(site)) == stopped(told)


def test_of_stopped_work_that_is_done_nothing_is_told(site: CompleteSite) -> None:
    note(site, 1)
    note(site, 2)
    stop(site, site.group)
    assert draft(site)["stopped"] == []
