"""Which cavities of a site are to be read again, lot by lot, and what the second readings say."""

from __future__ import annotations

import hashlib
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypedDict, cast

from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.fit.not_converted import is_never
from spanwalk.rules.fit.sampling import Place, counting, is_gauge, is_inside, place_of
from spanwalk.rules.measuring.instruments import reading_uncertainty
from spanwalk.rules.measuring.remeasure import Pair, Plan, Repeatability, Risks, curve, plan_for, repeatability
from spanwalk.rules.points.found import KindHeld
from spanwalk.rules.record_types import CavityReadingView, GroupView, KindView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, facet, mark_of, name_of_room, walk_order
from spanwalk.services.sync.state import site_records

SHARES_PCT = (0.0, 1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0)
"""Shares of wrong readings at which the chance of being accepted is told [%]."""
LISTED_MOST = 100
"""Cavities that are listed of a lot; of more the number is told."""
OPEN, ACCEPTED, REFUSED = "to-read", "accepted", "refused"
READING = "cavity_reading"
ENDS = ("voided", "set_aside", "confirmed")
"""Facets by which a reading stops to count."""


class Again(TypedDict):
    """A cavity to be read again: where it is, what was read [1/320 mm], and what its repeat says, None before there is one."""

    group: str
    room: str
    room_name: str
    mark: str
    position: int
    row: int
    cavity: int
    length_ticks: int
    again_ticks: int | None
    is_wrong: bool | None


class Spread(TypedDict):
    """Spread of one reading by all repeats of the lot, beside what was assumed [1/320 mm]: see `remeasure.repeatability`."""

    pairs: int
    seen_ticks: int
    assumed_ticks: int
    is_greater: bool | None


class OfLot(TypedDict):
    """What is left of a kind in a lot: cavities to be read again, and repeats that differ of which neither was voided."""

    kind: str
    mark: str
    left: int
    unsettled: int
    stands: bool


class Lot(TypedDict):
    """Readings of one person with one kind of tape, and their plan.

    `state` is `to-read`, `accepted` or `refused`: more were wrong than the plan takes, so all of the lot are read again, kind by
    kind; `left` are the cavities to be read, of the sample or, once it is refused, of the whole lot.
    """

    by: str
    instrument: str
    readings: int
    sample: int
    most_wrong: int
    read: int
    wrong: int
    state: str
    curve: list[tuple[float, float]]
    spread: Spread | None
    left: int
    again: list[Again]
    kinds: list[OfLot]


@dataclass(frozen=True)
class _Read:
    """The first reading of a cavity and the next one of the same cavity; `is_settled` where only one of both still counts."""

    first: CavityReadingView
    next: CavityReadingView | None
    group: GroupView
    kind: KindView
    place: Place
    is_settled: bool

    @cached_property
    def pair(self) -> Pair | None:
        """Both, as far as there are two."""
        if self.next is None:
            return None
        first, again = facet(self.first, "identity"), facet(self.next, "identity")
        sure = [reading_uncertainty(each, tables()) for each in (first, again)]
        return Pair(
            first["length_ticks"],
            again["length_ticks"],
            sure[0].expanded_ticks,
            sure[1].expanded_ticks,
            max(each.random_ticks for each in sure),
        )

    @property
    def is_wrong(self) -> bool:
        """Whether the repeat differs by more than both explain."""
        return self.pair is not None and self.pair.is_wrong

    @property
    def is_unsettled(self) -> bool:
        """Whether both count though they differ by more than both explain."""
        return self.is_wrong and not self.is_settled


