"""Three server processes on one PostgreSQL database and one object store: nothing shared but those, nobody sticks to one."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from itertools import cycle
from typing import Any

import pytest
from tests.photos.test_taking_photos_in import jpeg
from tests.support import object_store, postgres
from tests.support.back_ends import SCALED_OUT, settings, there
from tests.support.installation import new_id
from tests.support.server import Client, Server

from spanwalk.storage.photos import open_photo_store

Json = Any
PHONES, ROUNDS_A_PHONE, RECORDS_A_PUSH = 4, 6, 5


@pytest.fixture(scope="module")
def three(tmp_path_factory: pytest.TempPathFactory) -> Iterator[list[Server]]:
    """Three servers that were started in the same moment on an empty database, and the demo building put in by one."""
    there(postgres.cluster, object_store.store)
    where = settings(SCALED_OUT)
    folder = tmp_path_factory.mktemp("three")
    servers = [Server(folder / f"data{n}", command="serve", env=where) for n in range(3)]
    with ThreadPoolExecutor(3) as pool:
        list(pool.map(Server.start, servers))
    servers[0].stop()
    servers[0].command = "demo"
    servers[0].start()
    yield servers
    for server in servers:
        server.stop()


def at(server: Server, client: Client) -> Client:
    """The same person, with the same cookie, at another server."""
    other = Client(server.url)
    other.cookie = client.cookie
    return other


@pytest.fixture
def manager(three: list[Server]) -> list[Client]:
    """The manager, signed in at the first server, as each of the three sees them."""
    first = Client(three[0].url, "manager")
    return [first, at(three[1], first), at(three[2], first)]


def test_servers_that_start_together_agree_on_tables_and_incarnation(manager: list[Client]) -> None:
    site = manager[0].site_id()
    pages = [each.get(f"/api/sites/{site}/pull?since=0&limit=2000") for each in manager]
    assert len({page["incarnation"] for page in pages}) == 1
    assert len({(page["head"], page["count"], page["sum"]) for page in pages}) == 1


def test_a_sign_in_at_one_is_a_sign_in_at_all_and_its_end_too(manager: list[Client]) -> None:
    assert [each.call("GET", "/api/session")[1]["person"]["name"] for each in manager] == ["manager"] * 3
    status, _ = manager[2].call("DELETE", "/api/session")
    assert status in (200, 204)
    site_free = [each.call("GET", "/api/session") for each in manager]
    assert [status for status, _ in site_free] == [401] * 3


def test_wrong_passwords_are_counted_together_wherever_they_are_tried(three: list[Server]) -> None:
    doors = cycle(three)
    told = [
        Client(next(doors).url).call("POST", "/api/session", {"name": "crew", "password": "not it at all"})[0]
        for _ in range(9)
    ]
    assert told[:3] == [401] * 3
    assert 429 in told, "three of a name from one place are free: apart, each server would let three through"


def test_a_photo_put_at_one_is_seen_at_the_others_small_and_large(manager: list[Client]) -> None:
    data = jpeg(640, 480)
    path = f"/api/sites/{manager[0].site_id()}/photos/{hashlib.sha256(data).hexdigest()}"
    assert manager[0].call("PUT", path, raw=data)[0] == 201
    assert manager[1].call("PUT", path, raw=data)[0] == 200, "the second server has it already"
    (status, photo), *others = [each.call("GET", path) for each in manager]
    assert (status, photo[:2]) == (200, b"\xff\xd8")
    assert others == [(200, photo)] * 2
    small = [each.call("GET", path + "?size=thumb")[1] for each in manager]
    assert small[0] == small[1] == small[2]
    assert small[0][:2] == b"\xff\xd8"


def test_the_same_photo_sent_to_all_in_one_moment_is_taken_by_each(manager: list[Client]) -> None:
    data = jpeg(640, 480)
    path = f"/api/sites/{manager[0].site_id()}/photos/{hashlib.sha256(data).hexdigest()}"
    with ThreadPoolExecutor(3) as pool:
        told = list(pool.map(lambda each: each.call("PUT", path, raw=data)[0], manager))
    assert set(told) <= {200, 201}
    assert manager[2].call("GET", path)[0] == 200


def test_one_object_written_by_many_in_the_same_moment_is_no_failure_for_any() -> None:
    """Of eight writes at once the store answers about one in twelve without an ETag: another's stands, of the same bytes."""
    there(object_store.store)
    settings = object_store.store().settings()
    stores = [open_photo_store(settings["SPANWALK_PHOTO_URL"], settings) for _ in range(8)]
    with ThreadPoolExecutor(8) as pool:
        for moment in range(25):
            data = bytes([moment]) * 20_000
            name = hashlib.sha256(data).hexdigest()
            assert list(pool.map(lambda each, n=name, d=data: each.put(n, d), stores)) == [None] * 8
            assert stores[0].get(name) == data


