"""What has changed since a conversion was released, and what of it stops the work? Twin: pwa/rules/standing_changes.js.

The facts that a release froze are held against the records as they are now. Most fields are compared as they stand: the
table `standing` says what a change of each means. The others are judged: volts against the driver's range, the
room's air against what each item bears, readings against the bars that were released.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypedDict, TypeVar, cast

from spanwalk.rules import constants
from spanwalk.rules.cavity import Spread
from spanwalk.rules.compatibility import MOISTURE
from spanwalk.rules.judging import judge_group
from spanwalk.rules.record_types import (
    CatalogueItemBar,
    CatalogueItemView,
    ConversionView,
    GroupView,
    KindView,
    RoomView,
    SiteView,
)
from spanwalk.rules.record_view import Facet, Record, Row, Tables
from spanwalk.rules.survey import Survey, facet, has, is_position

T = TypeVar("T")
STOP, LOOK = constants.STOP, constants.LOOK
NOT_SAID: tuple[object, ...] = (None, "", "not-seen", "not-said", "as-the-kind", [])
"""What stands where nobody said anything."""
SILENT_COLDEST_C, SILENT_HOTTEST_C = constants.SILENT_COLDEST_C, constants.SILENT_HOTTEST_C
"""Air in which an item may be that does not say its limits [°C]; twins of `ambient`."""
PARTS = ("bars", "drivers", "packs", "others")
ITEM_FACETS = ("bar", "driver", "accessory")
NO_DECISION = (None, "convert-as-recommended")
DIRECT = constants.DIRECT
"""A supply that turns out to be d.c. stops: whether a driver bears just these volts was never checked."""
BY_NAME = constants.BY_NAME
NEVER = (
    ("kind", "wiring", "feeds", ("two", "more")),
    ("kind", "ballast", "leaking", ("yes",)),
    ("kind", "lamps", "fitted", ("led-tube-on-the-ballast", "led-tube-on-mains", "built-in-led", "none")),
    ("room", "surroundings", "hazardous", ("yes",)),
    ("group", "decision", "decision", ("leave-as-is", "defer")),
)
"""What no release was ever made with: it stops a conversion of which no facts were frozen."""
SIDES = constants.SIDES


class Change(TypedDict, total=False):
    """One thing that is otherwise than when it was released.

    `fact` is a field as `record.facet.field`, or a name of its own: `fit`, `position`, `partner`, `nothing-frozen`,
    `questioned`. `weight` is `stop` or `look`. `before` and `now` are None where nothing was said. `about` names an item or
    a facet where the fact does not; `by` and `at` are whose word it is and the time of that phone, where known.
    """

    fact: str
    weight: str
    before: object
    now: object
    about: str
    by: str
    at: str


@dataclass(frozen=True)
class Seen:
    """A conversion beside what the records say now.

    Parameters
    ----------
    survey : Survey
        The records: at least the group's, its kind's, room's, site's, the release's and the catalogue's.
    facts : mapping
        What the release froze: see `arrangements.frozen_facts`.
    released : mapping
        Item id -> code and facet of each catalogue item as the release froze it.
    group, kind, room, site : view records
        The group and what it stands in; an empty record where it is gone.
    tables : mapping
        Reference tables.
    position : int or None
        One fixture of the group; None: the group as a whole.
    head : int
        Sequence of the site that the release was made at; -1 where it is not known.
    """

    survey: Survey
    facts: Facet
    released: Mapping[str, Facet]
    group: GroupView
    kind: KindView
    room: RoomView
    site: SiteView
    tables: Tables
    position: int | None
    head: int = -1

    def records(self) -> tuple[tuple[str, Record], ...]:
        """The records that are compared, by what the table calls them."""
        return ("group", self.group), ("kind", self.kind), ("room", self.room), ("site", self.site)

    @cached_property
    def rows(self) -> dict[tuple[str, str], dict[str, Row]]:
        """Record and facet -> field -> row of the table `standing`."""
        found: dict[tuple[str, str], dict[str, Row]] = {}
        for row in self.tables["standing"]["rows"]:
            found.setdefault((row["record"], row["facet"]), {})[row["field"]] = row
        return found

    # Any: which field of which facet it is, is said by a name.
    def before(self, record: str, facet_name: str, field: str) -> Any:
        """What a field said when it was released."""
        return plain(self.facts.get(record, {}).get(facet_name, {}).get(field))

    # Any: as above.
    def now(self, record: str, facet_name: str, field: str) -> Any:
        """What a field says now."""
        return plain(facet(getattr(self, record), facet_name).get(field))

    def item(self, item_id: str) -> Facet:
        """The facet of a catalogue item as it is now, as it was released where it is there no more."""
        record = self.survey.by_id.get(item_id)
        name = facet_of_item(record) if record is not None else None
        if record is not None and name is not None:
            return facet(record, name)
        return item_facet(self.released.get(item_id, {}))

    def items(self, *parts: str) -> list[str]:
        """Ids of the items that were released as `bars`, `drivers`, `packs` or `others`; packs only where one hangs."""
        return [
            each
            for part in parts
            for each in dict.fromkeys(self.facts.get(part, []))
            if part != "packs" or self.has_pack()
        ]

    def has_pack(self) -> bool:
        """Whether a pack belongs into this fixture, or into one of the group."""
        positions = self.before("group", "duty", "emergency_positions") or []
        return self.position is None or self.position in positions


NO_PARENT = cast("str", None)
NOTHING: Record = {"id": "", "type": "", "parent": None, "removed": True, "facets": {}, "conflicts": []}


def plain(value: object) -> object:
    """A value; None where it says that nothing was seen or said."""
    return None if value in NOT_SAID else value


def facet_of_item(item: CatalogueItemView | Facet) -> str | None:
    """Which facet says what an item is: `bar`, `driver` or `accessory`."""
    return next((name for name in ITEM_FACETS if item.get("facets", item).get(name)), None)


def item_facet(released: Facet) -> Facet:
    """The facet of an item as a release froze it."""
    return next((released[name] for name in ITEM_FACETS if name in released), {})


def changes_of(survey: Survey, conversion: ConversionView, tables: Tables, position: int | None = None) -> list[Change]:
    """Everything that is otherwise than when a conversion was released; what stops the work first.

    Parameters
    ----------
    survey : Survey
        The records as they are now.
    conversion : view record
        The conversion, with the `facts` that its release froze.
    tables : mapping
        Reference tables, `standing` among them.
    position : int, optional
        One fixture of its group, which changes at other positions do not stop; None: all of them.

    Returns
    -------
    list of Change
        Empty where nothing changed that matters.
    """
    identity = facet(conversion, "identity")
    group = cast("GroupView", survey.by_id.get(conversion["parent"], NOTHING))
    kind = survey.kind_of(group) or cast("KindView", NOTHING)
    room = survey.room_of(group) or cast("RoomView", NOTHING)
    release = facet(survey.by_id.get(identity["release"]), "identity")
    around = (group, kind, room, survey.site())
    seen = Seen(
        survey,
        identity.get("facts") or {},
        release.get("items", {}),
        *around,
        tables,
        position,
        release.get("head", -1),
    )
    looked_for = LOOKED_FOR if seen.facts else LOOKED_FOR_WITHOUT_FACTS
    found = [change for look_for in looked_for for change in look_for(seen)]
    return sorted(found, key=lambda change: change["weight"] != STOP)


def said_by(record: Record, facet_name: str) -> Change:
    """Whose word a facet is, and when, as far as it is known."""
    found: Change = {}
    by, at = record.get("by", {}).get(facet_name), record.get("at", {}).get(facet_name)
    if by:
        found["by"] = by
    if at:
        found["at"] = at
    return found


def _change(fact: str, weight: str, before: object, now: object, said: Change | None = None, about: str = "") -> Change:
    found: Change = {"fact": fact, "weight": weight, "before": before, "now": now}
    if about:
        found["about"] = about
    return {**found, **(said or {})}


# -- compared as they stand


def _differing(before: Facet, now: Facet, rows: Mapping[str, Facet]) -> Iterator[tuple[str, str]]:
    """Fields that differ and are compared as they stand, with the weight of each."""
    for field in sorted({*before, *now}):
        row = rows.get(field) or rows.get("*")
        if row is None or row["class"] not in (STOP, LOOK) or plain(before.get(field)) == plain(now.get(field)):
            continue
        yield field, LOOK if now.get(field) in row.get("harmless", ()) else row["class"]


def _fields(seen: Seen) -> Iterator[Change]:
    records = dict(seen.records())
    for (name, facet_name), rows in seen.rows.items():
        if name not in records:
            continue
        before, now = seen.facts.get(name, {}).get(facet_name, {}), facet(records[name], facet_name)
        for field, weight in _differing(before, now, rows):
            fact = f"{name}.{facet_name}.{field}"
            yield _change(
                fact, weight, plain(before.get(field)), plain(now.get(field)), said_by(records[name], facet_name)
            )


def _conflicts(seen: Seen) -> Iterator[Change]:
    """Facets that have two values since; what was in conflict when it was released was looked at then."""
    rows, known = seen.rows, seen.facts.get("conflicts", [])
    for name, record in seen.records():
        for conflict in record["conflicts"]:
            facet_name = conflict["facet"]
            if (name, facet_name) not in rows or conflict["id"] in known or name == "site":
                continue
            weight = STOP if "conflict" in rows[name, facet_name] else LOOK
            said: Change = {"by": conflict.get("by", ""), "at": conflict.get("at", "")}
            yield _change("conflict", weight, None, "two values", said, f"{name}.{facet_name}")


def _items(seen: Seen) -> Iterator[Change]:
    """Items that were recalled since, or of which the catalogue says something else."""
    rows = seen.rows
    for item_id in dict.fromkeys(seen.items(*PARTS)):
        record, released = seen.survey.by_id.get(item_id), seen.released.get(item_id, {})
        if record is None:
            continue
        code = released.get("code", "")
        if has(record, "recall"):
            yield _change(
                "item.recall", STOP, None, facet(record, "recall").get("reason"), said_by(record, "recall"), code
            )
        name = facet_of_item(record)
        if name is None or name not in released:
            continue
        before, now = released[name], facet(record, name)
        for field, weight in _differing(before, now, rows["item", name]):
            yield _change(
                f"item.{name}.{field}",
                weight,
                plain(before.get(field)),
                plain(now.get(field)),
                said_by(record, name),
                code,
            )


# -- judged with others


def _volts(seen: Seen) -> Iterator[Change]:
    before, now = seen.before("group", "supply", "volts"), seen.now("group", "supply", "volts")
    turned = now == DIRECT and before != now
    outside = turned or (now is not None and not all(_takes(seen.item(each), now) for each in seen.items("drivers")))
    if outside or before != now:
        weight = STOP if outside or now is None else LOOK
        yield _change("group.supply.volts", weight, before, now, said_by(seen.group, "supply"))


def _takes(driver: Facet, volts: str) -> bool:
    if volts == DIRECT:
        return bool(driver.get("dc"))
    return bool(driver["volts_min"] <= int(volts) <= driver["volts_max"])


def _moisture(seen: Seen) -> Iterator[Change]:
    before, now = seen.before("room", "surroundings", "moisture"), seen.now("room", "surroundings", "moisture")
    made_for = [
        MOISTURE.index(item["moisture"])
        for each in seen.items("bars", "drivers")
        if "moisture" in (item := seen.item(each))
    ]
    said = said_by(seen.room, "surroundings")
    if now is not None and made_for and min(made_for) < MOISTURE.index(now):
        yield _change("room.surroundings.moisture", STOP, before, now, said)
    elif now is None and before is not None:
        yield _change("room.surroundings.moisture", LOOK, before, now, said)


def _temperatures(seen: Seen) -> Iterator[Change]:
    """Air colder or hotter than an item bears; the room's where it says one, else the site's."""
    for field, sign, usual in (("hottest_c", 1, SILENT_HOTTEST_C), ("coldest_c", -1, SILENT_COLDEST_C)):
        before = _first(seen.before("room", "surroundings", field), seen.before("site", "settings", field))
        of_room = seen.now("room", "surroundings", field)
        now = _first(of_room, seen.now("site", "settings", field))
        if now is None:
            continue
        items = [(part, seen.item(each)) for part in PARTS for each in seen.items(part)]
        if any(
            _beyond(item, field, sign, now + _rise(part, field, item), usual, before == now) for part, item in items
        ):
            said = said_by(seen.site, "settings") if of_room is None else said_by(seen.room, "surroundings")
            yield _change(f"room.surroundings.{field}", STOP, before, now, said)


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


def _first(*values: T) -> T | None:
    return next((value for value in values if value is not None), None)


def _space(seen: Seen) -> Iterator[Change]:
    """A ballast space in which no way of laying the drivers goes any more."""
    before = [seen.before("kind", "ballast_space", side) for side in SIDES]
    now = [seen.now("kind", "ballast_space", side) for side in SIDES]
    ways = seen.facts.get("ways", [])
    if before == now or not ways:
        return
    said = said_by(seen.kind, "ballast_space")
    known = all(each is not None for each in now)
    if known and not any(all(needs <= has for needs, has in zip(way, now, strict=True)) for way in ways):
        yield _change("kind.ballast_space", STOP, before, now, said)
    elif not known:
        yield _change("kind.ballast_space", LOOK, before, now, said)


def _material(seen: Seen) -> Iterator[Change]:
    """What the bar will lie on: the group's own where it differs, else the kind's."""
    before = _first(seen.before("group", "differs", "housing_material"), seen.before("kind", "housing", "material"))
    own = seen.now("group", "differs", "housing_material")
    now = _first(own, seen.now("kind", "housing", "material"))
    if before != now:
        record, name = (seen.kind, "housing") if own is None else (seen.group, "differs")
        yield _change("kind.housing.material", STOP, before, now, said_by(record, name))


def _room_for_bar(seen: Seen) -> Iterator[Change]:
    """A body narrower or lower than its bars."""
    bars = [seen.item(each) for each in seen.items("bars")]
    for side in SIDES[1:]:
        before, now = seen.before("kind", "housing", side), seen.now("kind", "housing", side)
        if before != now and now is not None and any(bar.get(side, 0) > now for bar in bars):
            yield _change(f"kind.housing.{side}", STOP, before, now, said_by(seen.kind, "housing"))


def _emergency_time(seen: Seen) -> Iterator[Change]:
    before, now = seen.before("site", "settings", "emergency_min"), seen.now("site", "settings", "emergency_min")
    lasts = [seen.item(each).get("duration_min") for each in seen.items("packs")]
    if before != now and now is not None and any(each is not None and each < now for each in lasts):
        yield _change("site.settings.emergency_min", STOP, before, now, said_by(seen.site, "settings"))


def _emergency_positions(seen: Seen) -> Iterator[Change]:
    before = seen.before("group", "duty", "emergency_positions") or []
    now = seen.now("group", "duty", "emergency_positions") or []
    differing = set(before) ^ set(now)
    if differing:
        concerns = seen.position is None or seen.position in differing
        yield _change(
            "group.duty.emergency_positions",
            STOP if concerns else LOOK,
            sorted(before),
            sorted(now),
            said_by(seen.group, "duty"),
        )


def _position(seen: Seen) -> Iterator[Change]:
    """A fixture that is there no more stops where it hung; that others are gone is looked at."""
    said = said_by(seen.group, "count")
    before, now = seen.before("group", "count", "gone") or [], seen.now("group", "count", "gone") or []
    if seen.position is not None and not is_position(seen.group, seen.position):
        yield _change("position", STOP, seen.position, None, said)
    elif sorted(before) != sorted(now):
        yield _change("group.count.gone", LOOK, sorted(before), sorted(now), said)


def _decision(seen: Seen) -> Iterator[Change]:
    said = said_by(seen.group, "decision")
    before, now = seen.before("group", "decision", "decision"), seen.now("group", "decision", "decision")
    name = seen.now("group", "decision", "arrangement")
    if now == BY_NAME and name != seen.facts.get("arrangement"):
        yield _change("group.decision.arrangement", STOP, seen.facts.get("arrangement"), name, said)
    elif now not in (*NO_DECISION, BY_NAME):
        yield _change("group.decision.decision", STOP, before, now, said)
    if seen.before("group", "decision", "accepts_trial") and not seen.now("group", "decision", "accepts_trial"):
        yield _change("group.decision.accepts_trial", STOP, True, None, said)


def _progress(seen: Seen) -> Iterator[Change]:
    before, now = seen.before("room", "progress", "progress"), seen.now("room", "progress", "progress")
    weight = {"nothing-to-convert": STOP, "no-access": LOOK}.get(now)
    if weight and before != now:
        yield _change("room.progress.progress", weight, before, now, said_by(seen.room, "progress"))


# -- readings against the bars that were released


def _fit(seen: Seen) -> Iterator[Change]:
    """The bars that were released, judged by all that is read by now; a reading that raises a question is to be looked at."""
    frozen, children = seen.facts.get("fit"), seen.survey.children
    readings, trials = children(seen.group, "cavity_reading"), children(seen.group, "trial_bar")
    if not frozen or not has(seen.kind, "lamps") or _is_as_released(seen, [*readings, *trials]):
        return
    judged = judge_group(
        seen.group, seen.kind, seen.room, seen.site, readings, _spread(seen), _bars(seen), seen.tables, trials
    )
    wanted = sorted(seen.facts["bars"])
    fit = next((each for each in judged["fits"] if sorted(each["bars"]) == wanted), None)
    verdict = "too long" if fit is None else fit["verdict"]
    said = _newest([*readings, *trials])
    if verdict not in ("fits", frozen["verdict"]):
        yield _change("fit", LOOK if verdict == "tight" else STOP, frozen["verdict"], verdict, said)
    new = sorted(each for each in judged["questions"] if each not in seen.facts.get("questions", []))
    for reading in new:
        record = seen.survey.by_id[reading]
        yield _change(
            "questioned", LOOK, None, facet(record, "identity").get("as_entered"), said_by(record, "identity")
        )


def _is_as_released(seen: Seen, read: Sequence[Record]) -> bool:
    """Whether nothing that a judgement hangs on was written after the release, so that it need not be made again.

    Known only where each facet tells its sequence; one that was not sent yet tells none.
    """
    items = [seen.survey.by_id[each] for each in seen.facts["bars"] if each in seen.survey.by_id]
    records = [record for _, record in seen.records()] + [*read, *items]
    told = all(set(record["facets"]) <= set(record.get("seqs", {})) for record in records)
    newest = max((seq for record in records for seq in record.get("seqs", {}).values()), default=0)
    return told and newest <= seen.head and len(read) == seen.facts.get("readings")


def _spread(seen: Seen) -> Spread:
    spread = seen.facts.get("spread", {})
    return Spread(int(spread.get("squares_ticks2", 0)), int(spread.get("degrees", 0)))


def _bars(seen: Seen) -> list[CatalogueItemView]:
    """The bars that were released, as the catalogue has them now, offered or not."""
    found: list[CatalogueItemView] = []
    for item_id in dict.fromkeys(seen.facts["bars"]):
        code = seen.released.get(item_id, {}).get("code", "")
        found.append(
            {
                "id": item_id,
                "type": "catalogue_item",
                "parent": NO_PARENT,
                "removed": False,
                "facets": {
                    "identity": {"item": "bar", "code": code},
                    "bar": cast("CatalogueItemBar", seen.item(item_id)),
                },
                "conflicts": [],
            }
        )
    return found


def _newest(records: Iterable[Record]) -> Change:
    """The newest word among records, by the time of its phone."""
    said = [said_by(record, name) for record in records for name in record["facets"]]
    nothing: Change = {}
    return max((each for each in said if "at" in each), key=lambda each: each["at"], default=nothing)


def _never(seen: Seen) -> Iterator[Change]:
    """A conversion of which no facts were frozen: what can be told of it is what it was surely not released with."""
    yield _change("nothing-frozen", LOOK, None, None)
    for name, facet_name, field, values in NEVER:
        now = seen.now(name, facet_name, field)
        if now in values:
            yield _change(f"{name}.{facet_name}.{field}", STOP, None, now, said_by(getattr(seen, name), facet_name))


LOOKED_FOR = (
    _fields, _volts, _moisture, _temperatures, _space, _material, _room_for_bar, _emergency_time, _emergency_positions,
    _position, _decision, _progress, _fit, _items, _conflicts,
)  # fmt: skip

LOOKED_FOR_WITHOUT_FACTS = (_never, _position)

__all__ = ["LOOK", "STOP", "Change", "Seen", "changes_of", "facet_of_item", "plain", "said_by"]
