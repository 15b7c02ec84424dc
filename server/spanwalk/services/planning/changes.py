"""What plans are made from once some records have changed: only the kinds and rooms that the changes touch are gone through again.

A group's judgement hangs on the readings of its kind, and its plan on what stands in its room; so what is worked out by kind
and by room for a whole site is worked out again for these alone, by the same functions on a survey of them. Whatever is not
known here to touch a few is taken to touch all: no plan is left that ought to be another.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple, TypeVar, cast

from spanwalk.rules.figures import SiteValue
from spanwalk.rules.judging.judged import bars_offered
from spanwalk.rules.points.found import KindHeld
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.planning.fingerprints import Fingerprints
from spanwalk.services.planning.inputs import Inputs, by_kind, by_room, catalogue_of, inputs_of, light_of, money_of

Value = TypeVar("Value")
OF_A_GROUP = ("cavity_reading", "trial_bar")
"""Types of record that stand in a group and say something of its kind."""
OFFERED = ("catalogue_item", "price")
NARROW = ("group", "kind", "room", "floor", "lux_reading", "money", *OF_A_GROUP, *OFFERED)
"""Types of record of which it is known whom a change touches."""


class Changed(NamedTuple):
    """What plans are made from after some changes, and the groups that these may touch; None: any."""

    inputs: Inputs
    touched: Collection[str] | None


def with_changes(
    before: Inputs, changed: Sequence[Record], own: Sequence[SiteValue], kinds_held: Sequence[KindHeld] = ()
) -> Changed:
    """What plans are made from once some records are others.

    Parameters
    ----------
    before : Inputs
        What they were made from.
    changed : sequence of view records
        Records that changed, came or were removed, as they say it themselves.
    own : sequence of SiteValue
        Figures that the site sets now.
    kinds_held : sequence of KindHeld
        Kinds whose second readings hold them back now.
    """
    if not changed and list(own) == list(before.own):
        return Changed(before, ())
    said = {**before.said, **{each["id"]: each for each in changed}}
    if list(own) != list(before.own) or any(each["type"] not in NARROW for each in changed):
        return Changed(inputs_of(said.values(), own, kinds_held), None)
    survey = Survey(said.values())
    places = _Touched(before.survey, survey, changed)
    found = replace(before, said=said, survey=survey, kinds_held=kinds_held)
    if places.kinds or places.rooms:
        found = _gone_through(before, found, places)
    types = {each["type"] for each in changed}
    if places.kinds or places.rooms or "lux_reading" in types:
        found.light = light_of(found)
    if "money" in types or types & set(OFFERED):
        catalogue = catalogue_of(survey) if types & set(OFFERED) else found.catalogue
        found = replace(found, money=money_of(survey), catalogue=catalogue, bars=bars_offered(survey))
        if Fingerprints(before).of_all != Fingerprints(found).of_all:
            return Changed(found, None)
    kinds, rooms = places.kinds | _held_otherwise(before, found), places.rooms | _lit_otherwise(before, found)
    ids = {id for id, (kind, room) in found.places.items() if kind["id"] in kinds or room["id"] in rooms}
    return Changed(found, ids | {partner for id in ids if (partner := found.partners.get(id)) is not None})


def _held_otherwise(before: Inputs, found: Inputs) -> set[str]:
    """Kinds that second readings hold back otherwise than before: a lot goes over many kinds."""
    kinds = {each["kind"] for each in (*before.kinds_held, *found.kinds_held)}
    return {kind for kind in kinds if before.held_of(kind) != found.held_of(kind)}


def _lit_otherwise(before: Inputs, found: Inputs) -> set[str]:
    """Rooms for which readings of light, be they of other rooms, make something else of the estimates than before."""
    if before.light == found.light:
        return set()
    return {room for room in found.today if before.light.of(room) != found.light.of(room)}


class _Touched:
    """Kinds and rooms that changes touch, as they were and as they are."""

    def __init__(self, before: Survey, after: Survey, changed: Iterable[Record]) -> None:
        self.kinds: set[str] = set()
        self.rooms: set[str] = set()
        for each in changed:
            if each["type"] == "kind":
                self.kinds.add(each["id"])
            elif each["type"] == "group" or each["type"] in OF_A_GROUP:
                for survey in (before, after):
                    self._add_group_of(survey, each["id"], with_room=each["type"] == "group")
        rooms, changed_kinds, floors = (
            {each["id"] for each in changed if each["type"] == type_name} for type_name in ("room", "kind", "floor")
        )
        # Rooms have from their floor what they do not say themselves.
        rooms |= {each["id"] for each in after.all if each["type"] == "room" and each["parent"] in floors}
        self.rooms |= rooms
        for survey in (before, after):
            for group in survey.of_type("group"):
                kind, room = _kind_id(group), group["parent"]
                if room in rooms:
                    self.kinds.add(kind)
                if kind in changed_kinds and room is not None:
                    self.rooms.add(room)

    def _add_group_of(self, survey: Survey, id: str, *, with_room: bool) -> None:
        at = survey.by_id.get(id)
        while at is not None and at["type"] != "group":
            at = survey.by_id.get(at["parent"] or "")
        if at is not None:
            self.kinds.add(_kind_id(cast("GroupView", at)))
            if with_room and at["parent"] is not None:
                self.rooms.add(at["parent"])


def _kind_id(group: GroupView) -> str:
    return str(facet(group, "identity").get("kind", ""))


def _gone_through(before: Inputs, found: Inputs, touched: _Touched) -> Inputs:
    """The inputs with what is said by kind and by room of those that are touched."""
    survey, kinds, rooms = found.survey, touched.kinds, touched.rooms
    of_kinds = by_kind(Survey(around(survey, lambda group: _kind_id(group) in kinds), inherits=False))
    there = Survey(around(survey, lambda group: group["parent"] in rooms), inherits=False)
    of_rooms = by_room(there, found.catalogue, found.money, found.tables)
    return replace(
        found,
        to_judge={**_without(before.to_judge, lambda id: _kind_of(before, id) in kinds), **of_kinds.to_judge},
        doubts={**_without(before.doubts, lambda id: _kind_of(before, id) in kinds), **of_kinds.doubts},
        read={**_without(before.read, lambda id: id in kinds), **of_kinds.read},
        places={**_without(before.places, lambda id: before.places[id][1]["id"] in rooms), **of_rooms.places},
        today={**_without(before.today, lambda id: id in rooms), **of_rooms.today},
        partners={**_without(before.partners, lambda id: _room_of(before, id) in rooms), **of_rooms.partners},
        unpaired={**_without(before.unpaired, lambda id: _room_of(before, id) in rooms), **of_rooms.unpaired},
    )


def around(survey: Survey, wanted: Callable[[GroupView], bool]) -> Iterator[Record]:
    """The groups that are wanted with what stands in them and what they stand in, and the site."""
    found: dict[str, Record] = {each["id"]: each for each in (survey.site(), *survey.of_type("floor"))}
    for group in survey.of_type("group"):
        if wanted(group):
            near = (group, survey.kind_of(group), survey.room_of(group), *survey.children(group))
            found |= {each["id"]: each for each in near if each is not None}
    yield from found.values()


def _without(of: Mapping[str, Value], goes: Callable[[str], bool]) -> dict[str, Value]:
    return {id: value for id, value in of.items() if not goes(id)}


def _kind_of(before: Inputs, group_id: str) -> str:
    return _kind_id(cast("GroupView", before.survey.by_id[group_id]))


def _room_of(before: Inputs, group_id: str) -> str | None:
    return before.survey.by_id[group_id]["parent"]


__all__ = ["Changed", "around", "with_changes"]
