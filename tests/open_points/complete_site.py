"""A small site without an open point, made on a real server through push, in which tests plant one thing at a time."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any
from uuid import uuid4

from tests.support.server import Client, Server

MM = 320
FOUR_FOOT_TICKS = 384048
"""47 1/4 in: the cavity of a sound socket pair for a 4 ft T8 lamp (1,200.15 mm)."""


@dataclass
class Hand:
    """One person with one device on one site: saves facets as a phone does, having seen all that is there."""

    client: Client
    site: str
    device: str = field(default_factory=lambda: str(uuid4()))
    saved: int = 0

    @cached_property
    def person(self) -> str:
        return str(self.client.get("/api/session")["person"]["id"])

    def state(self, record: str) -> dict[str, Any]:
        """A record as the server holds it; empty where it has none."""
        pulled = self.client.get(f"/api/sites/{self.site}/pull?since=0&limit=5000")["records"]
        return next((each for each in pulled if each["id"] == record), {"facets": {}, "conflicts": []})

    def operation(
        self, record: str, type_name: str, facet: str, value: dict[str, Any] | None, **more: Any
    ) -> dict[str, Any]:
        """An operation of somebody who has seen what the server holds."""
        return self._operation(record, type_name, facet, value, self.state(record)["facets"].get(facet)) | more

    def _operation(
        self, record: str, type_name: str, facet: str, value: dict[str, Any] | None, held: dict[str, Any] | None
    ) -> dict[str, Any]:
        self.saved += 1
        return {
            "id": f"{self.device}.0000000a.{self.saved}",
            "by": self.person,
            "record": record,
            "type": type_name,
            "facet": facet,
            "kind": "set",
            "seen": held["op"] if held else None,
            "from": held.get("value") if held else None,
            "to": value,
            "settles": [],
            "device_time": "2026-03-10T09:00:00Z",
            "spec": 2,
        }

    def push(self, *operations: dict[str, Any], unsent: tuple[int, int] = (0, 0)) -> list[dict[str, Any]]:
        body = {"device": self.device, "epoch": "0000000a", "operations": list(operations)}
        body["unsent"] = {"operations": unsent[0], "photos": unsent[1]}
        status, answer = self.client.call("POST", f"/api/sites/{self.site}/push", body)
        assert status == 200, answer
        assert not [each for each in answer["answers"] if each["result"] == "refused"], answer["answers"]
        return list(answer["answers"])

    def save(self, record: str, type_name: str, **facets: dict[str, Any]) -> str:
        """Save facets of a record; its id."""
        held = self.state(record)["facets"]
        self.push(*(self._operation(record, type_name, name, value, held.get(name)) for name, value in facets.items()))
        return record

    def make(self, type_name: str, parent: str, identity: dict[str, Any], **facets: dict[str, Any]) -> str:
        """Make a record, of which the server holds nothing; its id."""
        record, operations = self.new(type_name, parent, identity, **facets)
        self.push(*operations)
        return record

    def new(
        self, type_name: str, parent: str, identity: dict[str, Any], **facets: dict[str, Any]
    ) -> tuple[str, list[dict[str, Any]]]:
        """The id of a record that is to be made, and the operations that make it."""
        record = str(uuid4())
        told = {"identity": {"parent": parent, **identity}, **facets}
        return record, [self._operation(record, type_name, name, value, None) for name, value in told.items()]

    def remove(self, record: str, type_name: str) -> None:
        seen = {name: held["op"] for name, held in self.state(record)["facets"].items()}
        self.push(self.operation(record, type_name, "life", None, kind="remove", seen=seen))

    def read(
        self, group: str, position: int, row: int, ticks: int = FOUR_FOOT_TICKS, as_entered: str = "47 1/4", **more: Any
    ) -> str:
        """Enter a cavity reading; its id."""
        return self.make("cavity_reading", group, reading(position, row, ticks, as_entered) | more)

    def completeness(self) -> dict[str, Any]:
        found: dict[str, Any] = self.client.get(f"/api/sites/{self.site}/completeness")
        return found

    def points(self) -> list[dict[str, Any]]:
        return list(self.completeness()["open_points"])


def reading(position: int, row: int, ticks: int = FOUR_FOOT_TICKS, as_entered: str = "47 1/4") -> dict[str, Any]:
    """What a cavity reading by a tape says."""
    value = {"position": position, "row": row, "cavity": 1, "length_ticks": ticks, "as_entered": as_entered}
    return value | {"instrument": "us-tape", "graduation": "1-16-in", "from_hook": True}


@dataclass
class CompleteSite:
    """The site: one floor, one room, one kind, one group of two fixtures, every cavity read."""

    hand: Hand
    floor: str
    room: str
    kind: str
    group: str
    readings: list[str]


KIND = {
    "housing": {
        "body": "recessed-troffer",
        "material": "steel",
        "magnet_holds": "yes",
        "optic": "prismatic-lens",
        "optic_state": "good",
        "width_ticks": 540 * MM,
        "height_ticks": 62 * MM,
    },
    "lamps": {
        "fitted": "fluorescent",
        "diameter": "T8",
        "cap": "G13",
        "nominal_ft": "4-ft",
        "lamp_w": 32,
        "rows": 2,
        "lamps_end_to_end": 1,
    },
    "ballast": {
        "ballast": "electronic",
        "ballast_count": 1,
        "pcb_mark": "marked",
        "leaking": "no",
        "volts_mark": "120-277",
    },
    "ballast_space": {"length_ticks": 430 * MM, "width_ticks": 70 * MM, "height_ticks": 40 * MM},
    "wiring": {"feeds": "one", "neighbour_leads": "none", "control_pair": "no", "earth": "seen"},
}
BAR = {
    "length_ticks": 1189 * MM, "tolerance_ticks": 160, "joint_ticks": MM, "end_gap_ticks": 2 * MM, "width_ticks": 22 * MM, "height_ticks": 12 * MM,
    "cover": "none", "lit_ticks": 1169 * MM, "lumens_per_w": 168, "rated_ma": 350, "most_ma": 550, "forward_v": 36, "l70_h": 60000, "rise_k": 15,
    "moisture": "dry", "fixing": ["magnets"], "coldest_c": -20, "hottest_c": 60,
}  # fmt: skip


DRIVER = {
    "outputs": 2, "watts": 40, "least_watts": 9, "volts_min": 120, "volts_max": 277, "out_v_min": 27, "out_v_max": 42,
    "settings_ma": [350, 700, 800, 900, 1000], "current": "shared-by-the-bars", "output_class": "class-2-selv", "efficiency_pct": 88,
    "length_ticks": 190 * MM, "width_ticks": 42 * MM, "height_ticks": 29 * MM, "side_gap_ticks": 2 * MM,
    "lead_gap_ticks": 20 * MM, "lead_ends": "both-ends", "hottest_c": 60, "coldest_c": -20, "rise_k": 8, "moisture": "dry",
    "dimming": "0-10-v", "emergency": "battery-pack-can-be-added",
}  # fmt: skip
PACK = {
    "purpose": "emergency-pack", "length_ticks": 100 * MM, "width_ticks": 30 * MM, "height_ticks": 25 * MM, "out_v_min": 20, "out_v_max": 60,
    "output_w": 10, "duration_min": 90, "volts_min": 120, "volts_max": 277, "unswitched_feed": True, "battery": "nickel-metal-hydride",
    "coldest_c": 0, "hottest_c": 50,
}  # fmt: skip
SURROUNDINGS = {"moisture": "dry", "hazardous": "no", "coldest_c": 15, "hottest_c": 30}


def supplied() -> dict[str, dict[str, Any]]:
    """What a complete group says besides its identity."""
    return {
        "count": {"count": 2, "dark_lamps": 0, "sure": "yes"},
        "supply": {"volts": "277", "how_known": "panel-schedule", "panel": "LP-1", "circuit": "1"},
        "duty": {"emergency": "none", "control_now": "switch"},
    }


def make_complete_site(server: Server) -> CompleteSite:
    """Make the site on a running server; its owner is the demo's owner."""
    client = Client(server.url, "owner")
    status, made = client.call("POST", "/api/sites", {"name": "A complete site"})
    assert status == 201, made
    hand = Hand(client, made["id"])
    settings = hand.state(hand.site)["facets"].get("settings", {}).get("value", {})
    hand.save(hand.site, "site", settings=settings | {"emergency_min": 90, "light_ceiling_pct": 300})
    operations: list[dict[str, Any]] = []

    def make(type_name: str, parent: str, identity: dict[str, Any], **facets: dict[str, Any]) -> str:
        record, some = hand.new(type_name, parent, identity, **facets)
        operations.extend(some)
        return record

    make("catalogue_item", hand.site, {"item": "bar", "code": "BAR-4", "offered": True}, bar=BAR)
    make("catalogue_item", hand.site, {"item": "driver", "code": "DRIVER-2", "offered": True}, driver=DRIVER)
    make("catalogue_item", hand.site, {"item": "accessory", "code": "PACK-10", "offered": True}, accessory=PACK)
    floor = make("floor", hand.site, {"name": "Ground", "order": 0})
    room = make(
        "room",
        floor,
        {"number": "G01", "name": "Hall", "space_type": "corridor"},
        progress={"progress": "surveyed"},
        surroundings=SURROUNDINGS,
    )
    kind = make("kind", hand.site, {"mark": "K1", "alike": "yes"}, **KIND)
    group = make("group", room, {"kind": kind}, **supplied())
    readings = [make("cavity_reading", group, reading(position, row)) for position in (1, 2) for row in (1, 2)]
    hand.push(*operations)
    return CompleteSite(hand, floor, room, kind, group, readings)
