"""Three servers at once on one PostgreSQL and one object store: writers, a reader, managers who do the same, one killed."""

from __future__ import annotations

import threading
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import pytest
from tests.support import object_store, postgres
from tests.support.back_ends import SCALED_OUT, settings, there
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

Json = Any
WRITERS, PUSHES, EACH = 10, 12, 5


@dataclass
class Anywhere:
    """One signed-in person whose every request goes to the next server."""

    servers: list[Server]
    name: str
    turn: int = 0
    client: Client = field(init=False)
    person: str = field(init=False)
    device: str = field(default_factory=lambda: str(uuid.uuid4()))
    counter: int = 0

    def __post_init__(self) -> None:
        self.client = Client(self.servers[0].url, self.name)
        self.person = self.call("GET", "/api/session")[1]["person"]["id"]

    def call(self, method: str, path: str, body: Json = None, **more: Any) -> tuple[int, Json]:
        self.turn += 1
        self.client.url = self.servers[self.turn % len(self.servers)].url
        return self.client.call(method, path, body, **more)

    def get(self, path: str) -> Json:
        status, told = self.call("GET", path)
        assert status == 200, told
        return told

    def operation(self, record: str, type: str, facet: str, to: Json, seen: str | None = None) -> Json:
        self.counter += 1
        about = {"record": record, "type": type, "facet": facet, "kind": "set", "seen": seen, "to": to}
        at = {"from": None, "settles": [], "device_time": "2026-03-01T09:00:00Z", "spec": 2}
        return {"id": f"{self.device}.0000000e.{self.counter}", "by": self.person, **about, **at}

    def push(self, site: str, *operations: Json) -> list[Json]:
        body = {"device": self.device, "epoch": "0000000e", "operations": list(operations)}
        status, told = self.call("POST", f"/api/sites/{site}/push", body)
        assert status == 200, told
        return list(told["answers"])


@pytest.fixture(scope="module")
def servers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[list[Server]]:
    """Three of them, each with a data folder of its own that must stay empty."""
    there(postgres.cluster, object_store.store)
    env = settings(SCALED_OUT)
    started = [Server(tmp_path_factory.mktemp(f"machine-{n}") / "data", env=env) for n in range(3)]
    for server in started:
        server.start()
    yield started
    for server in started:
        server.kill()


@pytest.fixture(scope="module")
def site(servers: list[Server]) -> str:
    return Client(servers[0].url, "owner").site_id()


def test_releases_and_codes_made_on_two_at_once_are_never_the_same(servers: list[Server], site: str) -> None:
    managers = [Anywhere(servers, "manager", turn=turn) for turn in range(3)]
    with ThreadPoolExecutor(3) as pool:
        codes = list(pool.map(lambda who: who.call("POST", f"/api/sites/{site}/labels", {}), managers))
        releases = list(pool.map(lambda who: release_seen(who, site), managers))
    assert {status for status, _ in codes} <= {200, 201}, codes
    bound = [each["facets"]["binding"]["value"] for each in records(managers[0], site, "label")]
    places = [(each["group"], each["position"]) for each in bound]
    assert len(places) == len(set(places)) > 0
    numbers = [each["facets"]["identity"]["value"]["number"] for each in records(managers[0], site, "release")]
    assert len(numbers) == len(set(numbers)) >= sum(status in (200, 201) for status, _ in releases) > 0


def records(who: Anywhere, site: str, type: str) -> list[Json]:
    """The live records of a type, read page by page, each from the next server."""
    found: list[Json] = []
    page = {"next": 0, "more": True}
    while page["more"]:
        page = who.get(f"/api/sites/{site}/pull?since={page['next']}&limit=2000")
        found += page["records"]
    return [each for each in found if each["type"] == type and not each["removed"]]


def test_a_reader_that_goes_from_server_to_server_never_skips_what_ten_writers_write(
    servers: list[Server], site: str
) -> None:
    """Promise 7 on PostgreSQL: every request of every phone to another server."""
    done = threading.Event()
    seen: dict[str, int] = {}

    def write(_: int) -> list[str]:
        phone, written = Anywhere(servers, "surveyor"), []
        for _ in range(PUSHES):
            made = [str(uuid.uuid4()) for _ in range(EACH)]
            to = {"name": "Loft", "parent": site}
            answers = phone.push(site, *(phone.operation(each, "floor", "identity", to) for each in made))
            assert {answer["result"] for answer in answers} == {"applied"}
            written += made
        return written

    def read() -> None:
        reader, cursor = Anywhere(servers, "manager"), 0
        while True:
            last = done.is_set()
            page = reader.get(f"/api/sites/{site}/pull?since={cursor}&limit=7")
            for record in page["records"]:
                assert record["seq"] > cursor
                seen[record["id"]] = record["seq"]
            cursor = page["next"]
            if last and not page["more"]:
                return

    with ThreadPoolExecutor(WRITERS + 1) as pool:
        reading = pool.submit(read)
        try:
            written = [each for some in pool.map(write, range(WRITERS)) for each in some]
        finally:
            done.set()
        reading.result()
    assert len(written) == WRITERS * PUSHES * EACH
    assert [each for each in written if each not in seen] == []
    mine = [seen[each] for each in written]
    assert len(set(mine)) == len(mine)


def test_one_that_is_killed_takes_nothing_with_it(servers: list[Server], site: str) -> None:
    who, record = Anywhere(servers[:1], "surveyor"), str(uuid.uuid4())
    operation = who.operation(record, "floor", "identity", {"name": "Attic", "parent": site})
    assert who.push(site, operation)[0]["result"] == "applied"
    servers[0].kill()
    others = Anywhere(servers[1:], "surveyor")
    assert record in {each["id"] for each in records(others, site, "floor")}
    assert others.push(site, operation)[0]["result"] == "applied", "the stored answer again"
    servers[0].start()
