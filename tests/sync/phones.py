"""Pretended phones, as simple as can be, to try the server's rules with. The shipped phone has tests of its own."""

from __future__ import annotations

import copy
import itertools
from dataclasses import dataclass, field
from typing import Any, Protocol

from tests.sync.paper_site import PaperSite

from spanwalk.sync.canonical import operation_hash

Json = dict[str, Any]


class Server(Protocol):
    """What phones need of a server."""

    def push(self, device: str, by: str, operations: list[Json]) -> list[Json]: ...

    def pull(self, since: int, device: str | None, by: str) -> tuple[list[Json], int]: ...

    def everything(self) -> list[Json]: ...


@dataclass
class PaperServer:
    """A server on paper."""

    site: PaperSite

    def push(self, device: str, by: str, operations: list[Json]) -> list[Json]:
        answers = self.site.push(*operations)
        return [
            {"id": known.id, "result": known.result, "seq": known.seq}
            | (
                {"record": copy.deepcopy(self.site.states[known.record].wire())}
                if known.result in ("same", "conflict")
                else {}
            )
            for known in answers
        ]

    def pull(self, since: int, device: str | None, by: str) -> tuple[list[Json], int]:
        newer = [state.wire() for state in self.site.states.values() if state.seq > since]
        return copy.deepcopy(sorted(newer, key=lambda state: state["seq"])), self.site.head

    def everything(self) -> list[Json]:
        return self.pull(0, None, "")[0]


@dataclass
class Ledger:
    """Every tick that was ever shown, kept outside phones and server.

    A tick has a number of its own: copied phones may give one id to two ticks, or two ids to one.
    """

    ticked: dict[int, Json] = field(default_factory=dict)
    results: dict[int, str] = field(default_factory=dict)
    arrived: dict[str, set[int]] = field(default_factory=dict)
    """By id as the server knows it: the tick, or those of copied phones that said the very same."""

    def tick(self, operation: Json) -> int:
        number = len(self.ticked)
        self.ticked[number] = operation
        return number

    def answered(self, id: str, tick: int, result: str) -> None:
        self.arrived.setdefault(id, set()).add(tick)
        self.results[tick] = result

    def missing(self, server_records: list[Json]) -> list[Json]:
        """Ticks that are neither current, nor in an open conflict, nor refused, nor in agreement with what was
        there, nor superseded by one that had seen them and is itself accounted for."""
        accounted = {tick for tick, result in self.results.items() if result in ("refused", "held", "same")}
        accounted |= {tick for id in _standing(server_records) for tick in self.arrived.get(id, ())}
        reach = list(accounted)
        while reach:
            tick = reach.pop()
            for seen in (*self.ticked[tick]["saw"], *self._agreed(tick)):
                earlier = ({seen} if isinstance(seen, int) else self.arrived.get(seen, set())) - accounted
                accounted |= earlier
                reach += earlier
        return [operation for tick, operation in self.ticked.items() if tick not in accounted]

    def _agreed(self, tick: int) -> list[int]:
        """Ticks of the very same value: who supersedes one of them has seen it."""
        about = _about(self.ticked[tick])
        return [other for other, operation in self.ticked.items() if _about(operation) == about]


def _about(operation: Json) -> tuple[str, str, str, str]:
    return operation["record"], operation["facet"], operation["kind"], repr(operation["to"])


def _standing(records: list[Json]) -> set[str]:
    """Ids of the operations that are to be seen on the server: current, or in an open conflict."""
    current = {held["op"] for record in records for held in record["facets"].values()}
    return current | {conflict["id"] for record in records for conflict in record["conflicts"]}


_devices = itertools.count(1)


def new_device() -> str:
    return f"00000000-0000-4000-9000-{next(_devices):012x}"


