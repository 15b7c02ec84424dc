"""What the screen of the hand-over tells: the report in short, without what only its pages need."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from threading import Lock

from sqlalchemy.orm import Session

from spanwalk.rules.installing.noted import in_force
from spanwalk.rules.installing.punch_list import handed_over, is_open, punch_list, rooms_in_order
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, fixtures_of
from spanwalk.services.handover import pictures
from spanwalk.services.handover.acceptances import accepted
from spanwalk.services.handover.open_items import open_points
from spanwalk.services.handover.told import AcceptedTold, OpenTold
from spanwalk.services.labels.labels import fixtures_of_labels, labels_in_short
from spanwalk.services.people.members import incarnation
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.emergency_tests import tests_of_site
from spanwalk.services.sync.state import records_in_part, site_head, site_records
from spanwalk.words import reading_language

TYPES = (
    "site", "floor", "room", "kind", "group", "photo", "lux_reading", "release", "installation",
    "problem_answer", "problem_reply", "difference_answer", "emergency_test", "punch_point", "acceptance",
)  # fmt: skip
"""Whole records; labels and conversions are read in part."""
OF_CONVERSIONS = (
    ("identity", "number"),
    ("identity", "release"),
    ("identity", "frozen", "emergency"),
    ("identity", "frozen", "checks"),
    ("identity", "frozen", "checks_at"),
    ("identity", "frozen", "rows"),
    ("identity", "frozen", "driver"),
    ("identity", "frozen", "accessories"),
    ("withdrawn",),
)
"""What of a card says what is missing at a fixture that is done, and what is fitted there."""
OPEN_MOST = 300
"""Open points that are told as sentences."""
KEPT_MOST = 8
"""Answers that a process keeps, of sites and languages, a few hundred lines each."""


@dataclass(frozen=True)
class InShort:
    """What the report would tell, in numbers; what is open and what was signed with its sentences.

    Parameters
    ----------
    fixtures, done : int
        Fixtures of groups that are handed over, and those noted as done.
    left_out : int
        Fixtures of the other groups.
    photos, releases, tests_open, closed : int
        Photos in the report, releases, emergency fixtures whose newest test did not pass, points that were closed.
    open : tuple of OpenTold
        What is open, up to `OPEN_MOST` points of `open_in_all`.
    accepted : tuple of AcceptedTold
        Signatures, without their pictures.
    """

    fixtures: int
    done: int
    left_out: int
    photos: int
    releases: int
    tests_open: int
    closed: int
    open: tuple[OpenTold, ...]
    open_in_all: int
    accepted: tuple[AcceptedTold, ...]


_kept: OrderedDict[tuple[str, str], tuple[object, InShort]] = OrderedDict()
_locks: dict[str, Lock] = {}


def in_short(session: Session, site_id: str) -> InShort:
    """What the report of a site would tell now, kept for as long as nothing there changes.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.

    Raises
    ------
    NotThere
        Nothing has been released on the site.
    """
    asked = site_id, reading_language()
    with _locks.setdefault(site_id, Lock()):
        holds_for = site_head(session, site_id), incarnation(session)
        kept = _kept.pop(asked, None)
        told = kept[1] if kept is not None and kept[0] == holds_for else _in_short(session, site_id)
        _kept[asked] = holds_for, told
        while len(_kept) > KEPT_MOST:
            _kept.popitem(last=False)
    return told


def _in_short(session: Session, site_id: str) -> InShort:
    survey = Survey(_records(session, site_id))
    releases = len(survey.of_type("release"))
    if not releases:
        raise NotThere("handover.nothing-released")
    conversions = in_force(survey)
    by_room = {room["id"]: handed_over(survey, room, conversions) for room in rooms_in_order(survey)}
    listed = punch_list(survey, fixtures_of_labels(labels_in_short(session, site_id)), by_room)
    opened = [each for each in listed if is_open(each)]
    photos = pictures.by_subject(survey.of_type("photo"))
    here = [each for groups in by_room.values() for each in groups]
    groups = {each.group["id"] for each in here}
    noted = [each for group in here for each in group.noted.values()]
    return InShort(
        fixtures=len(noted),
        done=sum(each.done is not None for each in noted),
        left_out=sum(fixtures_of(each) for each in survey.of_type("group") if each["id"] not in groups),
        photos=sum(len(pictures.photos_of(survey, each.group, photos, frozenset())) for each in here),
        releases=releases,
        tests_open=tests_of_site(session, site_id)["open"],
        closed=len(listed) - len(opened),
        open=open_points(survey, opened[:OPEN_MOST]),
        open_in_all=len(opened),
        accepted=accepted(survey, listed, {}, frozenset()),
    )


def _records(session: Session, site_id: str) -> Sequence[Record]:
    conversions = records_in_part(session, site_id, "conversion", OF_CONVERSIONS)
    return [*site_records(session, site_id, types=TYPES, who=True), *conversions]


__all__ = ["OPEN_MOST", "InShort", "in_short"]