def test_a_change_sent_to_one_is_in_the_plan_of_the_others_at_once(manager: list[Client]) -> None:
    site = manager[0].site_id()
    before = [each.get(f"/api/sites/{site}/plan") for each in manager]
    assert before[0] == before[1] == before[2]
    group = before[0]["groups"][0]
    record = next(
        each
        for each in manager[0].get(f"/api/sites/{site}/pull?since=0&limit=2000")["records"]
        if each["id"] == group["group"]
    )
    held = record["facets"]["count"]
    to = held["value"] | {"count": group["fixtures"] + 7}
    phone = Phone(manager[1:], site)
    phone.push([phone.operation(group["group"], "group", "count", to, seen=held["op"])])
    for each in manager:
        plan = each.get(f"/api/sites/{site}/plan")
        assert plan["head"] == before[0]["head"] + 1
        assert next(g["fixtures"] for g in plan["groups"] if g["group"] == group["group"]) == group["fixtures"] + 7


class Phone:
    """A phone whose every request goes to another server than the one before."""

    def __init__(self, doors: list[Client], site: str) -> None:
        self.doors, self.site, self.device, self.counter = cycle(doors), site, new_id(), 0
        self.by = doors[0].get("/api/session")["person"]["id"]
        self.answers: dict[str, Json] = {}
        self.cursor, self.pulled = 0, {}  # type: ignore[var-annotated]

    def operation(self, record: str, type_: str, facet: str, to: Json, seen: str | None = None) -> Json:
        self.counter += 1
        about = {
            "id": f"{self.device}.0000000e.{self.counter}",
            "by": self.by,
            "record": record,
            "type": type_,
            "facet": facet,
        }
        return about | {
            "kind": "set",
            "seen": seen,
            "from": None,
            "to": to,
            "settles": [],
            "device_time": "2026-03-01T09:00:00Z",
            "spec": 2,
        }

    def push(self, operations: list[Json]) -> None:
        body = {"device": self.device, "epoch": "0000000e", "operations": operations}
        status, told = next(self.doors).call("POST", f"/api/sites/{self.site}/push", body)
        assert status == 200, told
        self.answers |= {each["id"]: each for each in told["answers"]}

    def pull(self, limit: int = 7) -> Json:
        """Pull to the head, each page from another server; the last page."""
        while True:
            page = next(self.doors).get(f"/api/sites/{self.site}/pull?since={self.cursor}&limit={limit}")
            self.pulled |= {each["id"]: each for each in page["records"]}
            self.cursor = page["next"]
            if not page["more"]:
                return page

    def walk(self) -> None:
        """Make records, name each again, send every batch twice as after a lost answer, and pull between."""
        for number in range(ROUNDS_A_PHONE):
            batch = []
            for _ in range(RECORDS_A_PUSH):
                record = new_id()
                made = self.operation(record, "floor", "identity", {"name": f"F{number}", "parent": self.site})
                again = {"name": f"F{number} again", "parent": self.site}
                batch += [made, self.operation(record, "floor", "identity", again, seen=made["id"])]
            self.push(batch)
            before = dict(self.answers)
            self.push(batch)
            assert self.answers == before, "the same again is answered the same, at whichever server"
            self.pull()


def test_phones_spread_over_all_request_by_request_end_with_equal_copies(three: list[Server]) -> None:
    owner = Client(three[0].url, "owner")
    site = owner.call("POST", "/api/sites", {"name": "Spread"})[1]["id"]
    phones = [Phone([at(server, owner) for server in three[n % 3 :] + three[: n % 3]], site) for n in range(PHONES)]
    reader, stop, missed = Phone([at(server, owner) for server in three], site), threading.Event(), []

    def read() -> None:
        """Pull in a loop, in small pages, while the others write; promise 7 over processes."""
        try:
            while not stop.is_set():
                reader.pull(limit=3)
            reader.pull(limit=3)
        except BaseException as failure:
            missed.append(failure)

    reading = threading.Thread(target=read)
    reading.start()
    with ThreadPoolExecutor(PHONES) as pool:
        list(pool.map(Phone.walk, phones))
    stop.set()
    reading.join()
    assert missed == []
    answers = [each for phone in phones for each in phone.answers.values()]
    assert {each["result"] for each in answers} == {"applied"}
    sequences = sorted(each["seq"] for each in answers)
    assert len(sequences) == PHONES * ROUNDS_A_PHONE * RECORDS_A_PUSH * 2
    assert sequences == list(range(sequences[0], sequences[0] + len(sequences))), "dense, each given once"
    ends = [Phone([at(server, owner)], site).pull(limit=2000) for server in three]
    assert len({(page["head"], page["count"], page["sum"]) for page in ends}) == 1
    assert len(reader.pulled) == ends[0]["count"], "the reader has skipped something"
    for phone in (*phones, reader):
        phone.pull()
        assert set(phone.pulled) == set(reader.pulled)
