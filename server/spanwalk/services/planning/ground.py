"""What the open points of a large site rest on, group by group and kind by kind: kept, so that after a change only some are found anew.

A group's points hang on its own records, on its kind and room, and on what the other groups of the kind and the room come to.
The latter is small (a spread, lengths, what was read; lumens and watts) and kept here, so that the other groups need not be read.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import astuple, dataclass
from functools import cached_property
from typing import NamedTuple, cast

from spanwalk.rules.arrangements.light.read_light import RoomToday, SiteLight, kind_of_room
from spanwalk.rules.arrangements.now import Now
from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.fit.by_lamp import ReadOfKind
from spanwalk.rules.fit.cavity import Spread
from spanwalk.rules.installing.noted import converted_beyond_count
from spanwalk.rules.installing.outcomes import newest_outcomes
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.measuring.remeasure import Pair
from spanwalk.rules.points.found import KindHeld, RoomFacts
from spanwalk.rules.record_types import GroupView, KindView, RoomView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, facet, fixtures_of, is_position
from spanwalk.services.planning.fingerprints import Fingerprints, fingerprint_of
from spanwalk.services.planning.inputs import (
    Inputs,
    OfKind,
    Today,
    as_found_of,
    correction_of,
    is_leading,
    of_each_kind,
)
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.walk.remeasuring import Cavity, cavities_of
from spanwalk.storage import json_text

READY = "ready"
LETTERS = 8
"""Of a record's id, by which it is looked for: two that are alike cost some time, and are no fault."""
GIVEN = ("identity", "count", "supply")
"""Facets of a group of which its kind is told: beside them it is whether it is to be converted, and its readings."""


class GroupGround(NamedTuple):
    """What is kept of a group, removed ones too.

    `lumens`, `watts`, `rest_on` and `as_found_lux` are of the group as it is (see `inputs.Today`), `is_planned` whether that is reckoned;
    `of_inputs` the fingerprint of what its plan is made from, `given` of what its kind is told of it; `judgement` and `blockers`
    JSON text, these None where it is ready; `bars` what is proposed then; `noted` how many fixtures have which outcome;
    `within` the first letters of the ids of records in it; `cavities` what counts of them for lots of readings, where any cavity
    of the site was read twice, each as by whom, with which tape, id of the reading, both lengths and how sure they are, whether settled.
    """

    kind: str
    room: str
    removed: bool
    fixtures: int
    is_planned: bool
    lumens: float | None
    watts: float | None
    rest_on: list[Mapping[str, str]]
    as_found_lux: float | None
    of_inputs: str
    given: str
    judgement: str | None
    blockers: str | None
    bars: list[str]
    noted: dict[str, int]
    within: str
    cavities: list[list[object]]


class OfAll(NamedTuple):
    """What is kept of the site as a whole.

    `offered` is the fingerprint of what the plans of all groups hang on alike: catalogue, prices, terms of money, settings; `leading` are
    kinds whose bodies feed their neighbour, or are fed from it.
    `kinds_held` are kinds that second readings hold back, None where no cavity was read twice; `lux_rooms` the room of each
    reading of light by its id; `corrected` what readings make of the estimates of rooms, by room; `lights_off` the rooms whose readings lie
    outside what was reckoned.
    """

    offered: str
    leading: Sequence[str]
    kinds_held: Sequence[KindHeld] | None
    lux_rooms: Mapping[str, str]
    corrected: Mapping[str, object]
    lights_off: Sequence[RoomFacts]


