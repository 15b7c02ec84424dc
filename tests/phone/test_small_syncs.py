"""What a sync costs on the wire, from real Chromium: requests, and bytes with headers, counted between it and the server."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Response
from tests.conftest import sign_in
from tests.support.counting_proxy import Carried, CountingProxy
from tests.support.server import Client, Server

CHANGES = 50
MOST_REQUESTS, MOST_BYTES = 3, 20_000
MOST_REQUESTS_FOR_NOTHING, MOST_BYTES_FOR_NOTHING = 2, 2_000

OPEN = """async ([siteId, group]) => {
  const { store } = await import('/app/store/store.js');
  const { cycle } = await import('/app/sync/cycle.js');
  await navigator.serviceWorker.ready;
  const site = await store.openSite(siteId);
  site.engine.stop();
  await site.engine.running;
  const { storage } = site;
  const sync = () => cycle(storage, site.engine.transport);
  await sync();
  const value = (n, as_entered) => ({ parent: group, position: n, row: 1, cavity: 1, length_ticks: 384000 + n, as_entered, instrument: 'tape class II' });
  window.ours = { storage, sync, value, ids: [] };
  return site.device();
}"""
NEW = """async (count) => {
  const { storage, value, ids } = window.ours;
  for (let n = 0; n < count; n++) {
    ids.push(crypto.randomUUID());
    await storage.save([{ record: ids[n], type: 'cavity_reading', facet: 'identity', seen: null, value: value(n + 1, '1200') }]);
  }
}"""
CHANGED = """async () => {
  const { storage, value, ids } = window.ours;
  for (const [n, record] of ids.entries()) {
    const { seen } = await storage.get(record);
    await storage.save([{ record, type: 'cavity_reading', facet: 'identity', seen: seen.identity, value: value(n + 1, '1201') }]);
  }
}"""


@dataclass
class Phone:
    """A signed-in phone on a counted wire, its own engine at rest; `pulled` gathers the records that it is handed."""

    page: Page
    wire: CountingProxy
    device: str
    pulled: list[dict[str, Any]]

    def sync(self) -> Carried:
        self.pulled.clear()
        before = self.wire.carried
        matches = self.page.evaluate("async () => (await window.ours.sync()).matches")
        assert matches, "the copy is what the server has"
        return self.wire.carried.since(before)

    def unsent(self) -> int:
        return int(self.page.evaluate("async () => (await window.ours.storage.counts()).operations"))

    def own_facets_pulled(self) -> list[dict[str, Any]]:
        """Facets that this phone wrote, as the server handed them out."""
        facets = [facet for record in self.pulled for facet in record["facets"].values()]
        return [facet for facet in facets if facet["op"].startswith(self.device)]


@pytest.fixture
def phone(server: Server, new_phone: Callable[..., BrowserContext]) -> Iterator[Phone]:
    client = Client(server.url, "manager")
    site = client.site_id()
    records = client.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]
    group = next(each["id"] for each in records if each["type"] == "group")
    pulled: list[dict[str, Any]] = []

    def heard(answer: Response) -> None:
        if "/pull?" in answer.url:
            pulled.extend(answer.json()["records"])

    with CountingProxy(server.port) as wire:
        page = sign_in(new_phone().new_page(), wire.url, "manager")
        device = page.evaluate(OPEN, [site, group])
        page.on("response", heard)
        yield Phone(page, wire, device, pulled)


def test_50_changes_take_three_requests_and_20_kb_and_none_of_ones_own_values_comes_back(
    phone: Phone,
) -> None:
    for change in (NEW, CHANGED):
        phone.page.evaluate(change, CHANGES)
        assert phone.unsent() == CHANGES
        took = phone.sync()
        print(took, took.bytes, "bytes")
        assert phone.unsent() == 0
        assert 2 <= took.requests <= MOST_REQUESTS
        assert took.up > CHANGES * len('"length_ticks"') / 2, "the wire is counted"
        assert took.bytes < MOST_BYTES
        assert [facet for facet in phone.own_facets_pulled() if "value" in facet] == []


def test_nothing_to_do_takes_two_requests_and_2_kb(phone: Phone) -> None:
    took = phone.sync()
    print(took, took.bytes, "bytes")
    assert 1 <= took.requests <= MOST_REQUESTS_FOR_NOTHING
    assert 0 < took.bytes < MOST_BYTES_FOR_NOTHING
    assert phone.pulled == []
