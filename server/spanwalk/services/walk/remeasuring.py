"""Which cavities of a site are to be read again, lot by lot, and what the second readings say."""

from __future__ import annotations

import hashlib
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple, TypedDict, cast

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


class Cavity(NamedTuple):
    """What of a cavity's first reading, and of the next one of the same cavity, counts for its lot; small, to be kept of every cavity.

    `is_settled` where only one of both still counts; `pair` is None before there is a second.
    """

    by: str
    instrument: str
    id: str
    kind: str
    pair: Pair | None
    is_settled: bool

    @property
    def is_wrong(self) -> bool:
        """Whether the repeat differs by more than both explain."""
        return self.pair is not None and self.pair.is_wrong

    @property
    def is_unsettled(self) -> bool:
        """Whether both count though they differ by more than both explain."""
        return self.is_wrong and not self.is_settled


@dataclass(frozen=True)
class _Read:
    """Where a cavity is, with its first reading."""

    cavity: Cavity
    first: CavityReadingView
    group: GroupView
    kind: KindView
    place: Place


@dataclass(frozen=True)
class _Lot:
    """Cavities that one person read with one kind of tape, which of them are picked, and what came of it."""

    by: str
    instrument: str
    plan: Plan
    cavities: Sequence[Cavity]
    picked: Sequence[Cavity]

    @cached_property
    def wrong(self) -> int:
        """Of those that were picked."""
        return sum(each.is_wrong for each in self.picked)

    @cached_property
    def read(self) -> int:
        """Of those that were picked."""
        return sum(each.pair is not None for each in self.picked)

    @property
    def state(self) -> str:
        """Whether it is to be read, accepted or refused."""
        if self.wrong > self.plan.most_wrong:
            return REFUSED
        return ACCEPTED if self.read == self.plan.sample else OPEN

    @cached_property
    def spread(self) -> Repeatability | None:
        """Of all repeats, but those of which one was voided since: a slip is no spread."""
        return repeatability([each.pair for each in self.cavities if each.pair is not None and not each.is_settled])

    def kinds(self, kinds: Mapping[str, KindView]) -> Iterator[tuple[KindView, list[Cavity]]]:
        """Its cavities by kind, in order of the kinds' marks."""
        of_kind: dict[str, list[Cavity]] = {}
        for each in self.cavities:
            of_kind.setdefault(each.kind, []).append(each)
        for id in sorted(of_kind, key=lambda id: (mark_of(kinds[id]), id)):
            yield kinds[id], of_kind[id]

    def of_kind(self, kind: KindView, cavities: Sequence[Cavity]) -> OfLot:
        """What is left of a kind."""
        said = facet(kind, "repeats")
        return {
            "kind": kind["id"],
            "mark": mark_of(kind),
            "left": sum(each.pair is None for each in cavities),
            "unsettled": sum(each.is_unsettled for each in cavities),
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
    reads = {read.cavity.id: read for group in survey.of_type("group") for read in _first_readings(survey, group)}
    return [_lot_told(survey, lot, reads) for lot in _lots([each.cavity for each in reads.values()], risks)]


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
    survey = with_first_word(session, site_id, records)
    return [] if survey is None else held_by_repeats(survey)


def with_first_word(session: Session, site_id: str, records: Iterable[Record]) -> Survey | None:
    """Records of a site with readings that say whose word they are, read once more; None where no cavity was read twice."""
    records = list(records)
    if not are_any_repeated(records):
        return None
    return said_by(records, site_records(session, site_id, types=(READING,), who=True))


def said_by(records: Iterable[Record], readings: Iterable[Record]) -> Survey:
    """Records with these readings in place of theirs."""
    return Survey([*(each for each in records if each["type"] != READING), *readings])


def held_by_repeats(survey: Survey) -> list[KindHeld]:
    """Kinds of refused lots that are neither read again nor let stand, and kinds whose repeats spread more than is said of them.

    A kind of a refused lot is read again when each of its cavities of that lot has a second reading, and of two that differ one
    was voided or set aside. What was voided after its repeat counts as wrong all the same: else a lot that was read badly would
    be a good one as soon as its errors are put right.
    """
    cavities = [each for group in survey.of_type("group") for each in cavities_of(survey, group)]
    return held_of(cavities, {each["id"]: each for each in survey.all if each["type"] == "kind"})


def cavities_of(survey: Survey, group: GroupView) -> list[Cavity]:
    """What of a group's cavities counts for their lots; its readings say whose word they are and at which sequence."""
    return [read.cavity for read in _first_readings(survey, group)]


def held_of(cavities: Iterable[Cavity], kinds: Mapping[str, Record]) -> list[KindHeld]:
    """The same of cavities of a whole site that are at hand, in whatever order, and its kinds by id."""
    found: list[KindHeld] = []
    of_kind = cast("Mapping[str, KindView]", kinds)
    for lot in _lots(cavities, Risks()):
        for kind, theirs in lot.kinds(of_kind):
            found += _held(lot, kind, theirs)
    return found


def _held(lot: _Lot, kind: KindView, cavities: Sequence[Cavity]) -> Iterator[KindHeld]:
    left, spread = lot.of_kind(kind, cavities), lot.spread
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


def _lots(cavities: Iterable[Cavity], risks: Risks) -> Iterator[_Lot]:
    lots: dict[tuple[str, str], list[Cavity]] = {}
    for each in cavities:
        lots.setdefault((each.by, each.instrument), []).append(each)
    for who, theirs in sorted(lots.items()):
        plan = plan_for(len(theirs), risks)
        # By a hash of its id: blind to what was read and where, and the same list whenever it is asked for.
        picked = sorted(theirs, key=lambda each: hashlib.blake2b(each.id.encode(), digest_size=8).digest())
        yield _Lot(*who, plan, theirs, picked[: plan.sample])


def _first_readings(survey: Survey, group: GroupView) -> Iterator[_Read]:
    kind = survey.kind_of(group)
    if kind is None or is_never(kind) or survey.room_of(group) is None:
        return
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
            yield _Read(_cavity(first, again, kind, first["id"] not in counts), first, group, kind, place)


def _cavity(first: CavityReadingView, again: CavityReadingView | None, kind: KindView, is_settled: bool) -> Cavity:
    by = str(cast("Mapping[str, object]", first.get("by") or {}).get("identity", ""))
    instrument = str(facet(first, "identity").get("instrument", ""))
    return Cavity(by, instrument, first["id"], kind["id"], None if again is None else _pair(first, again), is_settled)


def _pair(first: CavityReadingView, again: CavityReadingView) -> Pair:
    said = facet(first, "identity"), facet(again, "identity")
    sure = [reading_uncertainty(each, tables()) for each in said]
    return Pair(
        said[0]["length_ticks"],
        said[1]["length_ticks"],
        sure[0].expanded_ticks,
        sure[1].expanded_ticks,
        max(each.random_ticks for each in sure),
    )


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


def _lot_told(survey: Survey, lot: _Lot, reads: Mapping[str, _Read]) -> Lot:
    refused, plan = lot.state == REFUSED, lot.plan
    listed = [reads[each.id] for each in (lot.cavities if refused else lot.picked)]
    listed.sort(key=lambda each: _walk(survey, each))
    if refused:
        # Of a whole lot only so many are listed: what is to be settled and what is to be read come first.
        listed.sort(key=lambda each: (not each.cavity.is_unsettled, each.cavity.pair is not None))
    kinds = {each.kind["id"]: each.kind for each in reads.values()}
    return {
        "by": lot.by,
        "instrument": lot.instrument,
        "readings": len(lot.cavities),
        "sample": plan.sample,
        "most_wrong": plan.most_wrong,
        "read": lot.read,
        "wrong": lot.wrong,
        "state": lot.state,
        "curve": [(share, round(chance, 4)) for share, chance in curve(plan, SHARES_PCT)],
        "spread": None if lot.spread is None else _told(lot.spread),
        "left": sum(each.cavity.pair is None for each in listed),
        "again": [_again(survey, each) for each in listed[:LISTED_MOST]],
        "kinds": [lot.of_kind(kind, cavities) for kind, cavities in lot.kinds(kinds)],
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
    room, pair = survey.room_of(read.group), read.cavity.pair
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


__all__ = [
    "Again",
    "Cavity",
    "Lot",
    "OfLot",
    "are_any_repeated",
    "cavities_of",
    "held_by_repeats",
    "held_of",
    "kinds_held",
    "lots_of",
    "said_by",
    "with_first_word",
]
