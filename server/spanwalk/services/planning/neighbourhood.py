"""The part of a site that some changes touch: which groups, kinds and rooms, and their records alone, read from the database.

A group's points hang on its own records and on what its kind and its room come to. So of a change the group is looked at; all
groups of its kind where the kind is now told something else of it; and all of its room where the group itself, not only a
reading in it, is another, or gives other light (see `points_again`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.records import spec
from spanwalk.rules.record_types import GroupView, KindView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, facet, has
from spanwalk.services.planning.ground import Ground, given, kind_id
from spanwalk.services.planning.inputs import is_leading
from spanwalk.services.sync.state import records_by, site_records
from spanwalk.services.walk.remeasuring import READING, said_by

ORDERED = ("installation", "problem_answer", "problem_reply", "difference_answer", "picking")
"""Types that are only added to: of several records the one that the server took last counts."""
OF_ALL = (
    "site",
    "panel",
    "figure",
    "own_row",
    "release",
    "release_sums",
)
"""Types of record of which a change may touch every group."""
MOST_CHANGED = 500
"""So many changed records are taken one by one."""
SHARE = 3
FEW_GROUPS = 1_000
"""A part of more than a third of a site's groups is no part worth looking for; but so many are always few."""


class TooWide(Exception):
    """Changes touch so much of a site that all of it is as soon looked at."""


@dataclass
class Scope:
    """What changes touch: ids of groups, of kinds of which all groups are looked at, and of such rooms."""

    groups: set[str] = field(default_factory=set)
    kinds: set[str] = field(default_factory=set)
    rooms: set[str] = field(default_factory=set)

    def add(self, kinds: Iterable[str] = (), rooms: Iterable[str] = ()) -> None:
        """Take in kinds and rooms."""
        self.kinds.update(kinds)
        self.rooms.update(rooms)

    @property
    def size(self) -> tuple[int, int, int]:
        """How much there is, by which it is seen whether it has grown."""
        return len(self.groups), len(self.kinds), len(self.rooms)


@cache
def within_groups() -> tuple[str, ...]:
    """Types of record that stand in a group, or in something that does."""
    types = spec().types

    def stands_in_a_group(name: str | None) -> bool:
        parent = None if name is None else types[name].parent
        return parent is not None and (parent == "group" or stands_in_a_group(parent))

    return tuple(name for name in types if stands_in_a_group(name))


