"""How the walk goes: its pace and when it will be done, what is to be read again, and the readings of each kind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypedDict, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.fit.not_converted import is_never
from spanwalk.rules.fit.sampling import counting, is_gauge
from spanwalk.rules.measuring.pace import an_hour, left, stints
from spanwalk.rules.measuring.reading_sense import (
    PLAY_TENTHS_MM,
    TICKS_PER_TENTH_MM,
    a_max_ticks,
    a_min_ticks,
    lamp_row,
    loose_band,
)
from spanwalk.rules.measuring.remeasure import Risks
from spanwalk.rules.points.completeness import DONE
from spanwalk.rules.record_types import KindView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, facet, fixtures_of, mark_of, progress_of
from spanwalk.services.planning.plans import site_plan
from spanwalk.services.refusals import InTheWay, NotThere
from spanwalk.services.sync.state import site_head, site_records
from spanwalk.services.walk.remeasuring import Lot, lots_of
from spanwalk.storage.tables import Person

READ = ("site", "floor", "room", "kind", "group", "cavity_reading", "walk_hours")
DOTS_MOST = 300
"""Readings of a kind that a picture shows; of more every so manieth in order of length, the shortest and longest always."""


class PaceTold(TypedDict):
    """Rooms, fixtures and readings an hour, and hours left with their doubt; None where too little is stated to tell [h]."""

    stated: int
    hours: float
    rooms_hour: float | None
    fixtures_hour: float | None
    readings_hour: float | None
    rooms_done: int
    rooms_left: int
    hours_left: float | None
    least_hours: float | None
    most_hours: float | None


class KindRead(TypedDict):
    """A kind with how many readings count; `is_never` that it is not by this method, so that none has to be read."""

    kind: str
    mark: str
    readings: int
    is_never: bool


class WalkTold(TypedDict):
    """How the walk goes."""

    head: int
    pace: PaceTold
    lots: list[Lot]
    kinds: list[KindRead]


class StripTold(TypedDict):
    """Readings of a kind, ascending, with what stands as limits beside them [1/320 mm].

    `low_ticks` and `high_ticks` are the lengths that its lamps make likely, None where they do not tell; `trusted_ticks` the
    length that every cavity of its groups is trusted to have, the shortest of them, None where no group has one.
    """

    kind: str
    mark: str
    readings: int
    lengths_ticks: list[int]
    low_ticks: int | None
    high_ticks: int | None
    trusted_ticks: int | None


def walk_of(session: Session, site_id: str, risks: Risks) -> WalkTold:
    """How the walk goes.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    risks : Risks
        What the plans of reading again are stated by.

    Raises
    ------
    InTheWay
        The share that is still good is not less than the one that is bad.
    """
    if risks.good_pct >= risks.bad_pct:
        raise InTheWay("walk.good-not-less", good=risks.good_pct, bad=risks.bad_pct)
    survey = Survey(site_records(session, site_id, types=READ, who=True))
    read = _by_kind(survey)
    counts = [(kind, len(read.get(kind["id"], ()))) for kind in sorted(survey.of_type("kind"), key=mark_of)]
    return {
        "head": site_head(session, site_id),
        "pace": _pace(survey),
        "lots": _named(session, lots_of(survey, risks)),
        "kinds": [
            {"kind": kind["id"], "mark": mark_of(kind), "readings": n, "is_never": is_never(kind)}
            for kind, n in counts
            if n or is_never(kind)
        ],
    }


def _named(session: Session, lots: list[Lot]) -> list[Lot]:
    """The same with people's names in place of their ids."""
    query = select(Person.id, Person.name).where(Person.id.in_({lot["by"] for lot in lots}))
    names = {row.id: row.name for row in session.execute(query)}
    return [{**lot, "by": names.get(lot["by"], lot["by"])} for lot in lots]


