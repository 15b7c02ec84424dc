"""A conversion beside what the records say now, and one thing that is otherwise. Twin: pwa/rules/since_release/seen.js."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypedDict, TypeVar

from spanwalk.rules import constants
from spanwalk.rules.record_types import CatalogueItemView, GroupView, KindView, RoomView, SiteView
from spanwalk.rules.record_view import Facet, Record, Row, Tables
from spanwalk.rules.survey import Survey, facet

T = TypeVar("T")
STOP, LOOK = constants.STOP, constants.LOOK
NOT_SAID: tuple[object, ...] = (None, "", "not-seen", "not-said", "as-the-kind", [])
"""What stands where nobody said anything."""
PARTS = ("bars", "drivers", "packs", "others")
ITEM_FACETS = ("bar", "driver", "accessory")
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
        What the release froze: see `arrangements.card.frozen_facts`.
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


def plain(value: object) -> object:
    """A value; None where it says that nothing was seen or said."""
    return None if value in NOT_SAID else value


def facet_of_item(item: CatalogueItemView | Facet) -> str | None:
    """Which facet says what an item is: `bar`, `driver` or `accessory`."""
    return next((name for name in ITEM_FACETS if item.get("facets", item).get(name)), None)


def item_facet(released: Facet) -> Facet:
    """The facet of an item as a release froze it."""
    return next((released[name] for name in ITEM_FACETS if name in released), {})


def said_by(record: Record, facet_name: str) -> Change:
    """Whose word a facet is, and when, as far as it is known."""
    found: Change = {}
    by, at = record.get("by", {}).get(facet_name), record.get("at", {}).get(facet_name)
    if by:
        found["by"] = by
    if at:
        found["at"] = at
    return found


def change(fact: str, weight: str, before: object, now: object, said: Change | None = None, about: str = "") -> Change:
    """One change; what is empty of whom and what it is about is left out."""
    found: Change = {"fact": fact, "weight": weight, "before": before, "now": now}
    if about:
        found["about"] = about
    return {**found, **(said or {})}


def first(*values: T) -> T | None:
    """The first of some values that says anything; None where none does."""
    return next((value for value in values if value is not None), None)