@dataclass(frozen=True)
class _Lot:
    """Readings of one person with one kind of tape, which of them are picked, and what came of it."""

    by: str
    instrument: str
    plan: Plan
    reads: Sequence[_Read]
    picked: Sequence[_Read]

    @cached_property
    def wrong(self) -> int:
        """Of those that were picked."""
        return sum(each.is_wrong for each in self.picked)

    @cached_property
    def read(self) -> int:
        """Of those that were picked."""
        return sum(each.next is not None for each in self.picked)

    @property
    def state(self) -> str:
        """Whether it is to be read, accepted or refused."""
        if self.wrong > self.plan.most_wrong:
            return REFUSED
        return ACCEPTED if self.read == self.plan.sample else OPEN

    @cached_property
    def spread(self) -> Repeatability | None:
        """Of all repeats, but those of which one was voided since: a slip is no spread."""
        return repeatability([each.pair for each in self.reads if each.pair is not None and not each.is_settled])

    def kinds(self) -> Iterator[tuple[KindView, list[_Read]]]:
        """Its readings by kind, in order of the kinds' marks."""
        of_kind: dict[str, tuple[KindView, list[_Read]]] = {}
        for each in self.reads:
            of_kind.setdefault(each.kind["id"], (each.kind, []))[1].append(each)
        yield from sorted(of_kind.values(), key=lambda found: (mark_of(found[0]), found[0]["id"]))

    def of_kind(self, kind: KindView, reads: Sequence[_Read]) -> OfLot:
        """What is left of a kind."""
        said = facet(kind, "repeats")
        return {
            "kind": kind["id"],
            "mark": mark_of(kind),
            "left": sum(each.next is None for each in reads),
            "unsettled": sum(each.is_unsettled for each in reads),
            "stands": said.get("stands_with", 0) >= self.wrong and bool(said.get("reason", "").strip()),
        }


def lots_of(survey: Survey, risks: Risks) -> list[Lot]:
    """The lots of a site, by person and tape.

    Parameters
    ----------
    survey : Survey
        Its groups, kinds, rooms and readings, these with whose word they are and at which sequence.
    risks : Risks
        What the plans are stated by.
    """
    return [_lot_told(survey, lot) for lot in _lots(survey, risks)]


def kinds_held(session: Session, site_id: str, records: Sequence[Record]) -> list[KindHeld]:
    """Kinds that second readings hold back from release: by the plans stated by the usual risks.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    records : sequence of view records
        Its kinds, groups, rooms and readings, at hand already; only where cavities were read twice are the readings read once
        more, with whose word they are.
    """
    if not are_any_repeated(records):
        return []
    readings = site_records(session, site_id, types=(READING,), who=True)
    return held_by_repeats(Survey([each for each in records if each["type"] != READING] + readings))


def held_by_repeats(survey: Survey) -> list[KindHeld]:
    """Kinds of refused lots that are neither read again nor let stand, and kinds whose repeats spread more than is said of them.

    A kind of a refused lot is read again when each of its cavities of that lot has a second reading, and of two that differ one
    was voided or set aside. What was voided after its repeat counts as wrong all the same: else a lot that was read badly would
    be a good one as soon as its errors are put right.
    """
    found: list[KindHeld] = []
    for lot in _lots(survey, Risks()):
        for kind, reads in lot.kinds():
            found += _held(lot, kind, reads)
    return found


def _held(lot: _Lot, kind: KindView, reads: Sequence[_Read]) -> Iterator[KindHeld]:
    left, spread = lot.of_kind(kind, reads), lot.spread
    if lot.state == REFUSED and not left["stands"] and (left["left"] or left["unsettled"]):
        facts: dict[str, object] = {
            "read": lot.read,
            "wrong": lot.wrong,
            "most_wrong": lot.plan.most_wrong,
            "left": left["left"],
            "unsettled": left["unsettled"],
        }
        yield {"kind": kind["id"], "why": "lot-refused", "facts": facts}
    if spread is not None and spread.is_greater and facet(kind, "repeats").get("spread_ticks", 0) < spread.seen_ticks:
        seen: dict[str, object] = {
            "pairs": spread.pairs,
            "seen_ticks": spread.seen_ticks,
            "assumed_ticks": spread.assumed_ticks,
        }
        yield {"kind": kind["id"], "why": "repeats-spread", "facts": seen}


def are_any_repeated(records: Iterable[Record]) -> bool:
    """Whether any cavity has two readings."""
    seen: set[tuple[str | None, object, object, object]] = set()
    for each in records:
        if each["type"] == READING and not each["removed"]:
            said = facet(each, "identity")
            place = (each["parent"], said.get("position"), said.get("row"), said.get("cavity"))
            if place in seen:
                return True
            seen.add(place)
    return False


