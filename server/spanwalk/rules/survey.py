"""What the records of a site say, looked up by id, parent and type. Twin: pwa/rules/survey.js."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from copy import copy
from itertools import count, islice
from typing import cast

from spanwalk.rules import constants
from spanwalk.rules.inherited import Above, Answer
from spanwalk.rules.record_types import (
    CavityReadingView,
    Children,
    ConversionView,
    FloorView,
    GroupView,
    KindView,
    OfType,
    RoomView,
    SiteView,
    TrialBarView,
)
from spanwalk.rules.record_types import facet as facet
from spanwalk.rules.record_view import Record

NOT_SEEN = constants.NOT_SEEN
NOTHING_TO_CONVERT = constants.NOTHING_TO_CONVERT
STAYS = constants.STAYS
"""Types of record that stay where what they stand in is removed: they tell of work that was released, done or found."""
LAST = constants.LAST_PLACE
"""Order of what has no place in the walk: after everything that has one."""


class Survey:
    """The view records of one site, indexed.

    Parameters
    ----------
    records : iterable of view records
        All records of the site, removed ones too, in any order.
    inherits : bool
        Whether rooms and groups say what was answered for their floor or panel where they say nothing themselves.
        False for who goes on to write records: what is inherited is nobody's word of a room.
    """

    def __init__(self, records: Iterable[Record], *, inherits: bool = True) -> None:
        self.all: list[Record] = sorted(records, key=lambda record: record["id"])
        self.by_id: dict[str, Record] = {record["id"]: record for record in self.all}
        self.inherited: dict[str, list[Answer]] = {}
        """Record id -> the answers that it has from its floor or panel."""
        if inherits:
            self._inherit()
        self._children: dict[str, list[Record]] = defaultdict(list)
        self._of_type: dict[str, list[Record]] = defaultdict(list)
        self._to_convert: list[GroupView] | None = None
        self._readings: dict[str, list[CavityReadingView]] = {}
        is_live: dict[str, bool] = {}
        for record in self.all:
            if record["parent"] is not None:
                self._children[record["parent"]].append(record)
            if self._lives(record, is_live):
                self._of_type[record["type"]].append(record)

    def _inherit(self) -> None:
        above = Above(self.all)
        if above.says_nothing:
            return
        for place, record in enumerate(self.all):
            if record["type"] == "room":
                filled, answers = above.room(record)
            elif record["type"] == "group":
                filled, answers = above.group(record, self.by_id.get(record["parent"] or ""))
            else:
                continue
            if answers:
                self.all[place] = self.by_id[record["id"]] = filled
                self.inherited[record["id"]] = answers

    def with_facets(self, changed: Mapping[str, Record]) -> Survey:
        """The same survey in which some records say something else; none of them has come, gone or moved.

        Parameters
        ----------
        changed : mapping
            Record id -> the record as it is then; what it has from above is in it.
        """
        found = copy(self)
        found.all = [changed.get(record["id"], record) for record in self.all]
        found.by_id = {record["id"]: record for record in found.all}
        found._children, found._of_type = self._children.copy(), self._of_type.copy()
        for parent in {record["parent"] for record in changed.values() if record["parent"] is not None}:
            found._children[parent] = [changed.get(each["id"], each) for each in self._children[parent]]
        for type_name in {record["type"] for record in changed.values()}:
            found._of_type[type_name] = [changed.get(each["id"], each) for each in self._of_type[type_name]]
        return found

    def is_live(self, record: Record) -> bool:
        """Whether neither the record nor anything that it stands in has been removed."""
        at: Record | None = record
        while at is not None:
            if at["removed"]:
                return False
            at = self.by_id.get(at["parent"]) if at["parent"] is not None else None
        return True

    def _lives(self, record: Record, known: dict[str, bool]) -> bool:
        """The same, each record asked once: a large site asks for its floors and rooms thousands of times."""
        if record["id"] not in known:
            above = self.by_id.get(record["parent"]) if record["parent"] is not None else None
            known[record["id"]] = not record["removed"] and (above is None or self._lives(above, known))
        return known[record["id"]]

    @property
    def of_type(self) -> OfType:
        """Live records of a type, by id."""
        return cast("OfType", self._live)

    @property
    def children(self) -> Children:
        """Records whose parent it is and that are not removed themselves, by id."""
        return cast("Children", self._under)

    def _live(self, type_name: str) -> list[Record]:
        return self._of_type[type_name]

    def _under(self, record: Record, type_name: str | None = None) -> list[Record]:
        found = [child for child in self._children[record["id"]] if not child["removed"]]
        return found if type_name is None else [child for child in found if child["type"] == type_name]

    def orphans(self, record: Record) -> list[Record]:
        """What still lives below a record that was removed, and does not stay there as a record of work."""
        return [child for child in self._under(record) if child["type"] not in STAYS] if record["removed"] else []

    def every_child(self, record: Record) -> list[Record]:
        """Records whose parent it is, removed ones too, by id."""
        return self._children[record["id"]]

    def site(self) -> SiteView:
        """The site's own record; an empty one where it has not come yet."""
        sites = self.of_type("site")
        return (
            sites[0]
            if sites
            else {"id": "", "type": "site", "parent": None, "removed": False, "facets": {}, "conflicts": []}
        )

    def kind_of(self, group: GroupView) -> KindView | None:
        """The kind of a group, where it is known."""
        return cast("KindView | None", self.by_id.get(facet(group, "identity").get("kind", "")))

    def room_of(self, record: Record) -> RoomView | None:
        """The room in which a record stands, itself if it is one."""
        at: Record | None = record
        while at is not None and at["type"] != "room":
            at = self.by_id.get(at["parent"]) if at["parent"] is not None else None
        return cast("RoomView | None", at)

    def floor_of(self, record: Record) -> FloorView | None:
        """The floor on which a record stands, itself if it is one."""
        at: Record | None = record
        while at is not None and at["type"] != "floor":
            at = self.by_id.get(at["parent"]) if at["parent"] is not None else None
        return cast("FloorView | None", at)

    def readings_of(self, group: GroupView) -> list[CavityReadingView]:
        """Readings of a group that count: neither removed, voided nor set aside."""
        if group["id"] not in self._readings:
            readings = self.children(group, "cavity_reading")
            counting = [each for each in readings if not (has(each, "voided") or has(each, "set_aside"))]
            self._readings[group["id"]] = counting
        return self._readings[group["id"]]

    def trials_of(self, group: GroupView) -> list[TrialBarView]:
        """Trial bars of a group that were not voided."""
        return [each for each in self.children(group, "trial_bar") if not has(each, "voided")]

    def groups_to_convert(self) -> list[GroupView]:
        """Live groups whose conversion is of concern.

        Left out are rooms in which there is nothing to convert, bodies with LEDs of their own or with
        nothing in them, and groups that the manager leaves as they are.
        """
        if self._to_convert is None:
            self._to_convert = [group for group in self.of_type("group") if self._is_to_convert(group)]
        return self._to_convert

    def _is_to_convert(self, group: GroupView) -> bool:
        room, kind = self.room_of(group), self.kind_of(group)
        done = room is not None and progress_of(room) == "nothing-to-convert"
        fitted = facet(kind, "lamps").get("fitted") if kind is not None else None
        left = facet(group, "decision").get("decision") == "leave-as-is"
        return not (done or left or fitted in NOTHING_TO_CONVERT)


