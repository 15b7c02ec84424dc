"""What was answered once for a floor or a panel, where a room or a group says nothing itself. Twin: pwa/rules/inherited.js."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypedDict, cast

from spanwalk.rules import constants
from spanwalk.rules.record_view import Facet, Record

ROOM_FROM_FLOOR = (
    *constants.CEILING_FROM_FLOOR,
    *constants.MOISTURE_FROM_FLOOR,
    *constants.WARMTH_FROM_FLOOR,
    *constants.HOURS_FROM_FLOOR,
    *constants.WORK_HOURS_FROM_FLOOR,
)
"""Answers of a floor that hold for its rooms: facet, the field that counts, and the fields that go with it."""
VOLTS_FROM_ABOVE = constants.VOLTS_FROM_ABOVE
PANEL_FROM_FLOOR = constants.PANEL_FROM_FLOOR


class Answer(TypedDict):
    """One inherited answer: in which facet, which field, and the record that it stands on."""

    facet: str
    field: str
    source: str


class Above:
    """What is answered above rooms and groups: by floors, and by panels.

    Parameters
    ----------
    records : iterable of view records
        The site's, in any order; floors and panels are looked at.
    """

    def __init__(self, records: Iterable[Record]) -> None:
        found = sorted(
            (each for each in records if each["type"] in ("floor", "panel") and not each["removed"]),
            key=lambda each: each["id"],
        )
        self.floors: dict[str, Record] = {each["id"]: each for each in found if each["type"] == "floor"}
        self.panels: dict[str, Record] = {}
        for each in found:
            if each["type"] == "panel":
                self.panels.setdefault(same_panel(_facet(each, "identity").get("name")), each)
        self.says_nothing = not self.panels and all(set(each["facets"]) <= {"identity"} for each in found)
        """Nothing is answered above: records are what they say themselves."""

    def room(self, room: Record) -> tuple[Record, list[Answer]]:
        """A room with what its floor answers for it, and which answers those are.

        Only a field of which the room itself says nothing is answered: an exception stands in the room. Whether an area
        is hazardous is never inherited: somebody looks at each room.
        """
        floor = self.floors.get(room["parent"] or "")
        return _filled(room, [(floor, ROOM_FROM_FLOOR)])

    def group(self, group: Record, room: Record | None) -> tuple[Record, list[Answer]]:
        """A group with panel and volts of its floor, and the volts of its panel, which come first."""
        floor = self.floors.get((room["parent"] if room is not None else None) or "")
        named, answers = _filled(group, [(floor, PANEL_FROM_FLOOR)])
        panel = self.panels.get(same_panel(_facet(named, "supply").get("panel")))
        filled, more = _filled(named, [(panel, VOLTS_FROM_ABOVE), (floor, VOLTS_FROM_ABOVE)])
        return filled, answers + more


def same_panel(name: object) -> str:
    """By what two names of panels are compared: any case, no spaces around."""
    return str(name or "").strip().lower()


def _facet(record: Record, name: str) -> Facet:
    return cast("Facet", record["facets"].get(name) or {})


def _is_seen(value: object) -> bool:
    return value is not None and value != constants.NOT_SEEN


def _filled(record: Record, sources: Sequence[tuple[Record | None, Sequence[str]]]) -> tuple[Record, list[Answer]]:
    """The record, each field of which it says nothing taken from the first source that says something."""
    answers: list[Answer] = []
    for source, fields in sources:
        for name, field, *going_with in (each.split(".") for each in fields) if source is not None else ():
            own, theirs = _facet(record, name), _facet(cast("Record", source), name)
            if _is_seen(own.get(field)) or not _is_seen(theirs.get(field)):
                continue
            answers.append({"facet": name, "field": field, "source": cast("Record", source)["id"]})
            kept = {each: value for each, value in own.items() if each != field and each not in going_with}
            taken = {each: theirs[each] for each in (field, *going_with) if each in theirs}
            record = _with(record, name, kept | taken, None if own else cast("Record", source))
    return record, answers


def _with(record: Record, name: str, value: Mapping[str, object], said: Record | None) -> Record:
    """The record with another value of a facet; `said`: whose word it is, where the record had none."""
    found = cast("Record", {**record, "facets": {**record["facets"], name: value}})
    if said is not None and "by" in record and "by" in said:
        found["by"] = {**record["by"], name: said["by"].get(name, "")}
    if said is not None and "at" in record and "at" in said:
        found["at"] = {**record["at"], name: said["at"].get(name, "")}
    return found
