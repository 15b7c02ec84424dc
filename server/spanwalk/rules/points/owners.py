"""Of what an open point is: of the site as a whole, a room, a kind or a group; so that those of a part are found anew alone.

The points of an owner hang on its own records and on what is worked out of the whole site by kind and by room; points of the
site hang on records of many owners (marks and numbers that must differ, labels, photos, what phones hold).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal, NamedTuple, cast

from spanwalk.rules.points.found import OpenPoint, Told, held_by
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey

Sort = Literal["site", "room", "kind", "group"]
OF_THE_SITE = frozenset(
    (
        "duplicate-room-number",
        "duplicate-kind-mark",
        "code-on-two-fixtures",
        "two-codes-on-a-fixture",
        "photo-not-arrived",
        "unsent-work",
        "figure-not-used",
        "question-open",
        "picked-short",
        "light-disagrees",
        "mixed-looks",
    )
)
"""Rules that look at the whole site together: at records that are few beside groups and readings, or at all plans."""
OF_A_ROOM = frozenset(
    (
        "room-not-visited",
        "no-access",
        "room-open",
        "room-empty",
        "groups-do-not-differ",
    )
)
"""Rules that look at a room and the groups in it."""
OF_A_KIND = frozenset(
    (
        "lamps-not-seen",
        "lamp-watts-not-seen",
        "no-ballast-space",
        "feeds-not-seen",
        "lot-refused",
        "repeats-spread",
    )
)
"""Rules that look at a kind and at all its groups."""
OF_A_RECORD = frozenset(("conflict", "removed-with-children"))
"""Rules that look at one record of whatever type and at what stands in it: of its group, of the room that it is, else of the site."""


class Owner(NamedTuple):
    """Of what a point is; `told` is the group, kind or room of which it tells others that something is open: see `planned`."""

    sort: Sort
    id: str
    told: str | None


class Part(NamedTuple):
    """Some owners of which the points are found, and what is told already of the others."""

    has: Callable[[Owner], bool]
    told: Sequence[Told]


def owner_of(survey: Survey, point: OpenPoint) -> Owner:
    """Of what a point is.

    Parameters
    ----------
    survey : Survey
        Records of the site, among them those that it is about.
    point : mapping
        The point.
    """
    record = survey.by_id.get(point["record"])
    held, rule = held_by(survey, record), point["rule"]
    told = point["room"] if held is None else held["id"]
    if rule in OF_A_ROOM:
        return Owner("room", point["room"] or "", told)
    if rule in OF_A_KIND:
        return Owner("kind", point["record"], told)
    if rule in OF_A_RECORD and record is not None and record["type"] == "room":
        return Owner("room", record["id"], told)
    group = None if rule in OF_THE_SITE else group_of(survey, record)
    return Owner("site", "", told) if group is None else Owner("group", group["id"], told)


def group_of(survey: Survey, record: Record | None) -> GroupView | None:
    """The group in which a record stands, itself if it is one."""
    at = record
    while at is not None and at["type"] != "group":
        at = survey.by_id.get(at["parent"]) if at["parent"] is not None else None
    return cast("GroupView | None", at)


__all__ = ["OF_A_KIND", "OF_A_RECORD", "OF_A_ROOM", "OF_THE_SITE", "Owner", "Part", "group_of", "owner_of"]
