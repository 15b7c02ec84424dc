"""Open points of a site in groups and pages: a large site has more than a screen can hold."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypedDict

from sqlalchemy.orm import Session

from spanwalk.rules.points.found import OpenPoint, PointsBy
from spanwalk.services.planning.completeness import judged_site

POINTS_OF_A_PAGE = 50
NONE = "none"
"""Of no floor, room or kind: what the site as a whole has open."""


class PointsIn(TypedDict):
    """A floor, room, kind or role with how many points are open there; its name, where it has one."""

    id: str
    name: str
    points: int


class Counted(TypedDict):
    """Where points are open, in the order of the walk; of points that several roles can close, each role counts."""

    head: int
    points: int
    groups: list[PointsIn]


class PointsPage(TypedDict):
    """A page of open points, how many there are, and where the next page starts; None after the last."""

    head: int
    found: int
    points: list[OpenPoint]
    next: int | None


def points_by(session: Session, site_id: str, by: PointsBy, role: str | None) -> Counted:
    """Open points counted by floor, room, kind or who can close them.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    by : str
        What they are counted by.
    role : str or None
        Only those that this role can close.
    """
    judged = judged_site(session, site_id)
    points, found = list(_for(judged.points, role)), dict[str, int]()
    for point in points:
        for value in _values(point, by):
            found[value] = found.get(value, 0) + 1
    groups: list[PointsIn] = [{"id": id, "name": judged.names.get(id, id), "points": n} for id, n in found.items()]
    if by == "kind":
        groups.sort(key=lambda each: (each["id"] == NONE, each["id"]))
    return {"head": judged.head, "points": len(points), "groups": groups}


def points_of(session: Session, site_id: str, by: PointsBy, value: str, role: str | None, start: int) -> PointsPage:
    """A page of the open points of one floor, room, kind or role, in the order of the walk.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    by, value : str
        Which points: see `PointsIn`.
    role : str or None
        Only those that this role can close.
    start : int
        How many points are passed over.
    """
    judged = judged_site(session, site_id)
    points = [point for point in _for(judged.points, role) if value in _values(point, by)]
    end = start + POINTS_OF_A_PAGE
    return {
        "head": judged.head,
        "found": len(points),
        "points": points[start:end],
        "next": end if end < len(points) else None,
    }


def _for(points: Iterable[OpenPoint], role: str | None) -> Iterator[OpenPoint]:
    return (point for point in points if role is None or role in point["who"])


def _values(point: OpenPoint, by: PointsBy) -> list[str]:
    if by == "who":
        return point["who"]
    value = point["facts"].get("kind") if by == "kind" else point[by]
    return [str(value) if value else NONE]


__all__ = ["POINTS_OF_A_PAGE", "Counted", "PointsIn", "PointsPage", "points_by", "points_of"]