def _pace(survey: Survey) -> PaceTold:
    stated = [
        (_sequence(each, "identity"), float(facet(each, "identity").get("hours", 0)))
        for each in survey.of_type("walk_hours")
    ]
    done = stints(stated, _saved(survey))
    rooms = survey.of_type("room")
    finished = sum(progress_of(room) in DONE for room in rooms)
    found = left(done, len(rooms) - finished)
    return {
        "stated": len(stated),
        "hours": round(sum(hours for _, hours in stated), 2),
        "rooms_hour": an_hour(done, "rooms"),
        "fixtures_hour": an_hour(done, "fixtures"),
        "readings_hour": an_hour(done, "readings"),
        "rooms_done": finished,
        "rooms_left": found.rooms,
        "hours_left": found.hours,
        "least_hours": found.least_hours,
        "most_hours": found.most_hours,
    }


def _saved(survey: Survey) -> Iterator[tuple[int, str, int]]:
    """What was done, each at the sequence of the word that says so."""
    for room in survey.of_type("room"):
        if progress_of(room) in DONE:
            yield _sequence(room, "progress"), "rooms", 1
    for group in survey.of_type("group"):
        yield _sequence(group, "count"), "fixtures", fixtures_of(group)
        for reading in counting(survey.children(group, "cavity_reading")):
            yield _sequence(reading, "identity"), "readings", 1


def _sequence(record: Record, name: str) -> int:
    return int(cast("Mapping[str, int]", record.get("seqs") or {}).get(name, 0))


def strip_of(session: Session, site_id: str, kind_id: str) -> StripTold:
    """Readings of one kind.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    kind_id : str
        The kind.

    Raises
    ------
    NotThere
        The site has no such kind.
    """
    survey = Survey(site_records(session, site_id, types=READ))
    kind = next((each for each in survey.of_type("kind") if each["id"] == kind_id), None)
    if kind is None:
        raise NotThere("walk.kind-unknown", value=kind_id)
    lengths = sorted(_by_kind(survey).get(kind_id, ()))
    low, high = _likely(kind)
    trusted = _trusted(session, site_id, kind_id)
    return {
        "kind": kind_id,
        "mark": mark_of(kind),
        "readings": len(lengths),
        "lengths_ticks": _thinned(lengths),
        "low_ticks": low,
        "high_ticks": high,
        "trusted_ticks": trusted,
    }


def _by_kind(survey: Survey) -> dict[str, list[int]]:
    """Kind id -> lengths of its readings that count [1/320 mm]."""
    found: dict[str, list[int]] = {}
    for group in survey.of_type("group"):
        readings = [each for each in counting(survey.children(group, "cavity_reading")) if not is_gauge(each)]
        kind = str(facet(group, "identity").get("kind", ""))
        found.setdefault(kind, []).extend(facet(each, "identity")["length_ticks"] for each in readings)
    return found


def _likely(kind: KindView) -> tuple[int | None, int | None]:
    lamps = facet(kind, "lamps")
    row = lamp_row(lamps, tables())
    if row is not None:
        return a_min_ticks(row), a_max_ticks(row) + PLAY_TENTHS_MM * TICKS_PER_TENTH_MM
    band = loose_band(lamps, tables())
    return (None, None) if band is None else (band.low_ticks, band.high_ticks)


def _trusted(session: Session, site_id: str, kind_id: str) -> int | None:
    inputs = site_plan(session, site_id).inputs
    groups = [id for id, (kind, _) in inputs.places.items() if kind["id"] == kind_id]
    judged = (inputs.judged(id).get("trusted", {}).get("trusted_ticks") for id in groups)
    return min((each for each in judged if each is not None), default=None)


def _thinned(lengths: list[int]) -> list[int]:
    if len(lengths) <= DOTS_MOST:
        return lengths
    step = (len(lengths) - 1) / (DOTS_MOST - 1)
    return [lengths[round(place * step)] for place in range(DOTS_MOST)]


__all__ = ["StripTold", "WalkTold", "strip_of", "walk_of"]