@dataclass(frozen=True)
class Ground:
    """What open points rest on, by group, by kind and of all."""

    groups: Mapping[str, GroupGround]
    kinds: Mapping[str, OfKind]
    all: OfAll

    @cached_property
    def in_room(self) -> Mapping[str, list[str]]:
        """Room id -> its groups, by their ids."""
        found: dict[str, list[str]] = defaultdict(list)
        for id in sorted(self.groups):
            found[self.groups[id].room].append(id)
        return found

    @cached_property
    def of_kind(self) -> Mapping[str, list[str]]:
        """Kind id -> its groups."""
        found: dict[str, list[str]] = defaultdict(list)
        for id, group in self.groups.items():
            found[group.kind].append(id)
        return found

    def cavities(self, but: Container[str]) -> Iterator[Cavity]:
        """What counts of cavities for lots of readings, but for those of some groups."""
        for id, group in self.groups.items():
            if id not in but:
                yield from (_cavity(group.kind, each) for each in group.cavities)

    def today(self, room: str) -> dict[str, Today]:
        """The groups of a room as they are, as far as others in it ask."""
        groups = ((id, self.groups[id]) for id in self.in_room.get(room, ()))
        return {id: _today(each) for id, each in groups if each.is_planned}

    def is_as_before(self, id: str, now: Today | None) -> bool:
        """Whether a group gives the light and takes the watts that it did, as far as others in its room ask."""
        group = self.groups.get(id)
        before = None if group is None or not group.is_planned else _today(group)
        return _asked_of(before) == _asked_of(now)

    def rooms_today(self, survey: Survey, but: Container[str]) -> Iterator[RoomToday]:
        """Rooms with fixtures as they are, but some; of the survey rooms and kinds are looked at."""
        for id in self.in_room:
            today = {} if id in but else self.today(id)
            if today:
                room = cast("RoomView", survey.by_id[id])
                kinds = [cast("KindView", survey.by_id[self.groups[group].kind]) for group in today]
                yield RoomToday(room, kind_of_room(room, kinds), as_found_of(today.values()))

    def with_record(self, id: str) -> Iterator[str]:
        """Groups in which a record may have stood."""
        start = id[:LETTERS]
        return (group for group, each in self.groups.items() if start in each.within)


def _today(group: GroupGround) -> Today:
    # Of what the group is now nobody asks who looks at it from another group.
    return Today(cast("Now", None), group.lumens, group.watts, tuple(group.rest_on), group.as_found_lux)


def _asked_of(today: Today | None) -> object:
    return None if today is None else (today.lumens, today.watts, list(today.rest_on), today.as_found_lux)


def _cavity(kind: str, kept: list[object]) -> Cavity:
    by, instrument, id, pair, is_settled = kept
    # As `cavities_kept` writes them.
    both = None if pair is None else Pair(*cast("list[int]", pair))
    return Cavity(str(by), str(instrument), str(id), kind, both, bool(is_settled))


def cavities_kept(cavities: Iterable[Cavity]) -> list[list[object]]:
    """What counts of a group's cavities, as it is kept."""
    return [
        [each.by, each.instrument, each.id, None if each.pair is None else list(astuple(each.pair)), each.is_settled]
        for each in cavities
    ]


def ground_of(
    planned: SitePlan,
    survey: Survey,
    judgements: Mapping[str, Judgement],
    off: Sequence[RoomFacts],
    read_again: Survey | None,
) -> Ground:
    """What the open points of a site rest on.

    Parameters
    ----------
    planned : SitePlan
        Its plans.
    survey : Survey
        All its records.
    judgements : mapping
        Judgements of groups to be converted, whole or in short.
    off : sequence of RoomFacts
        Rooms whose readings of light lie outside what was reckoned.
    read_again : Survey or None
        Where a cavity was read twice: the records with readings that say whose word they are.
    """
    groups = (each for each in survey.all if each["type"] == "group")
    to_convert = {each["id"] for each in survey.groups_to_convert()}
    return Ground(
        {
            each["id"]: group_ground(
                survey,
                cast("GroupView", each),
                planned.inputs.today.get(each["parent"] or "", {}).get(each["id"]),
                planned.fingerprints.get(each["id"], (b"",))[0].hex(),
                judgements.get(each["id"]),
                planned.plans.get(each["id"]),
                given(survey, cast("GroupView", each), is_to_convert=each["id"] in to_convert),
                cavities_in(read_again, each["id"]),
            )
            for each in groups
        },
        of_each_kind(planned.inputs),
        of_all(planned.inputs, survey, None if read_again is None else planned.inputs.kinds_held, off),
    )


def of_all(inputs: Inputs, survey: Survey, held: Sequence[KindHeld] | None, off: Sequence[RoomFacts]) -> OfAll:
    """What is kept of a site as a whole: see `OfAll`."""
    rooms = {each["id"]: each["parent"] or "" for each in survey.of_type("lux_reading")}
    kinds = (cast("KindView", each) for each in survey.all if each["type"] == "kind")
    leading = [each["id"] for each in kinds if is_leading(each)]
    return OfAll(Fingerprints(inputs).of_all, leading, held, rooms, corrected(inputs.light), off)


def corrected(light: SiteLight) -> dict[str, object]:
    """Room -> what readings make of the estimates of its light, of rooms for which they make anything."""
    found = {room: correction_of(light, room) for room in light.kinds}
    return {room: each for room, each in found.items() if each is not None}