@dataclass
class Phone:
    """One phone: its copy of the site, its outbox, and what it remembers of its own operations."""

    by: str
    ledger: Ledger
    device: str = field(default_factory=new_device)
    counter: int = 0
    cursor: int = 0
    records: dict[str, Json] = field(default_factory=dict)
    outbox: list[Json] = field(default_factory=list)
    own: dict[str, Json] = field(default_factory=dict)
    ticks: dict[str, int] = field(default_factory=dict)

    # -- what the screen shows

    def shown(self, record: str, facet: str) -> str | None:
        """The operation whose value the screen shows."""
        for operation in reversed(self.outbox):
            if operation["record"] == record and operation["facet"] == facet:
                return str(operation["id"])
        held = self.records.get(record, {"facets": {}})["facets"].get(facet)
        return None if held is None else str(held["op"])

    def removed(self, record: str) -> bool:
        for operation in reversed(self.outbox):
            if operation["record"] == record and operation["facet"] == "life":
                return bool(operation["kind"] == "remove")
        return bool(self.records.get(record, {}).get("removed", False))

    def known(self, type: str) -> list[str]:
        mine = {each["record"]: each["type"] for each in self.outbox}
        theirs = {id: record["type"] for id, record in self.records.items()}
        return sorted(id for id, of in (theirs | mine).items() if of == type)

    def parent(self, record: str) -> str | None:
        for operation in reversed(self.outbox):
            if operation["record"] == record and operation["facet"] == "identity":
                return str(operation["to"]["parent"])
        held = self.records.get(record)
        return None if held is None else held["parent"]

    def facets(self, record: str) -> set[str]:
        mine = {each["facet"] for each in self.outbox if each["record"] == record}
        return mine | set(self.records.get(record, {"facets": {}})["facets"])

    # -- what the person does

    def save(self, record: str, type: str, facet: str, to: Json, settles: list[str] | None = None) -> None:
        self._write(record, type, facet, "set", self.shown(record, facet), to, settles)

    def remove(self, record: str, type: str, settles: list[str] | None = None) -> None:
        children = [each for each in self.known("room") if self.parent(each) == record and not self.removed(each)]
        for child in children:
            self.remove(child, "room")
        seen = {facet: self.shown(record, facet) for facet in self.facets(record)}
        self._write(record, type, "life", "remove", seen, None, settles)

    def restore(self, record: str, type: str, settles: list[str] | None = None) -> None:
        self._write(record, type, "life", "restore", self.shown(record, "life"), None, settles)

    def _write(
        self,
        record: str,
        type: str,
        facet: str,
        kind: str,
        seen: Any,
        to: Json | None,
        settles: list[str] | None,
    ) -> None:
        self.counter += 1
        operation = {
            "id": f"{self.device}.0000000e.{self.counter}",
            "by": self.by,
            "record": record,
            "type": type,
            "facet": facet,
            "kind": kind,
            "seen": seen,
            "from": None,
            "to": to,
            "settles": settles or [],
            "device_time": "1999-01-01T00:00:00Z",
            "spec": 2,
        }
        self.outbox.append(operation)
        self.own[operation["id"]] = operation
        seen_ids = list(seen.values()) if isinstance(seen, dict) else [seen]
        saw = [self.ticks.get(id, id) for id in (*seen_ids, *operation["settles"]) if id is not None]
        self.ticks[operation["id"]] = self.ledger.tick(operation | {"saw": saw})

    # -- sync

    def push(self, server: Server, answer_lost: bool = False, at_most: int | None = None) -> None:
        sent = copy.deepcopy(self.outbox[:at_most])
        if not sent:
            return
        answers = server.push(self.device, self.by, sent)
        if answer_lost:
            return
        told = {answer["id"]: answer for answer in answers}
        if any(answer["result"] == "fork" for answer in answers):
            known = {id for id, answer in told.items() if answer["result"] != "fork"}
            self._take(told, known)
            self._rename()
            return
        self._take(told, set(told))

    def _take(self, told: dict[str, Json], ids: set[str]) -> None:
        self.outbox = [operation for operation in self.outbox if operation["id"] not in ids]
        for id in ids:
            self.ledger.answered(id, self.ticks[id], told[id]["result"])
            if "record" in told[id]:
                self._merge(told[id]["record"])
            elif told[id]["result"] == "applied":
                self._answered(self.own[id], told[id]["seq"])

    def _answered(self, operation: Json, seq: int) -> None:
        record = self.records.setdefault(
            operation["record"],
            {
                "id": operation["record"],
                "type": operation["type"],
                "parent": None,
                "seq": 0,
                "removed": False,
                "facets": {},
                "conflicts": [],
            },
        )
        held = record["facets"].get(operation["facet"])
        if held is not None and held["seq"] > seq:
            return
        value = {"removed": operation["kind"] == "remove"} if operation["facet"] == "life" else operation["to"]
        record["facets"][operation["facet"]] = {"op": operation["id"], "seq": seq, "value": value}
        if operation["facet"] == "life":
            record["removed"] = value["removed"]
        if operation["facet"] == "identity":
            record["parent"] = value["parent"]

    def _merge(self, state: Json) -> None:
        mine = self.records.get(state["id"])
        if mine is None or state["seq"] >= mine["seq"]:
            self.records[state["id"]] = copy.deepcopy(state)

    def _rename(self) -> None:
        """The server knows an id of ours with other content: go on under another name."""
        names = {}
        old_outbox, self.device, self.counter = self.outbox, new_device(), 0
        self.outbox = []
        for operation in old_outbox:
            self.counter += 1
            names[operation["id"]] = f"{self.device}.0000000e.{self.counter}"
        for operation in old_outbox:
            renamed = operation | {
                "id": names[operation["id"]],
                "seen": _renamed(operation["seen"], names),
                "settles": [names.get(each, each) for each in operation["settles"]],
                "formerly": operation.get("formerly") or {"id": operation["id"], "hash": operation_hash(operation)},
            }
            self.outbox.append(renamed)
            self.own[renamed["id"]] = renamed
            self.ticks[renamed["id"]] = self.ticks.pop(operation["id"])
            del self.own[operation["id"]]  # that name now means the other phone's
        self.cursor, self.records = 0, {}

    def pull(self, server: Server) -> None:
        full = self.cursor == 0
        states, head = server.pull(self.cursor, None if full else self.device, self.by)
        for state in states:
            for held in state["facets"].values():
                if "value" not in held:
                    operation = self.own.get(held["op"])
                    if operation is None:
                        self.cursor, self.records = 0, {}
                        return self.pull(server)
                    held["value"] = (
                        {"removed": operation["kind"] == "remove"} if operation["to"] is None else operation["to"]
                    )
            self._merge(state)
        self.cursor = head

    def copied(self) -> Phone:
        """A second phone with this one's database on it."""
        twin = copy.copy(self)
        twin.records, twin.outbox = copy.deepcopy(self.records), copy.deepcopy(self.outbox)
        twin.ticks, twin.own = dict(self.ticks), dict(self.own)
        return twin


def _renamed(seen: Any, names: dict[str, str]) -> Any:
    if isinstance(seen, dict):
        return {facet: names.get(id, id) for facet, id in seen.items()}
    return names.get(seen, seen)
