"""The demo building as operations: what its surveyors and its manager would have pushed, from its hand-written file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, TypedDict
from uuid import NAMESPACE_URL, UUID, uuid5

from spanwalk.rules.measuring.lengths import parse_length

NAMESPACE = uuid5(NAMESPACE_URL, "spanwalk:demo")
TICKS_PER_MM = 320
SECONDS_BETWEEN_SAVES = 20
SPEC = 1
# Any: a hand-written file; each value in it is checked by the spec when it is pushed.
Told = Mapping[str, Any]
"""What the demo's files say of one thing."""
Value = dict[str, object]
"""What is saved of a facet."""


Saved = TypedDict(
    "Saved",
    {
        "id": str,
        "by": str,
        "record": str,
        "type": str,
        "facet": str,
        "kind": str,
        "seen": str | None,
        "from": Value | None,
        "to": Value,
        "settles": list[str],
        "device_time": str,
        "spec": int,
    },
)
"""An operation as a phone of the demo saved it."""


def demo_id(*parts: str) -> str:
    """The id of a thing of the demo, always the same."""
    return str(uuid5(NAMESPACE, "/".join(parts)))


@dataclass
class Device:
    """A phone or desk of the demo: who holds it, how it numbers and dates what it saves."""

    key: str
    person: str
    starts: datetime
    instrument: Mapping[str, object]
    saved: int = 0

    @property
    def id(self) -> str:
        return demo_id("device", self.key)

    def next(self) -> tuple[str, str]:
        """Id and time (ISO text) of its next save."""
        self.saved += 1
        at = self.starts + timedelta(seconds=self.saved * SECONDS_BETWEEN_SAVES)
        epoch = UUID(self.id).hex[:8]
        return f"{self.id}.{epoch}.{self.saved}", at.strftime("%Y-%m-%dT%H:%M:%SZ")


@dataclass
class Walk:
    """Operations as they are saved, in order; knows which operation each facet was last seen by."""

    site: str
    people: Mapping[str, str]
    devices: dict[str, Device]
    operations: list[Saved] = field(default_factory=list)
    seen: dict[tuple[str, str], Saved] = field(default_factory=dict)

    def save(self, by: str, record: str, type_name: str, facet: str, value: Value) -> Saved:
        """Save a facet on a device that has seen everything so far."""
        return self.save_having_seen(self.seen.get((record, facet)), by, record, type_name, facet, value)

    def save_having_seen(
        self, last: Saved | None, by: str, record: str, type_name: str, facet: str, value: Value
    ) -> Saved:
        """Save a facet on a device whose form showed what the operation `last` wrote."""
        device = self.devices[by]
        op_id, at = device.next()
        operation: Saved = {
            "id": op_id,
            "by": self.people[device.person],
            "record": record,
            "type": type_name,
            "facet": facet,
            "kind": "set",
            "seen": last["id"] if last else None,
            "from": last["to"] if last else None,
            "to": value,
            "settles": [],
            "device_time": at,
            "spec": SPEC,
        }
        self.operations.append(operation)
        self.seen[record, facet] = operation
        return operation

    def save_all(self, by: str, record: str, type_name: str, facets: Iterable[tuple[str, Value | None]]) -> None:
        """Save those facets that were entered."""
        for facet, value in facets:
            if value:
                self.save(by, record, type_name, facet, value)


def expand(
    building: Told,
    catalogue: Told,
    site: str,
    people: Mapping[str, str],
    pictures: Mapping[str, Mapping[str, object]],
) -> list[Saved]:
    """All operations of the demo building, in the order in which they are saved.

    Parameters
    ----------
    building, catalogue : dict
        Contents of `building.json` and `catalogue.json`.
    site : str
        Id of the site, whose own record is there already.
    people : mapping of str to str
        Ids of the demo's people by name.
    pictures : mapping
        What was drawn for each photo, by its `draw`: `sha256`, `bytes`, `width_px`, `height_px`.
    """
    walk = Walk(site, people, {told["key"]: _device(told) for told in building["devices"]})
    _expand_desk(walk, building, catalogue)
    for kind in building["kinds"]:
        _expand_kind(walk, kind)
    order = 0
    for floor in building["floors"]:
        order = _expand_floor(walk, floor, order)
    for photo in building["photos"]:
        _expand_photo(walk, photo, pictures[photo["draw"]])
    _expand_lux_and_questions(walk, building)
    return walk.operations