def cavities_in(read_again: Survey | None, group_id: str) -> list[list[object]]:
    """What counts of a group's cavities for their lots; nothing of one that was removed, or where no cavity was read twice."""
    group = None if read_again is None else read_again.by_id.get(group_id)
    if read_again is None or group is None or not read_again.is_live(group):
        return []
    return cavities_kept(cavities_of(read_again, cast("GroupView", group)))


def group_ground(
    survey: Survey,
    group: GroupView,
    today: Today | None,
    of_inputs: str,
    judged: Judgement | None,
    plan: PlanInShort | None,
    told: str,
    cavities: list[list[object]],
) -> GroupGround:
    """What is kept of one group; `told` is what its kind is told of it, `cavities` as `cavities_in` has them."""
    is_ready = plan is None or plan["state"] == READY
    proposal = None if plan is None else plan["proposal"]
    return GroupGround(
        kind_id(group),
        group["parent"] or "",
        group["removed"],
        fixtures_of(group),
        today is not None,
        None if today is None else today.lumens,
        None if today is None else today.watts,
        [] if today is None else list(today.rest_on),
        None if today is None else today.as_found_lux,
        of_inputs,
        told,
        None if judged is None else json_text.dumps(judged),
        None if plan is None or is_ready else json_text.dumps(plan["blockers"]),
        list(proposal["fill_items"]) if plan is not None and plan["state"] == READY and proposal is not None else [],
        noted_in(survey, group),
        " ".join(each["id"][:LETTERS] for each in _within(survey, group)),
        cavities,
    )


def given(survey: Survey, group: GroupView, *, is_to_convert: bool) -> str:
    """Fingerprint of what a kind is told of a group: equal fingerprints, and nothing that is worked out by kind is another."""
    if not is_to_convert:
        return ""
    readings = [[each["id"], each["facets"]] for each in survey.children(group, "cavity_reading")]
    return fingerprint_of([[facet(group, name) for name in GIVEN], readings])


def noted_in(survey: Survey, group: GroupView) -> dict[str, int]:
    """Outcome -> fixtures of a group of which it was noted last, those converted beyond its count with them."""
    beyond = converted_beyond_count(survey, group)
    found: dict[str, int] = {}
    for position, installation in newest_outcomes(survey, group).items():
        if position not in beyond and not is_position(group, position):
            continue
        outcome = str(facet(installation, "identity").get("outcome", ""))
        found[outcome] = found.get(outcome, 0) + 1
    return found


def kind_id(group: Record) -> str:
    """The id of a group's kind."""
    return str(facet(group, "identity").get("kind", ""))


def _within(survey: Survey, record: Record) -> Iterator[Record]:
    """Records that stand in one, removed ones too."""
    for each in survey.every_child(record):
        yield each
        yield from _within(survey, each)


# -- as lines


def to_lines(ground: Ground) -> Iterator[object]:
    """The ground as lines to be kept: how many kinds there are and which are held, each kind, each group."""
    yield [len(ground.kinds), *ground.all]
    for kind, of in ground.kinds.items():
        read = of.read
        spread = [of.spread.squares_ticks2, of.spread.degrees]
        yield [kind, spread, of.lengths, [read.fixtures, read.cavities, read.population]]
    for id, group in ground.groups.items():
        yield [id, *group]


def of_lines(lines: Iterable[object]) -> Ground | None:
    """The ground that was kept as lines; None of no lines."""
    # The lines are our own; `to_lines` says what stands in them.
    left = iter(lines)
    first = cast("list[object] | None", next(left, None))
    if first is None:
        return None
    number, *of_whole = first
    kinds: dict[str, OfKind] = {}
    for _ in range(cast("int", number)):
        kind, spread, lengths, read = cast("tuple[str, list[int], list[int], list[int]]", next(left))
        kinds[kind] = OfKind(Spread(*spread), lengths, ReadOfKind(*read))
    groups: dict[str, GroupGround] = {}
    for line in left:
        id, *values = cast("list[object]", line)
        groups[cast("str", id)] = GroupGround._make(values)
    return Ground(groups, kinds, OfAll._make(of_whole))


__all__ = [
    "READY",
    "Ground",
    "GroupGround",
    "OfAll",
    "cavities_in",
    "corrected",
    "given",
    "ground_of",
    "group_ground",
    "kind_id",
    "noted_in",
    "of_all",
    "of_lines",
    "to_lines",
]