def has(record: Record, name: str) -> bool:
    """Whether a facet says anything; one that was undone is there, and empty."""
    return bool(facet(record, name))


def is_seen(value: object) -> bool:
    """Whether a field was entered and is not 'not-seen'."""
    return value is not None and value != NOT_SEEN


def progress_of(room: RoomView) -> str:
    """A room's progress; 'open' where nobody said."""
    return str(facet(room, "progress").get("progress", "open"))


def name_of_room(room: RoomView | None) -> str:
    """Number and name of a room, as people say them."""
    identity = facet(room, "identity")
    return " ".join(str(identity[key]) for key in ("number", "name") if identity.get(key)) or "a room without a name"


def lamp_name(diameter: str, nominal_ft: str) -> str:
    """What a lamp is called, from the codes of its diameter and nominal length.

    >>> lamp_name("T8", "1.5-ft")
    'T8 1.5 ft'
    """
    return f"{diameter} {nominal_ft}".replace("-", " ")


def mark_of(kind: KindView | None) -> str:
    """The mark of a kind."""
    return str(facet(kind, "identity").get("mark", "?"))


def fixtures_of(group: GroupView) -> int:
    """Fixtures in a group; 0 where nobody counted."""
    return int(facet(group, "count").get("count", 0))


def lamps_each(kind: KindView | None) -> int:
    """Lamps in one fixture of a kind: rows times lamps end to end, one where nobody said; 0 where its rows were not seen.

    >>> lamps_each({"facets": {"lamps": {"rows": 4, "lamps_end_to_end": 2}}}), lamps_each({"facets": {}})
    (8, 0)
    """
    lamps = facet(kind, "lamps")
    return int(lamps.get("rows", 0)) * int(lamps.get("lamps_end_to_end", 1))


def positions_of(group: GroupView) -> list[int]:
    """The positions of a group's fixtures: counted from 1, those that are gone left out, as many as were counted.

    Examples
    --------
    >>> positions_of({"facets": {"count": {"count": 3, "gone": [2, 9]}}})
    [1, 3, 4]
    """
    gone = set(facet(group, "count").get("gone", []))
    left = (position for position in count(1) if position not in gone)
    return list(islice(left, fixtures_of(group)))


def is_position(group: GroupView, position: int) -> bool:
    """Whether a group has a fixture at a position, without listing them all.

    Positions gone are never used again, so numbers go beyond the count by as many as are gone below them.
    """
    gone = set(facet(group, "count").get("gone", []))
    below = sum(each < position for each in gone)
    return position >= 1 and position not in gone and position - below <= fixtures_of(group)


def newest_conversions(survey: Survey) -> dict[str, ConversionView]:
    """The conversion of the newest release for each group that has one, by group id."""
    newest: dict[str, ConversionView] = {}
    for record in sorted(survey.of_type("conversion"), key=lambda each: facet(each, "identity").get("number", 0)):
        newest[record["parent"]] = record
    return newest


def floor_order(floor: FloorView | None) -> int:
    """Place of a floor among floors; unplaced ones come last."""
    return int(facet(floor, "identity").get("order", LAST))


def walk_order(room: RoomView | None) -> int:
    """Place of a room in the walk; unplaced ones come last."""
    return int(facet(room, "walk").get("order", LAST))
