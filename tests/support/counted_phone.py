"""A phone in real Chromium on a counted wire, with its own engine at rest: what one sync costs."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import BrowserContext, Page, Response

from tests.conftest import sign_in
from tests.support.counting_proxy import Carried, CountingProxy
from tests.support.server import Client, Server

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
  const value = (n, as_entered) => ({ parent: group, position: n, row: 1, cavity: 1, length_ticks: 384000 + n, as_entered, instrument: 'tape-class-ii' });
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
class CountedPhone:
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

    def make(self, readings: int) -> None:
        """Save that many new readings."""
        self.page.evaluate(NEW, readings)

    def change_all(self) -> None:
        """Save each of them once more, with another value."""
        self.page.evaluate(CHANGED)

    def unsent(self) -> int:
        return int(self.page.evaluate("async () => (await window.ours.storage.counts()).operations"))

    def own_facets_pulled(self) -> list[dict[str, Any]]:
        """Facets that this phone wrote, as the newest sync was handed them."""
        facets = [facet for record in self.pulled for facet in record["facets"].values()]
        return [facet for facet in facets if facet["op"].startswith(self.device)]


@contextmanager
def counted_phone(server: Server, context: BrowserContext) -> Iterator[CountedPhone]:
    """Signed in as a manager, with the site's copy pulled; readings will be of its first group."""
    client = Client(server.url, "manager")
    site = client.site_id()
    records = client.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]
    group = next(each["id"] for each in records if each["type"] == "group")
    pulled: list[dict[str, Any]] = []

    def heard(answer: Response) -> None:
        if "/pull?" in answer.url:
            pulled.extend(answer.json()["records"])

    with CountingProxy(server.port) as wire:
        page = sign_in(context.new_page(), wire.url, "manager")
        device = page.evaluate(OPEN, [site, group])
        page.on("response", heard)
        yield CountedPhone(page, wire, device, pulled)
