"""A client of the sync protocol, written from server/spanwalk/sync/README.md and the OpenAPI document alone.

Nothing of the server's or the page's code is used. Every message that goes or comes is checked against the document.
"""

from __future__ import annotations

import hashlib
import json
import secrets
import urllib.error
import urllib.request
import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import jsonschema_rs

Json = Any
PAGE = 150
BATCH = 1000
TAKEN = ("applied", "same", "conflict")


class Problem(Exception):
    """A refusal of a whole request: problem details."""

    def __init__(self, status: int, told: dict[str, Json]) -> None:
        super().__init__(f"{status} {told.get('code')}: {told.get('detail')}")
        self.status, self.code, self.told = status, told.get("code"), told


class Document:
    """The OpenAPI document: what may be sent to an endpoint, and what it may answer."""

    def __init__(self, told: dict[str, Json]) -> None:
        self.told = told
        self._made: dict[str, Json] = {}

    def endpoint(self, method: str, path: str, site: str) -> dict[str, Json]:
        """The endpoint of a request; `path` without its query."""
        found: dict[str, Json] = self.told["paths"][path.replace(site, "{site_id}") if site else path][method.lower()]
        return found

    def check(self, where: dict[str, Json], media_type: str, value: Json) -> None:
        """Raise unless a body is what the document says."""
        schema = where["content"][media_type]["schema"]
        key = json.dumps(schema)
        if key not in self._made:
            self._made[key] = jsonschema_rs.validator_for(schema | {"components": self.told["components"]})
        self._made[key].validate(value)


