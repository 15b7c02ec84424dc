"""What the rules of open points look at and what they find. Twin: pwa/rules/points/found.js."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple, TypedDict, TypeVar

from spanwalk.rules.fit.by_lamp import ReadOfKind
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.record_types import GroupView, KindView, LabelView, RoomView
from spanwalk.rules.record_view import Record, Tables
from spanwalk.rules.said import Said
from spanwalk.rules.survey import Survey, facet, has, mark_of

Alike = TypeVar("Alike", KindView, RoomView)


class Found(NamedTuple):
    """One thing that a rule found: the record it is about and what its sentence needs."""

    record: str
    room: RoomView | None
    facts: dict[str, object]


class OpenPoint(TypedDict):
    """An open point: `who` are the roles that can close it, `path` the screen on which they do; see `open_points`."""

    rule: str
    record: str
    room: str | None
    floor: str | None
    who: list[str]
    path: str
    facts: dict[str, object]


PointsBy = Literal["floor", "room", "kind", "who", "person"]
"""By what open points are counted and listed."""


class UnsentDevice(TypedDict):
    """What a device said that it has not sent, and since when."""

    id: str
    person: str
    operations: int
    photos: int
    since: str | None


class FigureNotUsed(TypedDict):
    """A figure that the site set and that cannot stand in the tables; why, as a sentence."""

    record: str
    row: str
    why: str


class NotReady(TypedDict):
    """A group whose plan is not ready to be released, and all that keeps it from being so."""

    group: str
    because: list[Said]


class RoomFacts(TypedDict):
    """A room that something is found of, with the facts of a sentence."""

    room: str
    facts: dict[str, object]


class KindHeld(TypedDict):
    """A kind whose second readings hold it back, with the facts of a sentence: `why` is `lot-refused` or `repeats-spread`."""

    kind: str
    why: str
    facts: dict[str, object]


class Told(NamedTuple):
    """What a rule found already: the record it is about and its room, by their ids."""

    record: str
    room: str | None


@dataclass(frozen=True)
class Seen:
    """What the rules look at.

    Parameters
    ----------
    survey : Survey
        The site's records.
    photos_arrived : frozenset of str or None
        SHA-256 of the photos that are on the server; None where that is not known.
    devices : list of dict
        ``{"id", "person", "operations", "photos", "since"}``: what each device said that it has not sent.
    judgements : mapping of str to dict
        What `judging.judge_group` says of each group to be converted, by the group's id.
    lengths : mapping of str to list of int
        Lengths of all readings that count [1/320 mm], ascending, by kind.
    figures_not_used : list of dict
        ``{"record", "row", "why"}``: figures that the site set and that cannot stand in the tables'; known on the server only.
    tables : mapping
        Reference tables.
    not_ready : list of dict
        Groups whose plan is not ready; known on the server only.
    lights_off : list of dict
        Rooms whose readings of light lie outside what was reckoned; known on the server only.
    looks_mixed : list of dict
        Rooms in which bars of more than one look are proposed; known on the server only.
    kinds_held : list of dict
        Kinds whose second readings hold them back; known on the server only, which knows who read what.
    read : mapping of str to ReadOfKind
        What was read of kinds of which that is at hand already; of the others it is gathered from their groups.
    told : list of Told
        What the rules before this one found; it grows from rule to rule.
    """

    survey: Survey
    photos_arrived: frozenset[str] | None
    devices: list[UnsentDevice]
    judgements: Mapping[str, Judgement]
    lengths: Mapping[str, list[int]]
    figures_not_used: list[FigureNotUsed] = field(default_factory=list)
    tables: Tables = field(default_factory=dict)
    not_ready: Sequence[NotReady] = ()
    lights_off: Sequence[RoomFacts] = ()
    looks_mixed: Sequence[RoomFacts] = ()
    kinds_held: Sequence[KindHeld] = ()
    read: Mapping[str, ReadOfKind] = field(default_factory=dict)
    told: list[Told] = field(default_factory=list)


@dataclass(frozen=True)
class Rule:
    """A rule: its name, who can close what it finds, on which screen, and the function that finds."""

    name: str
    who: tuple[str, ...]
    path: str
    find: Callable[[Seen], Iterator[Found]]


def lengths_by_kind(survey: Survey) -> dict[str, list[int]]:
    """Lengths of all readings that count [1/320 mm], ascending, by kind."""
    found: dict[str, list[int]] = defaultdict(list)
    for group in survey.groups_to_convert():
        kind = facet(group, "identity").get("kind", "")
        found[kind] += [facet(reading, "identity")["length_ticks"] for reading in survey.readings_of(group)]
    return {kind: sorted(lengths) for kind, lengths in found.items()}


def alike(records: list[Alike], field: str) -> Iterator[list[Alike]]:
    """Sets of records with the same text in a field of their identity, in any case."""
    sets: dict[str, list[Alike]] = defaultdict(list)
    for record in records:
        text = str(facet(record, "identity").get(field, "")).strip().lower()
        if text:
            sets[text].append(record)
    return (found for found in sets.values() if len(found) > 1)


def of_group(seen: Seen, group: GroupView, **facts: object) -> Found:
    """What was found of a group, with the mark of its kind."""
    return Found(group["id"], seen.survey.room_of(group), {"kind": mark_of(seen.survey.kind_of(group))} | facts)


def bound_labels(seen: Seen) -> list[LabelView]:
    """Labels that are on a fixture and not voided."""
    labels = seen.survey.of_type("label")
    return [label for label in labels if has(label, "binding") and not has(label, "voided")]


def held_by(survey: Survey, record: Record | None) -> Record | None:
    """The group or kind that a point about a record holds open; None for rooms, questions and the like."""
    at = record
    if record is not None and record["type"] == "label":
        at = survey.by_id.get(facet(record, "binding").get("group", ""))
    if record is not None and record["type"] == "photo":
        at = survey.by_id.get(facet(record, "identity").get("subject", ""))
    while at is not None and at["type"] not in ("group", "kind"):
        at = survey.by_id.get(at["parent"]) if at["parent"] is not None else None
    return at
