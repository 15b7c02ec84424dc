"""The phone's share, in real Chromium: what a save and a first pull cost beside bare IndexedDB."""

from __future__ import annotations

import statistics
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import BrowserContext, Page, sync_playwright

from tests.bench import server as server_bench
from tests.bench.figure import Figure, in_turns
from tests.conftest import PHONE, sign_in
from tests.support import machine
from tests.support.counted_phone import CountedPhone, counted_phone
from tests.support.counting_proxy import Carried
from tests.support.server import Client, Server

RUNS = 5
SAVES = 200
CHANGES = 50
PULLS = 9

BARE_DATABASE = """
  const bare = await new Promise((done, failed) => {
    const asked = indexedDB.open('bare-' + Math.random(), 1);
    asked.onupgradeneeded = () => { asked.result.createObjectStore('records', { keyPath: 'id' }); asked.result.createObjectStore('outbox', { autoIncrement: true }); };
    asked.onsuccess = () => done(asked.result); asked.onerror = () => failed(asked.error);
  });
  const written = (work) => new Promise((done, failed) => {
    const tx = bare.transaction(['records', 'outbox'], 'readwrite', { durability: 'strict' });
    work(tx); tx.oncomplete = () => done(); tx.onabort = () => failed(tx.error);
  });
"""

SAVE_BARE = (
    "async ([group, count]) => {"
    + BARE_DATABASE
    + """
  const taken = [];
  for (let n = 0; n < count; n++) {
    const started = performance.now();
    const record = { id: crypto.randomUUID(), type: 'cavity_reading', parent: group, facets: { identity: { parent: group, position: 1, row: 1, cavity: 1, length_ticks: 384000 + n, as_entered: '1200', instrument: 'tape-class-ii' } } };
    await written((tx) => { tx.objectStore('records').put(record); tx.objectStore('outbox').put({ ...record }); });
    taken.push(performance.now() - started);
  }
  return taken;
}"""
)

WALKED_TO = """async ([siteId, group]) => {
  const { store } = await import('/app/store/store.js');
  const site = await store.openSite(siteId);
  await store.syncNow();
  await site.summaries(); // the walk counts the rooms; each save keeps them up from then on
  if (!(await site.get(group))) throw new Error('the group is not on this phone');
}"""

SAVE_OURS = """async ([group, count, siteId]) => {
  const { store } = await import('/app/store/store.js');
  const site = await store.openSite(siteId);
  const taken = [];
  for (let n = 0; n < count; n++) {
    const started = performance.now();
    await site.save([{ record: site.newId(), type: 'cavity_reading', facet: 'identity', seen: null,
      value: { parent: group, position: 1, row: 1, cavity: 1, length_ticks: 384000 + n, as_entered: '1200', instrument: 'tape-class-ii' } }]);
    taken.push(performance.now() - started);
  }
  return taken;
}"""

PULL_BARE = (
    "async ([siteId]) => {"
    + BARE_DATABASE
    + """
  const started = performance.now();
  let since = 0, more = true;
  while (more) {
    const page = await (await fetch(`/api/sites/${siteId}/pull?since=${since}&limit=1000`)).json();
    await written((tx) => { for (const record of page.records) tx.objectStore('records').put(record); });
    ({ next: since, more } = page);
  }
  return performance.now() - started;
}"""
)

PULL_OURS = """async ([siteId]) => {
  const { store } = await import('/app/store/store.js');
  const started = performance.now();
  await store.openSite(siteId);
  await store.syncNow();
  return performance.now() - started;
}"""


QUIET = """async ([siteId]) => {
  const { store } = await import('/app/store/store.js');
  const { engine } = await store.openSite(siteId);
  await store.syncNow();
  engine.stop(); // nothing else pulls what is to be measured
}"""

PULL_CHANGES = """async ([siteId]) => {
  const { store } = await import('/app/store/store.js');
  const { pullAll } = await import('/app/sync/pull.js');
  const { engine } = await store.openSite(siteId);
  const started = performance.now();
  const { matches } = await pullAll(engine.storage, engine.transport);
  const took = performance.now() - started;
  if (!matches) throw new Error('the copy differs');
  return took;
}"""

PULL_CHANGES_BARE = (
    "async ([siteId, since]) => {"
    + BARE_DATABASE
    + """
  const started = performance.now();
  const page = await (await fetch(`/api/sites/${siteId}/pull?since=${since}&limit=1000`)).json();
  await written((tx) => { for (const record of page.records) tx.objectStore('records').put(record); });
  const took = performance.now() - started;
  if (page.records.length !== 50) throw new Error(`${page.records.length} records`);
  const { store } = await import('/app/store/store.js');
  const { pullAll } = await import('/app/sync/pull.js');
  const { engine } = await store.openSite(siteId);
  await pullAll(engine.storage, engine.transport); // the next turn brings 50 again
  return took;
}"""
)


@contextmanager
def _phone_and_server() -> Iterator[tuple[Server, Client, str]]:
    with tempfile.TemporaryDirectory() as folder:
        running = Server(Path(folder) / "data").start()
        try:
            client = Client(running.url, "manager")
            yield running, client, client.site_id()
        finally:
            running.stop()


