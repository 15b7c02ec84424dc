"""Who has an open point: whose phone it is, or who its room is assigned to, else who noted last what it is about, or the room.

Only somebody who is on the site and whose role can close the point has it; else nobody has it yet.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.rules.points.found import OpenPoint
from spanwalk.services.people.members import memberships
from spanwalk.services.sync.state import site_head
from spanwalk.storage import json_text
from spanwalk.storage.tables import Person, Record

NOBODY = "none"
READINGS = ("cavity_reading", "trial_bar")
"""Types whose newest word on a group says who was there last."""
GIVEN_BACK = "given-back"
AT_ONCE = 500
"""Records asked for in one question to the database."""
KEPT_SITES = 8


@dataclass(frozen=True)
class _Kept:
    """Who had which points, of which people, at which sequence of the site: an assignment moves no point, but who has it."""

    points: Sequence[OpenPoint]
    members: Mapping[str, str]
    head: int
    persons: list[str]

    def holds(self, points: Sequence[OpenPoint], members: Mapping[str, str], head: int) -> bool:
        return self.points is points and self.members == members and self.head == head


_kept: OrderedDict[str, _Kept] = OrderedDict()


def persons_of_all(session: Session, site_id: str, points: Sequence[OpenPoint]) -> list[str]:
    """As `persons_of`, of all open points of a site; kept until something of the site or its people changes."""
    members, head = memberships(session, site_id), site_head(session, site_id)
    kept = _kept.pop(site_id, None)
    if kept is None or not kept.holds(points, members, head):
        kept = _Kept(points, members, head, persons_of(session, site_id, points))
    _kept[site_id] = kept
    while len(_kept) > KEPT_SITES:
        _kept.popitem(last=False)
    return kept.persons


def persons_of(session: Session, site_id: str, points: Sequence[OpenPoint]) -> list[str]:
    """The person who has each of some open points, by id; `none` where nobody has it yet.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    points : sequence of OpenPoint
        Some of its open points.
    """
    roles = memberships(session, site_id)
    assigned = _assigned(session, site_id)
    wanted = {point["record"] for point in points} | {point["room"] or "" for point in points}
    last = _last_words(session, site_id, wanted)
    by_name = {name: id for id, name in names_of(session, roles).items()}

    def has(point: OpenPoint) -> str:
        room = point["room"] or ""
        named = by_name.get(str(point["facts"].get("person", "")))
        candidates = (named, assigned.get(room), last.get(point["record"]), last.get(room))
        return next((each for each in candidates if each is not None and roles.get(each) in point["who"]), NOBODY)

    return [has(point) for point in points]


def names_of(session: Session, persons: Iterable[str]) -> dict[str, str]:
    """What people are called, by id."""
    found: dict[str, str] = {}
    for some in _parts(sorted(set(persons))):
        found |= dict(session.execute(select(Person.id, Person.name).where(Person.id.in_(some))).all())
    return found


@dataclass(frozen=True)
class _Word:
    """Whose word came last, and at which sequence."""

    seq: int
    person: str


def _newest(facets: str) -> _Word | None:
    words = (_Word(stored["seq"], stored["by"]) for stored in json_text.loads(facets).values())
    return max(words, key=lambda each: each.seq, default=None)


def _last_words(session: Session, site_id: str, wanted: Iterable[str]) -> dict[str, str]:
    """Who said something last of each record, or read something in it; by the record's id."""
    found: dict[str, _Word] = {}
    for some in _parts(sorted(wanted)):
        own = select(Record.id, Record.facets).where(Record.site == site_id, Record.id.in_(some))
        read = select(Record.parent, Record.facets).where(
            Record.site == site_id, Record.parent.in_(some), Record.type.in_(READINGS)
        )
        for query in (own, read):
            for of, facets in session.execute(query):
                id, word = str(of), _newest(facets)
                if word is not None and (id not in found or found[id].seq < word.seq):
                    found[id] = word
    return {id: word.person for id, word in found.items()}


def _assigned(session: Session, site_id: str) -> dict[str, str]:
    """Who each room was assigned to, or taken by, last; rooms that were given back are nobody's."""
    query = (
        select(Record.parent, Record.facets)
        .where(Record.site == site_id, Record.type == "assignment", Record.removed.is_(False))
        .order_by(Record.seq)
    )
    found: dict[str, tuple[str, str]] = {}
    for room, facets in session.execute(query):
        said = json_text.loads(facets).get("identity", {}).get("value") or {}
        if room is None or said.get("day", "") < found.get(room, ("", ""))[0]:
            continue
        person = "" if said.get("deed") == GIVEN_BACK else said.get("person", "")
        found[room] = (said.get("day", ""), person)
    return {room: person for room, (_, person) in found.items() if person}


def _parts(ids: Sequence[str]) -> Iterator[Sequence[str]]:
    return (ids[start : start + AT_ONCE] for start in range(0, len(ids), AT_ONCE))


__all__ = ["NOBODY", "names_of", "persons_of", "persons_of_all"]
