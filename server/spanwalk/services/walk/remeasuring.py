"""Which cavities of a site are to be read again, lot by lot, and what the second readings say."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict, cast

from spanwalk.reference import tables
from spanwalk.rules.instruments import reading_uncertainty
from spanwalk.rules.not_converted import is_never
from spanwalk.rules.record_types import CavityReadingView, GroupView, KindView
from spanwalk.rules.remeasure import Pair, Repeatability, Risks, curve, plan_for, repeatability
from spanwalk.rules.sampling import Place, counting, is_gauge, is_inside, place_of
from spanwalk.rules.survey import Survey, facet, mark_of, name_of_room, walk_order

SHARES_PCT = (0.0, 1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0)
"""Shares of wrong readings at which the chance of being accepted is told [%]."""
LISTED_MOST = 100
"""Cavities that are listed of a lot; of more the number is told."""
OPEN, ACCEPTED, REFUSED = "to-read", "accepted", "refused"


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


class Lot(TypedDict):
    """Readings of one person with one kind of tape, and their plan.

    `state` is `to-read`, `accepted` or `refused`: more were wrong than the plan takes, so all of the lot are read again.
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


@dataclass(frozen=True)
class _Read:
    """The first reading of a cavity that counts, and the next one of the same cavity."""

    first: CavityReadingView
    next: CavityReadingView | None
    group: GroupView
    kind: KindView
    place: Place


def lots_of(survey: Survey, risks: Risks) -> list[Lot]:
    """The lots of a site, by person and tape.

    Parameters
    ----------
    survey : Survey
        Its groups, kinds, rooms and readings, these with whose word they are and at which sequence.
    risks : Risks
        What the plans are stated by.
    """
    lots: dict[tuple[str, str], list[_Read]] = {}
    for read in _first_readings(survey):
        by = str(cast("Mapping[str, object]", read.first.get("by") or {}).get("identity", ""))
        lots.setdefault((by, str(facet(read.first, "identity").get("instrument", ""))), []).append(read)
    return [_lot(survey, who, reads, risks) for who, reads in sorted(lots.items())]


def _first_readings(survey: Survey) -> Iterable[_Read]:
    for group in survey.of_type("group"):
        kind = survey.kind_of(group)
        if kind is None or is_never(kind) or survey.room_of(group) is None:
            continue
        of_place: dict[Place, list[CavityReadingView]] = {}
        for reading in counting(survey.children(group, "cavity_reading")):
            if not is_gauge(reading) and is_inside(place_of(reading), group, kind):
                of_place.setdefault(place_of(reading), []).append(reading)
        for place, readings in of_place.items():
            ordered = sorted(readings, key=_sequence)
            yield _Read(ordered[0], ordered[1] if len(ordered) > 1 else None, group, kind, place)


def _sequence(reading: CavityReadingView) -> tuple[int, str]:
    return int(cast("Mapping[str, int]", reading.get("seqs") or {}).get("identity", 0)), reading["id"]


def _lot(survey: Survey, who: tuple[str, str], reads: Sequence[_Read], risks: Risks) -> Lot:
    plan = plan_for(len(reads), risks)
    # By a hash of its id: blind to what was read and where, and the same list whenever it is asked for.
    picked = sorted(reads, key=lambda each: hashlib.blake2b(each.first["id"].encode(), digest_size=8).digest())
    picked = sorted(picked[: plan.sample], key=lambda each: _walk(survey, each))
    pairs = {each.first["id"]: _pair(each) for each in reads if each.next is not None}
    read = [pairs[each.first["id"]] for each in picked if each.first["id"] in pairs]
    wrong = sum(each.is_wrong for each in read)
    state = REFUSED if wrong > plan.most_wrong else ACCEPTED if len(read) == plan.sample else OPEN
    spread = repeatability(list(pairs.values()))
    return {
        "by": who[0],
        "instrument": who[1],
        "readings": len(reads),
        "sample": plan.sample,
        "most_wrong": plan.most_wrong,
        "read": len(read),
        "wrong": wrong,
        "state": state,
        "curve": [(share, round(chance, 4)) for share, chance in curve(plan, SHARES_PCT)],
        "spread": None if spread is None else _told(spread),
        "left": plan.sample - len(read),
        "again": [_again(survey, each, pairs.get(each.first["id"])) for each in picked[:LISTED_MOST]],
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


def _pair(read: _Read) -> Pair:
    first, again = (facet(each, "identity") for each in (read.first, cast("CavityReadingView", read.next)))
    sure = [reading_uncertainty(each, tables()) for each in (first, again)]
    return Pair(
        first["length_ticks"],
        again["length_ticks"],
        sure[0].expanded_ticks,
        sure[1].expanded_ticks,
        max(each.random_ticks for each in sure),
    )


def _again(survey: Survey, read: _Read, pair: Pair | None) -> Again:
    room = survey.room_of(read.group)
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


__all__ = ["Again", "Lot", "lots_of"]
