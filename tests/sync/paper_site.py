"""A site on paper: the merge rules over plain dictionaries, without database or clock."""

from __future__ import annotations

import copy
from dataclasses import dataclass, field
from typing import Any

from spanwalk.rules.constants import STAYS
from spanwalk.services.sync.incoming import check_values, parse_operation
from spanwalk.sync.canonical import operation_hash
from spanwalk.sync.decide import decide
from spanwalk.sync.digest import digest, digest_line
from spanwalk.sync.model import HELD, IDENTITY, REFUSED, Flaw, Gathered, Known, LogRow, State

SITE = "00000000-0000-4000-8000-000000000001"
FLOOR = "00000000-0000-4000-8000-0000000000f1"
ROOM = "00000000-0000-4000-8000-0000000000a1"
ANN, BOB = "00000000-0000-4000-8000-00000000000a", "00000000-0000-4000-8000-00000000000b"


@dataclass
class PaperSite:
    """What a server remembers of a site, and pushes decided on it."""

    states: dict[str, State] = field(default_factory=dict)
    log: list[LogRow] = field(default_factory=list)
    head: int = 0

    def push(
        self, *operations: dict[str, Any], flaws: dict[str, Flaw] | None = None, held: bool = False
    ) -> list[Known]:
        """Push operations as they stand on the wire; their answers."""
        parsed = [parse_operation(each) for each in operations]
        assert None not in parsed, "an operation without a usable id"
        check_values(parsed)
        for each in parsed:
            each.flaw = each.flaw or (flaws or {}).get(each.id)
            each.held = held
        decision = decide(self._gather(parsed), parsed)
        assert decision.created == set(decision.changed) - set(self.states)
        self.states |= decision.changed
        self.log += decision.log
        self.head = decision.head
        return decision.answers

    def _gather(self, parsed: list[Any]) -> Gathered:
        states = copy.deepcopy(self.states)
        known = {row.known.id: row.known for row in self.log}
        missing: dict[str, Known] = {}
        for row in self.log:
            if (
                row.known.result in (REFUSED, HELD)
                and row.operation.facet == IDENTITY
                and row.known.record not in states
            ):
                missing[row.known.record] = row.known
        children = {
            each.record: {s.id for s in states.values() if s.parent == each.record and not s.removed}
            for each in parsed
            if each.kind == "remove"
        }
        formerly = {row.operation.formerly: row.known for row in reversed(self.log) if row.operation.formerly}
        replaced = {row.operation.replaces: row.known.id for row in self.log if row.operation.replaces}
        stay = {s.id for s in states.values() if s.type in STAYS}
        return Gathered(SITE, self.head, states, children, frozenset(STAYS), stay, known, formerly, replaced, missing)

    def value(self, record: str, facet: str) -> Any:
        return self.states[record].facets[facet]["value"]

    def writer(self, record: str, facet: str) -> str:
        return str(self.states[record].facets[facet]["op"])

    def conflicts(self, record: str) -> list[str]:
        return [conflict["id"] for conflict in self.states[record].conflicts]

    def digest(self) -> tuple[int, str]:
        lines = (digest_line(state.wire()) for state in self.states.values())
        return digest(line for line in lines if line is not None)


@dataclass
class Pen:
    """Writes operations as one phone of one person does."""

    device: str
    by: str = ANN
    epoch: str = "0000000e"
    counter: int = 0

    def set(self, record: str, facet: str, to: dict[str, Any], seen: str | None = None, **more: Any) -> dict[str, Any]:
        return self._operation(record, facet, "set", seen, to, **more)

    def remove(self, record: str, seen: dict[str, str | None], **more: Any) -> dict[str, Any]:
        return self._operation(record, "life", "remove", seen, None, **more)

    def restore(self, record: str, seen: str | None, **more: Any) -> dict[str, Any]:
        return self._operation(record, "life", "restore", seen, None, **more)

    def _operation(
        self, record: str, facet: str, kind: str, seen: Any, to: Any, type: str = "room", **more: Any
    ) -> dict[str, Any]:
        self.counter += 1
        return {
            "id": f"{self.device}.{self.epoch}.{self.counter}",
            "by": self.by,
            "record": record,
            "type": type,
            "facet": facet,
            "kind": kind,
            "seen": seen,
            "from": None,
            "to": to,
            "settles": [],
            "device_time": "2026-03-01T09:00:00Z",
            "spec": 2,
            **more,
        }


def pen(number: int, by: str = ANN) -> Pen:
    return Pen(f"00000000-0000-4000-8000-0000000001{number:02x}", by)


def furnished() -> PaperSite:
    """A site with one floor and one room on it, written by a third phone."""
    site, hand = PaperSite(), pen(0)
    site.push(
        hand.set(FLOOR, "identity", {"name": "Ground", "parent": SITE}, type="floor"),
        hand.set(ROOM, "identity", {"number": "001", "parent": FLOOR}),
    )
    return site


__all__ = ["ANN", "BOB", "FLOOR", "ROOM", "SITE", "PaperSite", "Pen", "furnished", "operation_hash", "pen"]
