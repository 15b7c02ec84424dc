"""What keeps a site open, each planted alone in a complete site through push; each plant returns what puts it right."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from io import BytesIO
from typing import Any

from PIL import Image
from tests.open_points.complete_site import KIND, MM, SURROUNDINGS, CompleteSite, Hand, supplied

Fix = Callable[[], object]
Plant = Callable[[CompleteSite], Fix]


def add_group(site: CompleteSite, name: str, number: str = "G02", **facets: Any) -> str:
    """A second room with a group of the same kind in it, complete but for its readings."""
    return site.hand.make("group", add_room(site, name, number), {"kind": site.kind}, **(supplied() | facets))


def add_room(site: CompleteSite, name: str, number: str = "G02") -> str:
    """A second room that was surveyed."""
    identity = {"number": number, "name": name, "space_type": "corridor"}
    said = {"progress": {"progress": "surveyed"}, "surroundings": SURROUNDINGS}
    return site.hand.make("room", site.floor, identity, **said)


def read_all(site: CompleteSite, group: str) -> None:
    for position in (1, 2):
        for row in (1, 2):
            site.hand.read(group, position, row)


def no_reading(site: CompleteSite) -> Fix:
    group = add_group(site, "Annexe")
    return lambda: read_all(site, group)


def outlier(site: CompleteSite) -> Fix:
    site.hand.save(site.group, "group", count={"count": 3, "sure": "yes"})
    site.hand.read(site.group, 3, 1)
    wild = site.hand.read(site.group, 3, 2, 376936, "46 3/8")

    def void_and_read_again() -> None:
        site.hand.save(wild, "cavity_reading", voided={"reason": "read wrong"})
        site.hand.read(site.group, 3, 2)

    return void_and_read_again


def reading_matches_another(site: CompleteSite) -> Fix:
    """45 1/4 in is what a 4 ft T5 lamp leaves; the group is called T8."""
    group = add_group(site, "Annexe", count={"count": 1, "sure": "yes"})
    site.hand.read(group, 1, 1)
    reading = site.hand.read(group, 1, 2, 367792, "45 1/4")

    def void_and_read_again() -> None:
        site.hand.save(reading, "cavity_reading", voided={"reason": "read wrong"})
        site.hand.read(group, 1, 2)

    return void_and_read_again


def no_ballast_space(site: CompleteSite) -> Fix:
    site.hand.save(site.kind, "kind", ballast_space={"length_ticks": 430 * MM})
    return lambda: site.hand.save(site.kind, "kind", ballast_space=KIND["ballast_space"])


def feeds_not_seen(site: CompleteSite) -> Fix:
    site.hand.save(site.kind, "kind", wiring=KIND["wiring"] | {"feeds": "not-seen"})
    return lambda: site.hand.save(site.kind, "kind", wiring=KIND["wiring"])


def no_volts(site: CompleteSite) -> Fix:
    """One value on the ballast's label proves nothing of the supply; a range would."""
    site.hand.save(site.kind, "kind", ballast=KIND["ballast"] | {"volts_mark": "277"})
    site.hand.save(site.group, "group", supply={"volts": "not-seen"})
    return lambda: site.hand.save(site.group, "group", supply={"volts": "277"})


def emergency_not_seen(site: CompleteSite) -> Fix:
    site.hand.save(site.group, "group", duty={"emergency": "not-seen"})
    return lambda: site.hand.save(site.group, "group", duty={"emergency": "none"})


EMERGENCY = {"emergency": "generator-or-inverter", "emergency_positions": [1], "second_source": "EP-1 circuit 4"}
BATTERY = {"emergency": "battery-in-fixture", "emergency_positions": [1], "battery": "nickel-cadmium"}


def emergency_positions_not_said(site: CompleteSite) -> Fix:
    site.hand.save(site.group, "group", duty=EMERGENCY | {"emergency_positions": []})
    return lambda: site.hand.save(site.group, "group", duty=EMERGENCY)


def battery_not_seen(site: CompleteSite) -> Fix:
    site.hand.save(site.group, "group", duty=BATTERY | {"battery": "not-seen"})
    return lambda: site.hand.save(site.group, "group", duty=BATTERY)


def second_source_not_named(site: CompleteSite) -> Fix:
    site.hand.save(
        site.group, "group", duty={name: value for name, value in EMERGENCY.items() if name != "second_source"}
    )
    return lambda: site.hand.save(site.group, "group", duty=EMERGENCY)


def doubtful_count(site: CompleteSite) -> Fix:
    site.hand.save(site.group, "group", count={"count": 2, "sure": "doubtful"})
    return lambda: site.hand.save(site.group, "group", count={"count": 2, "sure": "yes"})