def _device(told: Told) -> Device:
    instrument: Value = {name: told[name] for name in ("instrument", "graduation") if name in told}
    return Device(told["key"], told["person"], datetime.fromisoformat(told["starts"]), instrument)


def in_ticks(fields: Told) -> Value:
    """Fields with each `…_mm` turned into `…_ticks` (1/320 mm), which the file's lengths hold exactly."""
    found = {}
    for name, value in fields.items():
        if name.endswith("_mm"):
            found[name.removesuffix("_mm") + "_ticks"] = round(value * TICKS_PER_MM)
        else:
            found[name] = value
    return found


def _expand_desk(walk: Walk, building: Told, catalogue: Told) -> None:
    walk.save("desk", demo_id("money"), "money", "identity", {"parent": walk.site, **building["site"]["money"]})
    for item in catalogue["items"]:
        record = demo_id("catalogue", item["key"])
        for facet in ("identity", "bar", "driver", "accessory", "supply"):
            if facet in item:
                value = item[facet] | ({"parent": walk.site} if facet == "identity" else {})
                walk.save("desk", record, "catalogue_item", facet, value)
        walk.save("desk", demo_id("price", item["key"]), "price", "identity", {"parent": record, **item["price"]})


def kind_id(mark: str) -> str:
    """The id of a kind of the demo by its mark."""
    return demo_id("kind", mark)


def _expand_kind(walk: Walk, kind: Told) -> None:
    identity = {"parent": walk.site, "mark": kind["mark"], "title": kind["title"], "alike": kind["alike"]}
    others = [(name, in_ticks(kind[name] or {})) for name in ("housing", "lamps", "ballast", "ballast_space", "wiring")]
    walk.save_all(kind["by"], kind_id(kind["mark"]), "kind", [("identity", identity), *others])


def _expand_floor(walk: Walk, floor: Told, order: int) -> int:
    """Save a floor and its rooms; the place in the walk of its last room."""
    record = demo_id("floor", floor["name"])
    identity = {"parent": walk.site, "name": floor["name"], "order": floor["order"]}
    walk.save(floor["by"], record, "floor", "identity", identity)
    for room in floor["rooms"]:
        order += 10
        _expand_room(walk, room, floor, record, order)
    return order


def room_id(room: Told) -> str:
    """The id of a room of the demo; two with one number are told apart by their names."""
    return demo_id("room", room["number"], room["name"])


def _expand_room(walk: Walk, room: Told, floor: Told, parent: str, order: int) -> None:
    record, visited = room_id(room), "size_m" in room
    identity = {"parent": parent, "number": room["number"], "name": room["name"], "space_type": room["space"]}
    facets = [
        ("identity", identity),
        ("walk", {"order": order}),
        ("size", _size(room)),
        ("ceiling", _named(("ceiling", "access", "fire_rated"), room.get("ceiling"))),
        ("surfaces", _named(("ceiling_pct", "walls_pct", "floor_pct"), room.get("surfaces"))),
        ("surroundings", _surroundings(room) if visited else None),
        ("hours", {"hours_year": room["hours"], "how_known": "owner-says"} if "hours" in room else None),
    ]
    walk.save_all(floor["by"], record, "room", facets)
    for place, group in enumerate(room["groups"], 1):
        _expand_group(walk, group, floor, record, group_id(room, place))
    if visited or room["progress"] != "open":
        progress = {"progress": room["progress"]} | ({"reason": room["reason"]} if "reason" in room else {})
        walk.save(floor["by"], record, "room", "progress", progress)


def _size(room: Told) -> Value:
    mm = [round(metres * 1000) for metres in room.get("size_m", [])]
    return {
        name: value * TICKS_PER_MM
        for name, value in zip(("length_ticks", "width_ticks", "height_ticks"), mm, strict=False)
    }


def _named(names: tuple[str, ...], values: list[object] | None) -> Value:
    return dict(zip(names, values or [], strict=False))


def _surroundings(room: Told) -> Value:
    found = {
        "moisture": room.get("moisture", "dry"),
        "hazardous": room.get("hazardous", "no"),
        "clean_or_food": room.get("food", "no"),
    }
    return found | ({"hottest_c": room["hot"]} if "hot" in room else {})


def group_id(room: Told, place: int) -> str:
    """The id of the group that stands at a place (from 1) in a room of the demo."""
    return demo_id("group", room_id(room), str(place))


