"""How far the plan of a large site is: one row of the database, written as the plan grows, so that any server tells it.

The part that is made is kept beside it: whoever plans the site next, another server too, carries on from there.
"""

from __future__ import annotations

import logging
import os
import threading
import time
import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import NamedTuple, TypedDict

import orjson
from sqlalchemy import delete, func, insert, select
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.services.clock import later, now
from spanwalk.services.planning.kept_answers import keep_part, parts_kept
from spanwalk.services.refusals import Unavailable
from spanwalk.storage.database import is_writing, writing
from spanwalk.storage.tables import KeptAnswer, Record

log = logging.getLogger(__name__)
UNDER_WAY = "under-way"
AGAIN_S = 2
"""After which who asks may ask again."""
TOLD_AFTER_S = 2.0
"""What takes no longer is told to nobody."""
TELL_EACH_S = 1.0
STOPPED_AFTER_S = 90
"""So long nobody wrote into the row: the server that did is gone, or its database was busy for very long."""
PART_GROUPS = 500
"""So many new plans are kept at once: 3 s of work, which is the most that is lost."""
_START = uuid.uuid4().hex
_claimed: set[str] = set()
"""Sites that this process plans in the background: it says itself when it is done with one."""
_ends = threading.Event()
"""This process ends: it takes nothing upon itself any more."""
Line = tuple[str, str, str, PlanInShort, Judgement | None]
"""A plan as it is kept: group, fingerprints of what it and its judgement were made from, plan, judgement in short."""


class FloorSoFar(TypedDict):
    """A floor: its groups, how many of them are planned, and how many of these are ready."""

    floor_name: str
    groups: int
    planned: int
    ready: int


class UnderWay(NamedTuple):
    """How many groups are planned, of how many, floor by floor; `by` is who plans them."""

    by: str
    done: int
    total: int
    floors: list[FloorSoFar]


class Growing:
    """Tells of the plan of one site as it grows, and keeps the part that is made.

    Parameters
    ----------
    session : Session
        An open transaction; within a writing one nothing is told or kept.
    site_id : str
        The site.
    clock : callable
        Seconds that pass [s].
    """

    def __init__(self, session: Session, site_id: str, clock: Callable[[], float] = time.monotonic) -> None:
        self._site, self._clock = site_id, clock
        self._is_quiet = is_writing(session)
        self._parts = parts_kept(session, site_id)
        self._floor_of: Mapping[str, str] = {}
        self._floors: dict[str, FloorSoFar] = {}
        self._new: list[Line] = []
        self._done = 0
        self._told_at = clock() + TOLD_AFTER_S - TELL_EACH_S
        self._is_told = False

    @property
    def has_parts(self) -> bool:
        """Whether a part of the plan is kept by itself."""
        return self._parts > 0

    def begin(self, floor_of: Mapping[str, str]) -> None:
        """Say which groups are to be planned: group id -> name of its floor, in the order of the walk."""
        self._floor_of = floor_of
        for name in floor_of.values():
            floor = self._floors.setdefault(name, FloorSoFar(floor_name=name, groups=0, planned=0, ready=0))
            floor["groups"] += 1

    def planned(self, group_id: str, plan: PlanInShort, new: Line | None) -> None:
        """Take note of a plan; `new` is the line to be kept of one that was made anew."""
        floor = self._floors[self._floor_of[group_id]]
        floor["planned"] += 1
        floor["ready"] += plan["state"] == "ready"
        self._done += 1
        if new is not None:
            self._new.append(new)
        if self._is_quiet:
            return
        if len(self._new) >= PART_GROUPS:
            self._parts += 1
            keep_part(self._site, self._parts, self._new)
            self._new = []
        if self._clock() - self._told_at >= TELL_EACH_S:
            self._told_at, self._is_told = self._clock(), True
            _write(self._site, UnderWay(this_process(), self._done, len(self._floor_of), list(self._floors.values())))

    def end(self) -> None:
        """It is made, or given up: what was told holds no longer."""
        if self._is_told and self._site not in _claimed:
            _take_back(self._site)


def this_process() -> str:
    """A name that no other process of a server has, on whatever machine; a forked one has another too."""
    return f"{_START}-{os.getpid()}"


@contextmanager
def claimed(site_id: str) -> Iterator[bool]:
    """Take a site upon this process, as far as no other plans it; whether it did so. At the end it is free again."""
    if not _write(site_id, UnderWay(this_process(), 0, 0, [])):
        yield False
        return
    _claimed.add(site_id)
    try:
        yield True
    finally:
        _claimed.discard(site_id)
        _take_back(site_id)


def give_back_claims() -> None:
    """This process ends: what it was planning is free for the next at once, not only after `STOPPED_AFTER_S`."""
    _ends.set()
    for site_id in list(_claimed):
        _take_back(site_id)


def _write(site_id: str, told: UnderWay) -> bool:
    """Write the row; False: another process plans the same, and its row stays, so that what is told is how far that one is."""
    if _ends.is_set():
        return False
    body = orjson.dumps({"at": now(), **told._asdict()})
    here = (KeptAnswer.site == site_id, KeptAnswer.what == UNDER_WAY)
    try:
        with writing() as session:
            row = session.execute(select(KeptAnswer.body).where(*here)).scalar_one_or_none()
            before = None if row is None else _read(row)
            if before is not None and before.by != told.by:
                return False
            session.execute(delete(KeptAnswer).where(*here))
            values = {"site": site_id, "what": UNDER_WAY, "head": 0, "basis": told.by, "body": body}
            session.execute(insert(KeptAnswer).values(**values))
    except SQLAlchemyError as problem:
        log.warning("how far a plan is was not told: %s", type(problem).__name__)
    return True


def _take_back(site_id: str) -> None:
    here = (KeptAnswer.site == site_id, KeptAnswer.what == UNDER_WAY, KeptAnswer.basis == this_process())
    try:
        with writing() as session:
            session.execute(delete(KeptAnswer).where(*here))
    except SQLAlchemyError as problem:
        log.warning("that a plan is made was not told: %s", type(problem).__name__)


def _read(body: bytes) -> UnderWay | None:
    """What a row says; None where who wrote it stopped."""
    told = orjson.loads(body)
    at = told.pop("at")
    return UnderWay(**told) if at >= later(-STOPPED_AFTER_S) else None


def under_way(session: Session, site_id: str) -> UnderWay | None:
    """How far the plan of a site is, whichever server makes it; None: none does.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    """
    query = select(KeptAnswer.body).where(KeptAnswer.site == site_id, KeptAnswer.what == UNDER_WAY)
    body = session.execute(query).scalar_one_or_none()
    return None if body is None else _read(body)


def being_planned(session: Session, site_id: str) -> Unavailable:
    """What who asks for a plan is told that is not made yet: how far it is, or that its records are being read."""
    told = under_way(session, site_id)
    if told is None or not told.total:
        return Unavailable("plan.being-read", groups=groups_of(session, site_id), seconds=AGAIN_S)
    return Unavailable("plan.being-made", done=told.done, total=told.total, floors=told.floors, seconds=AGAIN_S)


def groups_of(session: Session, site_id: str) -> int:
    """How many groups a site has, counted without reading them."""
    here = (Record.site == site_id, Record.type == "group", Record.removed.is_(False))
    return session.execute(select(func.count()).select_from(Record).where(*here)).scalar_one()


__all__ = [
    "PART_GROUPS",
    "FloorSoFar",
    "Growing",
    "Line",
    "UnderWay",
    "being_planned",
    "claimed",
    "give_back_claims",
    "groups_of",
    "under_way",
]
