"""Supply, moisture and air, judged against what the released items bear. Twin: pwa/rules/since_release/surroundings.js."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules import constants
from spanwalk.rules.fit.compatibility import MOISTURE
from spanwalk.rules.gear.driver_in_body import RANGES_ON_LABELS
from spanwalk.rules.record_view import Facet
from spanwalk.rules.since_release.seen import LOOK, PARTS, STOP, Change, Seen, change, first, said_by

SILENT_COLDEST_C, SILENT_HOTTEST_C = constants.SILENT_COLDEST_C, constants.SILENT_HOTTEST_C
"""Air in which an item may be that does not say its limits [°C]; twins of `ambient`."""
DIRECT = constants.DIRECT
"""A supply that turns out to be d.c. stops: whether a driver bears just these volts was never checked."""


def volts(seen: Seen) -> Iterator[Change]:
    """A supply that a released driver does not take, or another than was released."""
    before, now = seen.before("group", "supply", "volts"), seen.now("group", "supply", "volts")
    turned = now == DIRECT and before != now
    outside = turned or (now is not None and not all(_takes(seen.item(each), now) for each in seen.items("drivers")))
    if outside or before != now:
        weight = STOP if outside or now is None else LOOK
        yield change("group.supply.volts", weight, before, now, said_by(seen.group, "supply"))


def volts_on_label(seen: Seen) -> Iterator[Change]:
    """Another label on the ballast: it stops where nothing but the label told the supply, and a driver does not take its range."""
    before, now = seen.before("kind", "ballast", "volts_mark"), seen.now("kind", "ballast", "volts_mark")
    if before == now:
        return
    alone = seen.now("group", "supply", "volts") is None
    proved = RANGES_ON_LABELS.get(str(now))
    drivers = [seen.item(each) for each in seen.items("drivers")]
    fits = proved is not None and all(
        each["volts_min"] <= proved[0] and proved[1] <= each["volts_max"] for each in drivers
    )
    weight = STOP if alone and not fits else LOOK
    yield change("kind.ballast.volts_mark", weight, before, now, said_by(seen.kind, "ballast"))


def _takes(driver: Facet, volts: str) -> bool:
    if volts == DIRECT:
        return bool(driver.get("dc"))
    return bool(driver["volts_min"] <= int(volts) <= driver["volts_max"])


def moisture(seen: Seen) -> Iterator[Change]:
    """A room wetter than an item bears."""
    before, now = seen.before("room", "surroundings", "moisture"), seen.now("room", "surroundings", "moisture")
    made_for = [
        MOISTURE.index(item["moisture"])
        for each in seen.items("bars", "drivers")
        if "moisture" in (item := seen.item(each))
    ]
    said = said_by(seen.room, "surroundings")
    if now is not None and made_for and min(made_for) < MOISTURE.index(now):
        yield change("room.surroundings.moisture", STOP, before, now, said)
    elif now is None and before is not None:
        yield change("room.surroundings.moisture", LOOK, before, now, said)


def temperatures(seen: Seen) -> Iterator[Change]:
    """Air colder or hotter than an item bears; the room's where it says one, else the site's."""
    for field, sign, usual in (("hottest_c", 1, SILENT_HOTTEST_C), ("coldest_c", -1, SILENT_COLDEST_C)):
        before = first(seen.before("room", "surroundings", field), seen.before("site", "settings", field))
        of_room = seen.now("room", "surroundings", field)
        now = first(of_room, seen.now("site", "settings", field))
        if now is None:
            continue
        items = [(part, seen.item(each)) for part in PARTS for each in seen.items(part)]
        if any(
            _beyond(item, field, sign, now + _rise(part, field, item), usual, before == now) for part, item in items
        ):
            said = said_by(seen.site, "settings") if of_room is None else said_by(seen.room, "surroundings")
            yield change(f"room.surroundings.{field}", STOP, before, now, said)


def _rise(part: str, field: str, item: Facet) -> float:
    """By how much a driver gets hotter than the air in a closed body [K]."""
    return float(item.get("rise_k", 0)) if part == "drivers" and field == "hottest_c" else 0


def _beyond(item: Facet, field: str, sign: int, air_c: float, usual_c: int, as_before: bool) -> bool:
    """Whether the air is beyond what an item bears; one that does not say was judged at the release."""
    limit = item.get(field)
    over_mk = sign * (_thousandths(air_c) - _thousandths(usual_c if limit is None else limit))
    return over_mk > 0 and not (limit is None and as_before)


def _thousandths(value: float) -> int:
    return round(value * 1000)