@dataclass
class Client:
    """A phone: its id, its copy of a site, and the operations that it has not been answered for."""

    url: str
    document: Document = field(init=False)
    cookie: str = ""
    person: str = ""
    site: str = ""
    device: str = field(default_factory=lambda: str(uuid.uuid4()))
    epoch: str = field(default_factory=lambda: secrets.token_hex(4))
    counter: int = 0
    outbox: list[dict[str, Json]] = field(default_factory=list)
    own: dict[str, dict[str, Json]] = field(default_factory=dict)
    """Every operation of its own by id: pulled states leave their values out."""
    answers: dict[str, dict[str, Json]] = field(default_factory=dict)
    copy: dict[str, dict[str, Json]] = field(default_factory=dict)
    since: int = 0
    known: dict[str, str] = field(default_factory=dict)
    """The incarnation and scope that came with the copy."""

    def __post_init__(self) -> None:
        self.document = Document(self._send("GET", "/api/openapi.json", None, {})[1])

    # -- requests

    def call(self, method: str, path: str, body: Json = None, **headers: str) -> Json:
        """A request as the document has it; its answer as the document has it."""
        endpoint = self.document.endpoint(method, path.partition("?")[0], self.site)
        if body is not None:
            self.document.check(endpoint["requestBody"], "application/json", body)
        status, told, media_type = self._send(method, path, body, headers)
        answer = endpoint["responses"].get(str(status))
        assert answer is not None, f"{method} {path} answers {status}, which is not in the document"
        if told is not None:
            self.document.check(answer, media_type, told)
        if status >= 400:
            raise Problem(status, told)
        return told

    def _send(self, method: str, path: str, body: Json, headers: dict[str, str]) -> tuple[int, Json, str]:
        sent = {"Sec-Fetch-Site": "none"} if method not in ("GET", "HEAD") else {}
        sent |= {"Cookie": self.cookie} if self.cookie else {}
        sent |= {"Content-Type": "application/json"} if body is not None else {}
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.url + path, data, sent, method=method)
        try:
            answer = urllib.request.urlopen(request, timeout=60)
        except urllib.error.HTTPError as refused:
            answer = refused
        with answer:
            # The first is the sign-in; the second tells which phone this is, for the next one.
            if cookies := answer.headers.get_all("Set-Cookie"):
                self.cookie = "; ".join(each.split(";")[0] for each in cookies)
            content, media_type = answer.read(), answer.headers.get_content_type()
        return answer.status, json.loads(content) if content else None, media_type

    def sign_in(self, name: str, password: str) -> Client:
        """Sign in and take the first site one is on."""
        told = self.call("POST", "/api/session", {"name": name, "password": password})
        self.person = told["person"]["id"]
        self.site = told["sites"][0]["id"] if told["sites"] else ""
        return self

    # -- saving

    def operation(self, record: str, type: str, facet: str, kind: str = "set", **more: Json) -> dict[str, Json]:
        """A new operation, which has seen the copy as it stands, put behind those that wait."""
        self.counter += 1
        held = self.copy.get(record, {}).get("facets", {})
        one = held.get(facet, {})
        made = {
            "id": f"{self.device}.{self.epoch}.{self.counter}",
            "by": self.person,
            "record": record,
            "type": type,
            "facet": facet,
            "kind": kind,
            "seen": {name: each["op"] for name, each in held.items()} if kind == "remove" else one.get("op"),
            "from": one.get("value"),
            "to": None,
            "settles": [],
            "device_time": "2026-05-04T10:00:00Z",
            "spec": 1,
            **more,
        }
        if kind != "set":
            made = {name: value for name, value in made.items() if name not in ("from", "to")}
        self.outbox.append(made)
        self.own[made["id"]] = made
        return made

    def save(self, record: str, type: str, facet: str, to: dict[str, Json], **more: Json) -> dict[str, Json]:
        """Set a facet."""
        return self.operation(record, type, facet, to=to, **more)

    def again(self, refused: dict[str, Json], **corrected: Json) -> dict[str, Json]:
        """A refused operation under a new id, corrected."""
        kept = {name: refused[name] for name in ("seen", "from", "to") if name in refused}
        return self.operation(
            refused["record"],
            refused["type"],
            refused["facet"],
            refused["kind"],
            **(kept | {"replaces": refused["id"]} | corrected),
        )

    # -- push

    def push(self) -> list[dict[str, Json]]:
        """Send what waits; the answers. Forked operations wait on, under new ids."""
        told: list[dict[str, Json]] = []
        while self.outbox:
            batch = self.outbox[:BATCH]
            answers = self._push(batch)
            told += answers
            by_id = {each["id"]: each for each in answers}
            self.outbox = [each for each in self.outbox if by_id.get(each["id"], {}).get("result", "fork") == "fork"]
            for each in answers:
                self._take(each)
            if any(each["result"] == "fork" for each in answers):
                self._fork()
        return told

    def ask_again(self, *operations: dict[str, Json]) -> list[dict[str, Json]]:
        """What became of operations, by sending them again as they are."""
        return self._push(list(operations))

    def _push(self, batch: list[dict[str, Json]]) -> list[dict[str, Json]]:
        envelope = {"device": self.device, "epoch": self.epoch, "unsent": {"operations": len(self.outbox), "photos": 0}}
        told = self.call("POST", f"/api/sites/{self.site}/push", envelope | self.known | {"operations": batch})
        assert [each["id"] for each in told["answers"]] == [each["id"] for each in batch]
        answers: list[dict[str, Json]] = told["answers"]
        return answers

    def _take(self, answer: dict[str, Json]) -> None:
        self.answers[answer["id"]] = answer
        if "record" in answer:
            self._merge(answer["record"])
        elif answer["result"] == "applied":
            self._applied(self.own[answer["id"]], answer["seq"])

    def _applied(self, op: dict[str, Json], seq: int) -> None:
        """The value is the server's now, unless the copy has something newer."""
        parent = (op.get("to") or {}).get("parent")
        fresh = {
            "id": op["record"],
            "type": op["type"],
            "parent": parent,
            "seq": 0,
            "removed": False,
            "facets": {},
            "conflicts": [],
        }
        record = self.copy.setdefault(op["record"], fresh)
        if record["facets"].get(op["facet"], {"seq": 0})["seq"] >= seq:
            return
        value = op["to"] if op["kind"] == "set" else {"removed": op["kind"] == "remove"}
        about = {"op": op["id"], "seq": seq, "by": op["by"], "at": op["device_time"], "value": value}
        record["facets"][op["facet"]] = about
        if op["facet"] == "life":
            record["removed"] = value["removed"]

    def _fork(self) -> None:
        """Another phone writes under this id: take a new one, rename what waits, and pull in full."""
        self.device, self.epoch = str(uuid.uuid4()), secrets.token_hex(4)
        renamed: dict[str, str] = {}
        for op in self.outbox:
            bare = {name: value for name, value in op.items() if name not in ("id", "formerly")}
            op.setdefault("formerly", {"id": op["id"], "hash": hashlib.sha256(canonical(bare).encode()).hexdigest()})
            self.own.pop(op["id"])
            new = f"{self.device}.{self.epoch}.{op['id'].split('.')[2]}"
            renamed[op["id"]] = op["id"] = new
            self.own[new] = op
        for op in self.outbox:
            if isinstance(op["seen"], str):
                op["seen"] = renamed.get(op["seen"], op["seen"])
        self.since, self.copy = 0, {}

    # -- pull

    def pull(self) -> Client:
        """Bring the copy up to date, in pages; in full where there is none, or where it no longer counts."""
        full = self.since == 0
        try:
            self._pages(full)
        except Problem as problem:
            if problem.code not in ("scope-changed", "incarnation-changed", "cursor-ahead"):
                raise
            self.known = {}
            self._pages(full=True)
        return self

    def _pages(self, full: bool) -> None:
        since, first_head, pages = 0 if full else self.since, None, 0
        if full:
            self.copy = {}
        while True:
            asked = {"since": since, "limit": PAGE} | self.known | ({} if full else {"device": self.device})
            asked |= {"first_head": first_head} if full and first_head is not None else {}
            query = "&".join(f"{name}={value}" for name, value in asked.items())
            page = self.call("GET", f"/api/sites/{self.site}/pull?{query}")
            for state in page["records"]:
                self._merge(state)
            first_head = page["head"] if first_head is None else first_head
            since, pages = page["next"], pages + 1
            self.known = {name: page[name] for name in ("incarnation", "scope")}
            if not page["more"]:
                break
        self.since, self.pages = since, pages
        assert (page["count"], page["sum"]) == count_and_sum(self.copy.values()), "the copy is not the server's"

    def _merge(self, state: dict[str, Json]) -> None:
        """A state from the wire; neither a facet nor a list of conflicts is replaced by an older one."""
        before = self.copy.get(state["id"])
        facets = {name: self._valued(name, each, before) for name, each in state["facets"].items()}
        if before is not None:
            newer = {
                name: each
                for name, each in before["facets"].items()
                if each["seq"] > facets.get(name, {"seq": 0})["seq"]
            }
            facets |= newer
            if before["seq"] > state["seq"]:
                state = state | {name: before[name] for name in ("seq", "removed", "parent", "conflicts")}
        self.copy[state["id"]] = state | {"facets": facets}

    def _valued(self, name: str, told: dict[str, Json], before: dict[str, Json] | None) -> dict[str, Json]:
        """A facet with its value: one that was left out is among this phone's own operations, or as it was."""
        if "value" in told:
            return told
        op = self.own.get(told["op"])
        if op is not None:
            value = op["to"] if op["kind"] == "set" else {"removed": op["kind"] == "remove"}
        else:
            assert before is not None, "a value is left out that this phone never had: pull in full"
            value = before["facets"][name]["value"]
        return told | {"value": value}


def canonical(value: Json) -> str:
    """Canonical JSON: keys sorted, no spaces, UTF-8, whole numbers without a point."""
    return json.dumps(_whole(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _whole(value: Json) -> Json:
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, dict):
        return {name: _whole(each) for name, each in value.items()}
    return [_whole(each) for each in value] if isinstance(value, list) else value


def count_and_sum(states: Iterable[dict[str, Json]]) -> tuple[int, str]:
    """Count and sum of a copy, by the README's section 'The sum that a copy is checked by', counted from all records."""
    hashes = []
    for state in states:
        conflicts = sorted(each["id"] for each in state["conflicts"])
        if state["removed"] and not conflicts:
            continue
        facets = {name: [each["op"], each["value"]] for name, each in state["facets"].items()}
        line = canonical([state["id"], state["removed"], facets, conflicts])
        hashes.append(int.from_bytes(hashlib.sha256(line.encode()).digest(), "big"))
    return len(hashes), f"{sum(hashes) % 2**256:064x}"