def conflict(site: CompleteSite) -> Fix:
    """Both phones had seen two fixtures; one makes it three, the other says that the two are certain."""
    hand, other = site.hand, Hand(site.hand.client, site.hand.site)
    mine = hand.operation(site.group, "group", "count", {"count": 2, "dark_lamps": 1, "sure": "yes"})
    theirs = other.operation(site.group, "group", "count", {"count": 2, "dark_lamps": 2, "sure": "yes"})
    hand.push(mine)
    other.push(theirs)
    kept = {"count": 2, "dark_lamps": 2, "sure": "yes"}
    return lambda: hand.push(hand.operation(site.group, "group", "count", kept, settles=[theirs["id"]]))


def photo_not_arrived(site: CompleteSite) -> Fix:
    content = jpeg()
    name = sha256(content).hexdigest()
    identity = {"subject": site.group, "purpose": "whole-fixture", "sha256": name}
    site.hand.make("photo", site.hand.site, identity)
    path = f"/api/sites/{site.hand.site}/photos/{name}"
    return lambda: site.hand.client.call("PUT", path, raw=content, Content_Type="image/jpeg")


def jpeg() -> bytes:
    buffer = BytesIO()
    Image.new("RGB", (64, 48), "#336699").save(buffer, "JPEG")
    return buffer.getvalue()


def duplicate_room_number(site: CompleteSite) -> Fix:
    identity = {"parent": site.floor, "number": "G01", "name": "Lobby"}
    progress = {"progress": "nothing-to-convert"}
    room = site.hand.make("room", site.floor, identity, progress=progress)
    return lambda: site.hand.save(room, "room", identity=identity | {"number": "G02"})


def duplicate_kind_mark(site: CompleteSite) -> Fix:
    identity = {"parent": site.hand.site, "mark": "K1", "alike": "yes"}
    kind = site.hand.make("kind", site.hand.site, identity)
    return lambda: site.hand.save(kind, "kind", identity=identity | {"mark": "K2"})


def room_not_visited(site: CompleteSite) -> Fix:
    room = site.hand.make("room", site.floor, {"number": "G02", "name": "Attic"})
    return lambda: site.hand.save(room, "room", progress={"progress": "nothing-to-convert"})


def no_access(site: CompleteSite) -> Fix:
    progress = {"progress": "no-access", "reason": "no key"}
    room = site.hand.make("room", site.floor, {"number": "G02", "name": "Attic"}, progress=progress)
    return lambda: site.hand.save(room, "room", progress={"progress": "nothing-to-convert"})


def unsent_work(site: CompleteSite) -> Fix:
    site.hand.push(unsent=(3, 1))
    return lambda: site.hand.push(unsent=(0, 0))


def verdict_differs(site: CompleteSite) -> Fix:
    """The phone judged by rules that called the bar tight; the server's say that it fits."""
    group = add_group(site, "Annexe", count={"count": 1, "sure": "yes"})
    site.hand.read(group, 1, 1)
    reading = site.hand.read(group, 1, 2, verdict_seen={"verdict": "tight", "n": 2}, rules_version="0")
    answer = {"answer": "it-is-what-the-tape-shows"}
    return lambda: site.hand.save(reading, "cavity_reading", confirmed=answer)


def two_groups_alike(site: CompleteSite) -> Fix:
    group = site.hand.make("group", site.room, {"kind": site.kind}, **supplied())
    read_all(site, group)
    return lambda: site.hand.save(
        group, "group", identity={"parent": site.room, "kind": site.kind, "note": "by the door"}
    )


def hottest_not_said(site: CompleteSite) -> Fix:
    site.hand.save(site.room, "room", surroundings={name: SURROUNDINGS[name] for name in ("moisture", "hazardous")})
    return lambda: site.hand.save(site.room, "room", surroundings=SURROUNDINGS)


def nothing_passes(site: CompleteSite) -> Fix:
    """A supply for which no driver is made; the manager leaves such a group as it is."""
    site.hand.save(site.group, "group", supply={"volts": "347"})
    reason = {"decision": "leave-as-is", "reason": "No driver for 347 V."}
    return lambda: site.hand.save(site.group, "group", decision=reason)


PLANTS: dict[str, Plant] = {
    "no-reading": no_reading,
    "outlier": outlier,
    "reading-matches-another": reading_matches_another,
    "no-ballast-space": no_ballast_space,
    "feeds-not-seen": feeds_not_seen,
    "no-volts": no_volts,
    "emergency-not-seen": emergency_not_seen,
    "emergency-positions-not-said": emergency_positions_not_said,
    "battery-not-seen": battery_not_seen,
    "second-source-not-named": second_source_not_named,
    "doubtful-count": doubtful_count,
    "conflict": conflict,
    "photo-not-arrived": photo_not_arrived,
    "duplicate-room-number": duplicate_room_number,
    "duplicate-kind-mark": duplicate_kind_mark,
    "room-not-visited": room_not_visited,
    "no-access": no_access,
    "unsent-work": unsent_work,
    "verdict-differs": verdict_differs,
    "groups-do-not-differ": two_groups_alike,
    "held-by-survey": hottest_not_said,
    "held-by-plan": nothing_passes,
}