def _lots(survey: Survey, risks: Risks) -> Iterator[_Lot]:
    lots: dict[tuple[str, str], list[_Read]] = {}
    for read in _first_readings(survey):
        by = str(cast("Mapping[str, object]", read.first.get("by") or {}).get("identity", ""))
        lots.setdefault((by, str(facet(read.first, "identity").get("instrument", ""))), []).append(read)
    for who, reads in sorted(lots.items()):
        plan = plan_for(len(reads), risks)
        # By a hash of its id: blind to what was read and where, and the same list whenever it is asked for.
        picked = sorted(reads, key=lambda each: hashlib.blake2b(each.first["id"].encode(), digest_size=8).digest())
        yield _Lot(*who, plan, reads, sorted(picked[: plan.sample], key=lambda each: _walk(survey, each)))


def _first_readings(survey: Survey) -> Iterator[_Read]:
    for group in survey.of_type("group"):
        kind = survey.kind_of(group)
        if kind is None or is_never(kind) or survey.room_of(group) is None:
            continue
        readings = survey.children(group, "cavity_reading")
        counts = {each["id"] for each in counting(readings)}
        of_place: dict[Place, list[CavityReadingView]] = {}
        for reading in readings:
            if not is_gauge(reading) and is_inside(place_of(reading), group, kind):
                of_place.setdefault(place_of(reading), []).append(reading)
        for place, theirs in of_place.items():
            found = _first_and_next(sorted(theirs, key=_sequence), counts)
            if found is not None:
                first, again = found
                yield _Read(first, again, group, kind, place, first["id"] not in counts)


def _first_and_next(
    ordered: Sequence[CavityReadingView], counts: Container[str]
) -> tuple[CavityReadingView, CavityReadingView | None] | None:
    """The first reading that counts, or counted until it had a repeat; and the next that counts. None: nothing counts."""
    for at, first in enumerate(ordered):
        after = [each for each in ordered[at + 1 :] if each["id"] in counts]
        ended = max((_said_at(first, name) for name in ENDS), default=0)
        if first["id"] in counts or (after and ended > _sequence(after[0])[0]):
            return first, after[0] if after else None
    return None


def _said_at(reading: CavityReadingView, name: str) -> int:
    return int(cast("Mapping[str, int]", reading.get("seqs") or {}).get(name, 0))


def _sequence(reading: CavityReadingView) -> tuple[int, str]:
    return _said_at(reading, "identity"), reading["id"]


def _lot_told(survey: Survey, lot: _Lot) -> Lot:
    refused, plan = lot.state == REFUSED, lot.plan
    listed = sorted(lot.reads, key=lambda each: _walk(survey, each)) if refused else lot.picked
    # Of a whole lot only so many are listed: what is to be settled and what is to be read come first.
    listed = sorted(listed, key=lambda each: (not each.is_unsettled, each.next is not None)) if refused else listed
    return {
        "by": lot.by,
        "instrument": lot.instrument,
        "readings": len(lot.reads),
        "sample": plan.sample,
        "most_wrong": plan.most_wrong,
        "read": lot.read,
        "wrong": lot.wrong,
        "state": lot.state,
        "curve": [(share, round(chance, 4)) for share, chance in curve(plan, SHARES_PCT)],
        "spread": None if lot.spread is None else _told(lot.spread),
        "left": sum(each.next is None for each in listed),
        "again": [_again(survey, each) for each in listed[:LISTED_MOST]],
        "kinds": [lot.of_kind(kind, reads) for kind, reads in lot.kinds()],
    }


def _told(spread: Repeatability) -> Spread:
    return {
        "pairs": spread.pairs,
        "seen_ticks": spread.seen_ticks,
        "assumed_ticks": spread.assumed_ticks,
        "is_greater": spread.is_greater,
    }


def _walk(survey: Survey, read: _Read) -> tuple[int, str, Place]:
    return walk_order(survey.room_of(read.group)), read.group["id"], read.place


def _again(survey: Survey, read: _Read) -> Again:
    room, pair = survey.room_of(read.group), read.pair
    position, row, cavity = read.place
    return {
        "group": read.group["id"],
        "room": "" if room is None else room["id"],
        "room_name": name_of_room(room),
        "mark": mark_of(read.kind),
        "position": position,
        "row": row,
        "cavity": cavity,
        "length_ticks": facet(read.first, "identity")["length_ticks"],
        "again_ticks": None if pair is None else pair.again_ticks,
        "is_wrong": None if pair is None else pair.is_wrong,
    }


__all__ = ["Again", "Lot", "OfLot", "are_any_repeated", "held_by_repeats", "kinds_held", "lots_of"]
