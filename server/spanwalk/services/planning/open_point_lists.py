"""Open points of a site in groups and pages: a large site has more than a screen can hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict

from sqlalchemy.orm import Session

from spanwalk.rules.points.found import OpenPoint, PointsBy
from spanwalk.services.planning.completeness import judged_site
from spanwalk.services.planning.persons_of_points import names_of, persons_of, persons_of_all

POINTS_OF_A_PAGE = 50
NONE = "none"
"""Of no floor, room or kind: what the site as a whole has open; of nobody yet."""


class PointsIn(TypedDict):
    """A floor, room, kind, role or person with how many points are open there; its name, where it has one."""

    id: str
    name: str
    points: int


class Counted(TypedDict):
    """Where points are open, in the order of the walk; of points that several roles can close, each role counts.

    `person`: what who was asked for is called; empty where nobody was.
    """

    head: int
    by: PointsBy
    points: int
    person: str
    groups: list[PointsIn]


class PointsPage(TypedDict):
    """A page of open points, how many there are, and where the next page starts; None after the last.

    `persons`: who has each of them, by name; an empty text where nobody has it yet.
    """

    head: int
    found: int
    points: list[OpenPoint]
    persons: list[str]
    next: int | None


@dataclass(frozen=True)
class Shown:
    """Which open points are wanted.

    Parameters
    ----------
    role : str or None
        Only those that this role can close.
    person : str or None
        Only those that this person has, by id; `none`: those that nobody has yet.
    """

    role: str | None = None
    person: str | None = None


def points_by(session: Session, site_id: str, by: PointsBy, shown: Shown) -> Counted:
    """Open points counted by floor, room, kind, who can close them or who has them.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    by : str
        What they are counted by.
    shown : Shown
        Which of them.
    """
    judged = judged_site(session, site_id)
    points, found = _shown(session, site_id, judged.points, by, shown), dict[str, int]()
    for point, person in points:
        for value in _values(point, by, person):
            found[value] = found.get(value, 0) + 1
    names = names_of(session, found) if by == "person" else judged.names
    groups: list[PointsIn] = [{"id": id, "name": names.get(id, id), "points": n} for id, n in found.items()]
    if by == "kind":
        groups.sort(key=lambda each: (each["id"] == NONE, each["id"]))
    if by == "person":
        groups.sort(key=lambda each: (each["id"] == NONE, each["name"]))
    asked = names_of(session, [shown.person]) if shown.person else {}
    person = "".join(asked.values())
    return {"head": judged.head, "by": by, "points": len(points), "person": person, "groups": groups}


def points_of(session: Session, site_id: str, by: PointsBy, value: str, shown: Shown, start: int) -> PointsPage:
    """A page of the open points of one floor, room, kind, role or person, in the order of the walk.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    by, value : str
        Which points: see `PointsIn`.
    shown : Shown
        Which of them.
    start : int
        How many points are passed over.
    """
    judged = judged_site(session, site_id)
    of_all = _shown(session, site_id, judged.points, by, shown)
    points = [(point, person) for point, person in of_all if value in _values(point, by, person)]
    end = start + POINTS_OF_A_PAGE
    page = points[start:end]
    return {
        "head": judged.head,
        "found": len(points),
        "points": [point for point, _ in page],
        "persons": _persons(session, site_id, page),
        "next": end if end < len(points) else None,
    }


def _persons(session: Session, site_id: str, page: Sequence[tuple[OpenPoint, str]]) -> list[str]:
    """What who has each point of a page is called."""
    persons = persons_of(session, site_id, [point for point, _ in page])
    names = names_of(session, persons)
    return [names.get(each, "") for each in persons]


def _shown(
    session: Session, site_id: str, points: Sequence[OpenPoint], by: PointsBy, shown: Shown
) -> list[tuple[OpenPoint, str]]:
    """The points wanted, each with who has it where that is asked for."""
    persons: Sequence[str] = [NONE] * len(points)
    if by == "person" or shown.person is not None:
        persons = persons_of_all(session, site_id, points)
    return [
        (point, person)
        for point, person in zip(points, persons, strict=True)
        if (shown.role is None or shown.role in point["who"]) and shown.person in (None, person)
    ]


def _values(point: OpenPoint, by: PointsBy, person: str) -> list[str]:
    if by == "who":
        return point["who"]
    if by == "person":
        return [person]
    value = point["facts"].get("kind") if by == "kind" else point[by]
    return [str(value) if value else NONE]


__all__ = ["POINTS_OF_A_PAGE", "Counted", "PointsIn", "PointsPage", "Shown", "points_by", "points_of"]
