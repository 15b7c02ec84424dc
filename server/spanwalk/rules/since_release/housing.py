"""The body that takes bars and drivers, judged against those that were released. Twin: pwa/rules/since_release/housing.js."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.since_release.seen import LOOK, SIDES, STOP, Change, Seen, change, first, said_by


def space(seen: Seen) -> Iterator[Change]:
    """A ballast space in which no way of laying the drivers goes any more."""
    before = [seen.before("kind", "ballast_space", side) for side in SIDES]
    now = [seen.now("kind", "ballast_space", side) for side in SIDES]
    ways = seen.facts.get("ways", [])
    if before == now or not ways:
        return
    said = said_by(seen.kind, "ballast_space")
    known = all(each is not None for each in now)
    if known and not any(all(needs <= has for needs, has in zip(way, now, strict=True)) for way in ways):
        yield change("kind.ballast_space", STOP, before, now, said)
    elif not known:
        yield change("kind.ballast_space", LOOK, before, now, said)


def material(seen: Seen) -> Iterator[Change]:
    """What the bar will lie on: the group's own where it differs, else the kind's."""
    before = first(seen.before("group", "differs", "housing_material"), seen.before("kind", "housing", "material"))
    own = seen.now("group", "differs", "housing_material")
    now = first(own, seen.now("kind", "housing", "material"))
    if before != now:
        record, name = (seen.kind, "housing") if own is None else (seen.group, "differs")
        yield change("kind.housing.material", STOP, before, now, said_by(record, name))


def room_for_bar(seen: Seen) -> Iterator[Change]:
    """A body narrower or lower than its bars."""
    bars = [seen.item(each) for each in seen.items("bars")]
    for side in SIDES[1:]:
        before, now = seen.before("kind", "housing", side), seen.now("kind", "housing", side)
        if before != now and now is not None and any(bar.get(side, 0) > now for bar in bars):
            yield change(f"kind.housing.{side}", STOP, before, now, said_by(seen.kind, "housing"))