def _expand_group(walk: Walk, group: Told, floor: Told, parent: str, record: str) -> None:
    by = floor["by"]
    identity = {"parent": parent, "kind": kind_id(group["kind"])} | (
        {"note": group["note"]} if group.get("note") else {}
    )
    walk.save(by, record, "group", "identity", identity)
    _expand_count(walk, group, by, record)
    facets = [("supply", _supply(group, floor)), ("duty", _duty(group))]
    walk.save_all(by, record, "group", facets)
    for place, reading in enumerate(group["readings"], 1):
        _expand_reading(walk, reading, by, record, demo_id("reading", record, str(place)))


def _expand_count(walk: Walk, group: Told, by: str, record: str) -> None:
    """Save the count; where two people disagree, both change what both had seen, and the second one loses."""
    value = {"count": group["count"], "dark_lamps": group["dark"], "sure": group.get("sure", "yes")}
    other = group.get("count_by_the_other")
    if other is None:
        walk.save(by, record, "group", "count", value)
        return
    both_saw = walk.save(by, record, "group", "count", value | {"count": other["first"]})
    kept = walk.save_having_seen(both_saw, by, record, "group", "count", value)
    walk.save_having_seen(both_saw, other["by"], record, "group", "count", value | {"count": other["then"]})
    walk.seen[record, "count"] = kept


def _supply(group: Told, floor: Told) -> Value | None:
    own = group.get("supply", {})
    if own is None:
        return None
    circuit = {"circuit": group["circuit"]} if "circuit" in group else {}
    said = {"switching": group.get("switching", "all-together"), "shared_neutral": "no"}
    found: Value = floor["supply"] | circuit | said | own
    return found


def _duty(group: Told) -> Value | None:
    found: Value = {
        "emergency": group.get("emergency", "none"),
        "control_now": "switch",
        "control_wanted": "none",
        "dimming": "none",
    }
    if "emergency_positions" in group:
        found["emergency_positions"] = group["emergency_positions"]
    found |= group.get("duty", {})
    return found


def _expand_reading(walk: Walk, told: str | Told, by: str, parent: str, record: str) -> None:
    more: Told = {}
    if not isinstance(told, str):
        more, told = told, f"{told['at']} {told['as_entered']}"
    at, as_entered = told.split(" ", 1)
    position, row, *cavity = (int(part) for part in at.split("."))
    value = {
        "parent": parent,
        "position": position,
        "row": row,
        "cavity": cavity[0] if cavity else 1,
        "length_ticks": parse_length(as_entered, "inches").ticks,
        "as_entered": as_entered,
        "from_hook": True,
        **walk.devices[by].instrument,
    }
    walk.save(by, record, "cavity_reading", "identity", value)
    if "aside" in more:
        walk.save(by, record, "cavity_reading", "set_aside", {"reason": more["aside"], "note": more["note"]})


def _expand_photo(walk: Walk, photo: Told, picture: Mapping[str, object]) -> None:
    record, device = demo_id("photo", photo["draw"]), walk.devices[photo["by"]]
    taken = device.starts + timedelta(seconds=(device.saved + 1) * SECONDS_BETWEEN_SAVES)
    identity = {
        "parent": walk.site,
        "subject": _record_of(walk, photo["of"]),
        "purpose": photo["purpose"],
        "taken_at": taken.strftime("%Y-%m-%dT%H:%M:%SZ"),
        **picture,
    }
    walk.save_all(photo["by"], record, "photo", [("identity", identity), ("caption", {"caption": photo["caption"]})])


def _record_of(walk: Walk, of: str) -> str:
    """'kind K1' or 'room P03' -> the id of its record."""
    what, name = of.split(" ", 1)
    field_name = {"kind": "mark", "room": "number"}[what]
    for operation in walk.operations:
        if operation["type"] == what and operation["facet"] == "identity" and operation["to"][field_name] == name:
            return str(operation["record"])
    raise KeyError(of)


def _expand_lux_and_questions(walk: Walk, building: Told) -> None:
    for lux in building["lux"]:
        room = _record_of(walk, "room " + lux["room"])
        for point, value in lux["points"]:
            identity = {"parent": room, "point": point, "lux": value, "when": "before"}
            walk.save(lux["by"], demo_id("lux", room, point), "lux_reading", "identity", identity)
    for asked in building["questions"]:
        record = demo_id("question", asked["of"], asked["question"])
        identity = {"parent": walk.site, "subject": _record_of(walk, asked["of"]), "question": asked["question"]}
        walk.save(asked["by"], record, "question", "identity", identity)
        if "answer" in asked:
            walk.save(asked["answer_by"], record, "question", "answer", {"answer": asked["answer"]})