@contextmanager
def _context() -> Iterator[BrowserContext]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=machine.chromium(), args=machine.CHROMIUM_ARGS)
        yield browser.new_context(**PHONE)
        browser.close()


@contextmanager
def _signed_in(url: str) -> Iterator[Page]:
    with _context() as context:
        yield sign_in(context.new_page(), url, "manager")


def save_of_one_reading() -> list[Figure]:
    """200 awaited saves of a reading, strict, against bare strict puts of record + outbox row: the middle one, and 95 in 100."""
    ours: list[list[float]] = []
    bare: list[list[float]] = []
    with _phone_and_server() as (server, client, site), _signed_in(server.url) as page:
        pulled = client.get(f"/api/sites/{site}/pull?since=0&limit=5000")
        group = next(r["id"] for r in pulled["records"] if r["type"] == "group")
        page.evaluate(WALKED_TO, [site, group])
        page.context.set_offline(True)
        for _ in range(RUNS):
            ours.append(page.evaluate(SAVE_OURS, [group, SAVES, site]))
            bare.append(page.evaluate(SAVE_BARE, [group, SAVES]))
    reference = "bare strict IndexedDB put of record + outbox row"
    return [
        Figure(f"save of one reading, strict, p{share}", _share(ours, share), reference, _share(bare, share), 2.0, RUNS)
        for share in (50, 95)
    ]


def _share(runs: list[list[float]], share: int) -> float:
    """The median over runs of the time within which that many of 100 saves were done [ms]."""
    return statistics.median(statistics.quantiles(taken, n=100)[share - 1] for taken in runs)


def pull_of_5000_records() -> Figure:
    """A fresh profile pulls a site of over 5,000 records, against loopback fetch + bare bulk put of the same pages."""
    with _phone_and_server() as (server, client, site):
        server_bench.push_rooms(client, site)

        def fresh(script: str) -> float:
            with _signed_in(server.url) as page:
                return float(page.evaluate(script, [site]))

        ours, bare = in_turns(lambda: fresh(PULL_OURS), lambda: fresh(PULL_BARE), RUNS)
    return Figure(
        "pull of 5,000 records, fresh profile", ours, "loopback fetch + bare IndexedDB bulk put", bare, 2.0, RUNS
    )


def pull_of_50_changes() -> list[Figure]:
    """50 changed rooms pulled by a phone with 5,000 records and by one with 50,000, against a fetch and a bare put of the same."""
    few, bare_few = _pull_of_changes(1)
    many, bare_many = _pull_of_changes(10)
    reference = "loopback fetch + bare strict IndexedDB put of the same page"
    return [
        Figure("pull of 50 changes, 5,000 records", few, reference, bare_few, 3.0, PULLS),
        Figure("pull of 50 changes, 50,000 records", many, reference, bare_many, 3.0, PULLS),
        Figure("50,000 beside 5,000 records", many, "pull of 50 changes, 5,000 records", few, 1.5, PULLS),
    ]


def _pull_of_changes(thousands_of_five: int) -> tuple[float, float]:
    """Medians of the whole pull and of the bare one [ms], on a site of so many times 5,000 rooms."""
    with _phone_and_server() as (server, client, site):
        for _ in range(thousands_of_five):
            server_bench.push_rooms(client, site)
        with _signed_in(server.url) as page:
            page.evaluate(PULL_OURS, [site])
            page.evaluate(QUIET, [site])
            known = server_bench.newest_rooms(client, site, CHANGES)

            def once(script: str) -> float:
                since = server_bench.head_of(client, site)
                server_bench.rename(client, site, known)
                return float(page.evaluate(script, [site, since]))

            return in_turns(lambda: once(PULL_CHANGES), lambda: once(PULL_CHANGES_BARE), PULLS)


def bytes_of_small_syncs() -> list[Figure]:
    """50 new readings, the same 50 changed, and nothing to do: requests and bytes with headers, beside what is wanted."""
    with _phone_and_server() as (server, _, _), _context() as context, counted_phone(server, context) as phone:
        phone.make(CHANGES)
        made = _synced(phone, f"sync of {CHANGES} new readings", 20.0, 3)
        phone.change_all()
        changed = _synced(phone, f"sync of {CHANGES} changed readings", 20.0, 3)
        return [made, changed, _synced(phone, "sync with nothing to do", 2.0, 2)]


def _synced(phone: CountedPhone, name: str, most_kb: float, most_requests: int) -> Figure:
    took: Carried = phone.sync()
    again = sum("value" in facet for facet in phone.own_facets_pulled())
    notes = (
        f"{took.requests} requests, wanted ≤ {most_requests}; {took.up:,} bytes up, {took.down:,} down",
        f"own values downloaded again: {again}, wanted none",
    )
    within = took.requests <= most_requests and again == 0
    return Figure(
        name, took.bytes / 1000, "what is wanted at most, headers counted", most_kb, 1.0, 1, notes, within, "kB"
    )
