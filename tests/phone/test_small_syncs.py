"""What a sync costs on the wire, from real Chromium: requests, and bytes with headers, counted between it and the server."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import BrowserContext
from tests.support.counted_phone import CountedPhone, counted_phone
from tests.support.server import Server

CHANGES = 50
RANDOM_BYTES_OF_AN_ID = 15
MOST_REQUESTS, MOST_BYTES = 3, 20_000
MOST_REQUESTS_FOR_NOTHING, MOST_BYTES_FOR_NOTHING = 2, 2_000


@pytest.fixture
def phone(server: Server, new_phone: Callable[..., BrowserContext]) -> Iterator[CountedPhone]:
    with counted_phone(server, new_phone()) as signed_in:
        yield signed_in


def test_50_changes_take_three_requests_and_20_kb_and_none_of_ones_own_values_comes_back(
    phone: CountedPhone,
) -> None:
    for change in (lambda: phone.make(CHANGES), phone.change_all):
        change()
        assert phone.unsent() == CHANGES
        took = phone.sync()
        assert phone.unsent() == 0
        assert 2 <= took.requests <= MOST_REQUESTS
        assert took.up > CHANGES * RANDOM_BYTES_OF_AN_ID, "the wire is counted"
        assert took.bytes < MOST_BYTES
        own = phone.own_facets_pulled()
        assert [facet for facet in own if "value" in facet] == []


def test_nothing_to_do_takes_two_requests_and_2_kb(phone: CountedPhone) -> None:
    took = phone.sync()
    assert 1 <= took.requests <= MOST_REQUESTS_FOR_NOTHING
    assert 0 < took.bytes < MOST_BYTES_FOR_NOTHING
    assert phone.pulled == []