class Neighbourhood:
    """The records of a part of a site, read as they are asked for.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    ground : Ground
        What its points rested on.
    changed : sequence of view records
        What changed, came or was removed since.

    Raises
    ------
    TooWide
        Where that may touch every group.
    """

    def __init__(self, session: Session, site_id: str, ground: Ground, changed: Sequence[Record]) -> None:
        if len(changed) > MOST_CHANGED or any(each["type"] in OF_ALL for each in changed):
            raise TooWide
        self._session, self._site, self._ground = session, site_id, ground
        below = ("group", *within_groups())
        plain = [name for name in spec().types if name not in (*below, *ORDERED)]
        above = [name for name in ORDERED if name not in below]
        self._records: dict[str, Record] = {}
        self._take(site_records(session, site_id, types=plain))
        self._take(site_records(session, site_id, types=above, who=True))
        self._whole: set[str] = set()
        self._said_by: dict[str, list[Record]] = {}
        self.scope = Scope()
        self.survey = Survey(self._records.values())
        self._rooms_read = self.rooms_read()
        self._begin(changed)

    def _begin(self, changed: Sequence[Record]) -> None:
        """What the changed records themselves touch, before it is known what of it is told to others."""
        scope, ground = self.scope, self._ground
        self._read_ancestors([each for each in changed if each["type"] in within_groups()])
        for each in changed:
            if each["type"] == "room":
                scope.add(rooms=(each["id"],))
            elif each["type"] == "floor":
                # Rooms have from it what they do not say themselves.
                rooms = (room for room in self._records.values() if room["type"] == "room")
                scope.add(rooms=(room["id"] for room in rooms if room["parent"] == each["id"]))
            elif each["type"] == "lux_reading":
                scope.add(rooms=(each["parent"] or "", ground.all.lux_rooms.get(each["id"], "")))
            elif each["type"] == "kind":
                scope.add((each["id"],))
                if is_leading(cast("KindView", self._records[each["id"]])) or each["id"] in ground.all.leading:
                    scope.add(rooms=(ground.groups[id].room for id in ground.of_kind.get(each["id"], ())))
            elif each["type"] == "group":
                scope.groups.add(each["id"])
                old = ground.groups.get(each["id"])
                scope.add(rooms=[each["parent"] or "", *([] if old is None else [old.room])])
            elif each["type"] in within_groups():
                scope.groups.update(self._groups_with(each))
            else:
                self._begin_with_other(each)
        scope.groups.discard("")
        scope.rooms.discard("")

    def _begin_with_other(self, changed: Record) -> None:
        """What stands neither in a group nor is a kind or a room: of the site, or in a room, which may be a removed one."""
        if changed["type"] == "label":
            self.scope.groups.add(str(facet(changed, "binding").get("group", "")))
        parent = self._records.get(changed["parent"] or "")
        if parent is not None and parent["type"] == "room":
            self.scope.add(rooms=(parent["id"],))

    def _groups_with(self, record: Record) -> set[str]:
        """The group in which a record stands, and those in which it may have stood."""
        at: Record | None = record
        while at is not None and at["type"] != "group":
            parent = at["parent"] or ""
            if parent in self._ground.groups:
                return {parent, *self._ground.with_record(record["id"])}
            at = self._records.get(parent)
        return {*([] if at is None else [at["id"]]), *self._ground.with_record(record["id"])}

    def has_grown(self, kinds: Iterable[str], rooms: Iterable[str]) -> bool:
        """Take in kinds and rooms; whether any was not there before."""
        size = self.scope.size
        self.scope.add(kinds, rooms)
        return self.scope.size != size

    def rooms_read(self) -> set[str]:
        """Rooms in which light was read."""
        return {each["parent"] or "" for each in self.survey.of_type("lux_reading")}

    def grow(self) -> None:
        """Take in all that is touched, until nothing is added; its records are then in `survey`."""
        size = None
        while size != self.scope.size:
            size = self.scope.size
            self._add_of_rooms_and_kinds()
            if len(self.scope.groups) > max(FEW_GROUPS, len(self._ground.groups) // SHARE):
                raise TooWide
            self._read_whole(self.scope.groups)
            self.survey = Survey(self._records.values())
            to_convert = {each["id"] for each in self.survey.groups_to_convert()}
            for id in self.scope.groups:
                self._add_what_is_told_of(id, is_to_convert=id in to_convert)

    def _add_of_rooms_and_kinds(self) -> None:
        ground, scope = self._ground, self.scope
        for kind in scope.kinds:
            scope.groups.update(ground.of_kind.get(kind, ()))
        for room in scope.rooms:
            scope.groups.update(ground.in_room.get(room, ()))

    def _add_what_is_told_of(self, id: str, *, is_to_convert: bool) -> None:
        """The kind of a group that is now told something else of it; and its room, where bodies feed their neighbours."""
        group, old = self._records.get(id), self._ground.groups.get(id)
        if group is None:
            return
        # As it is with what it has from above.
        group = self.survey.by_id[id]
        told = given(self.survey, cast("GroupView", group), is_to_convert=is_to_convert)
        if old is None or (old.kind, old.given) != (kind_id(group), told):
            self.scope.add([kind_id(group), *([] if old is None else [old.kind])])
        elif is_to_convert and kind_id(group) not in self._ground.kinds:
            self.scope.add([kind_id(group)])
        if (group["parent"] or "") in self._rooms_read:
            # What was read is held against the light of all its groups.
            self.scope.add(rooms=[group["parent"] or ""])
        kind = self._records.get(kind_id(group))
        if kind is not None and is_leading(cast("KindView", kind)):
            self.scope.add(rooms=[group["parent"] or ""])

    def read_subjects(self, photos_arrived: Iterable[str]) -> None:
        """Read what photos, questions and labels of which something is open are of, as far as it is not read yet."""
        arrived = frozenset(photos_arrived)
        found = set(_subjects(self.survey, arrived)) - self._records.keys()
        if found:
            read = records_by(self._session, self._site, "id", found, ORDERED)
            self._take(read)
            self._read_ancestors(read)
            self.survey = Survey(self._records.values())

    def read_again(self) -> Survey:
        """The same with the readings of the groups that are looked at saying whose word they are."""
        unread = self.scope.groups - self._said_by.keys()
        self._said_by.update((id, []) for id in unread)
        for each in records_by(self._session, self._site, "parent", unread, (READING,)) if unread else ():
            if each["type"] == READING:
                self._said_by[each["parent"] or ""].append(each)
        return said_by(self._records.values(), [each for some in self._said_by.values() for each in some])

    def _take(self, records: Iterable[Record]) -> None:
        self._records.update((each["id"], each) for each in records)

    def _read_whole(self, groups: Iterable[str]) -> None:
        """Groups with all that stands in them."""
        wanted = set(groups) - self._whole
        self._whole |= wanted
        self._take(records_by(self._session, self._site, "id", wanted) if wanted else ())
        while wanted:
            read = records_by(self._session, self._site, "parent", wanted, ORDERED)
            self._take(read)
            wanted = {each["id"] for each in read}

    def _read_ancestors(self, records: Iterable[Record]) -> None:
        """What records stand in, up to what is read already."""
        self._take(records)
        wanted = {each["parent"] for each in records if each["parent"] is not None} - self._records.keys()
        while wanted:
            read = records_by(self._session, self._site, "id", wanted, ORDERED)
            self._take(read)
            wanted = {each["parent"] for each in read if each["parent"] is not None} - self._records.keys()


def _subjects(survey: Survey, arrived: frozenset[str]) -> Iterable[str]:
    """Ids that photos, questions and labels of which something may be open name."""
    places: dict[tuple[str, int], int] = {}
    for label in survey.of_type("label"):
        if not has(label, "voided"):
            places[_place_of(label)] = places.get(_place_of(label), 0) + 1
    for record in survey.all:
        said = facet(record, "identity")
        is_open = bool(record["conflicts"])
        if record["type"] == "photo":
            is_open |= said.get("sha256") not in arrived
        elif record["type"] == "question":
            is_open |= not has(record, "answer")
        elif record["type"] == "label":
            is_open |= places.get(_place_of(record), 0) > 1
        else:
            continue
        if is_open:
            yield _place_of(record)[0] if record["type"] == "label" else str(said.get("subject", ""))


def _place_of(label: Record) -> tuple[str, int]:
    """Group and position of the fixture that a label is on."""
    binding = facet(label, "binding")
    return str(binding.get("group", "")), int(binding.get("position", 0))


__all__ = ["OF_ALL", "ORDERED", "Neighbourhood", "Scope", "TooWide", "within_groups"]
