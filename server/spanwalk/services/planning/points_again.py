"""The open points of a large site after some changes: those that the changes touch are found anew, the others stay as they were.

The same comes out as of the whole site found anew. Whatever is not known here to touch a few is taken to touch all (`TooWide`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, cast

from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import Catalogue
from spanwalk.rules.arrangements.choosing.looks import looks_of_mixed_rooms
from spanwalk.rules.arrangements.choosing.weighing import plan_weighed
from spanwalk.rules.arrangements.light.read_light import SiteLight, light_of_site
from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.figures import SiteValue
from spanwalk.rules.judging.judged import bars_offered, in_short
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.points.completeness import Completeness, GroupDone, completeness_of
from spanwalk.rules.points.found import (
    FigureNotUsed,
    KindHeld,
    NotReady,
    OpenPoint,
    RoomFacts,
    Told,
    UnsentDevice,
    lengths_by_kind,
)
from spanwalk.rules.points.open_points import RANK, SiteFacts, in_order, open_points_in
from spanwalk.rules.points.owners import Owner, Part, owner_of
from spanwalk.rules.record_types import GroupView, RoomView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import Survey, facet, name_of_room
from spanwalk.services.planning.changes import around
from spanwalk.services.planning.figures import site_values
from spanwalk.services.planning.fingerprints import Fingerprints
from spanwalk.services.planning.ground import Ground, GroupGround, cavities_in, corrected, given, group_ground, of_all
from spanwalk.services.planning.inputs import (
    Inputs,
    by_kind,
    by_room,
    catalogue_of,
    laid_tables,
    light_of,
    money_of,
    of_each_kind,
    places_of,
)
from spanwalk.services.planning.kept import Sets
from spanwalk.services.planning.neighbourhood import Neighbourhood, Scope, TooWide
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.planning.room_light import lights_off
from spanwalk.services.sync.state import site_records
from spanwalk.services.walk.remeasuring import are_any_repeated, cavities_of, held_of
from spanwalk.storage import json_text

FIRST_OF_PLANS = RANK["held-by-survey"]
"""From this rule on others are told nothing of what is found."""
ABOVE_COUNT, ORPHANS = "position-above-count", "removed-with-children"


class Answer(NamedTuple):
    """Open points of a site in the order of the walk, of what each is, and what is told of them together; see `completeness.Judged`."""

    points: list[OpenPoint]
    owners: list[Owner]
    told: Completeness
    installed: dict[str, dict[str, int]]
    names: dict[str, str]


class Around(NamedTuple):
    """What points hang on besides records: photos that arrived, what phones hold, figures not used."""

    photos: Sequence[str]
    devices: Sequence[UnsentDevice]
    not_used: Sequence[FigureNotUsed]


class Again(NamedTuple):
    """An answer after some changes, what it rests on, and how many records had changed."""

    answer: Answer
    ground: Ground
    changed: int


def found_again(session: Session, site_id: str, head: int, before: Answer, ground: Ground, beside: Around) -> Again:
    """What is open on a site after changes.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    head : int
        Sequence for which the answer before holds.
    before : Answer
        What was open then.
    ground : Ground
        What that rested on.
    beside : Around
        What points hang on now, besides records.

    Raises
    ------
    TooWide
        Where the changes touch so much that all of the site is to be looked at.
    """
    changed = site_records(session, site_id, since=head)
    near = Neighbourhood(session, site_id, ground, changed)
    both = list(zip(before.points, before.owners, strict=True))
    # From where labels and the like were taken nobody tells; but there it was told that they stand where they ought not.
    near.scope.groups.update(owner.id for point, owner in both if point["rule"] == ABOVE_COUNT)
    near.scope.add(rooms=(owner.id for point, owner in both if point["rule"] == ORPHANS and owner.sort == "room"))
    # Points of rooms name the kinds of groups in them.
    of_rooms = ((owner.id, ground.groups.get(owner.told or "")) for _, owner in both if owner.sort == "room")
    near.scope.add(rooms=[id for id, group in of_rooms if group is not None and group.kind in near.scope.kinds])
    known = {owner.told for point, owner in both if _is_of_site(point, owner)}
    while True:
        near.grow()
        near.read_subjects(beside.photos)
        again = _read_again(near, ground)
        inputs = _inputs_of_part(near.survey, near.scope, ground, site_values(session, site_id), again.held)
        if Fingerprints(inputs).of_all != ground.all.offered:
            raise TooWide
        if near.has_grown(again.kinds, _relit(inputs.light, ground) | _in_another_light(inputs, near.scope, ground)):
            continue
        found = _Found(inputs, near.scope, ground, before, beside, again)
        points = found.points()
        now = {owner.told for point, owner in points if _is_of_site(point, owner)}
        size = near.scope.size
        _add_told(near, ground, {each for each in known ^ now if each is not None})
        if size == near.scope.size:
            return Again(*found.merged(points), len(changed))


class _ReadAgain(NamedTuple):
    """Records with readings that say whose word they are, kinds that second readings hold back, and those of which it is another now.

    None and nothing where no cavity was read twice.
    """

    survey: Survey | None
    held: Sequence[KindHeld]
    kinds: set[str]


def _read_again(near: Neighbourhood, ground: Ground) -> _ReadAgain:
    """What second readings say of kinds after changes: a lot goes over many kinds, each with all its groups.

    Raises
    ------
    TooWide
        A cavity was read twice for the first time: of the others it is not known what counts of them.
    """
    if ground.all.kinds_held is None:
        if are_any_repeated(near.survey.all):
            raise TooWide
        return _ReadAgain(None, (), set())
    survey, groups = near.read_again(), near.scope.groups
    cavities = [*ground.cavities(groups)]
    for group in survey.of_type("group"):
        if group["id"] in groups:
            cavities += cavities_of(survey, group)
    kinds = {each["id"]: each for each in survey.all if each["type"] == "kind"}
    held = held_of(cavities, kinds)
    now, then = (
        {id: [each for each in some if each["kind"] == id] for id in kinds} for some in (held, ground.all.kinds_held)
    )
    return _ReadAgain(survey, held, {id for id in kinds if now[id] != then[id]})


def _relit(light: SiteLight, ground: Ground) -> set[str]:
    """Rooms for which readings of light, be they of other rooms, make something else of the estimates than before."""
    now, then = corrected(light), ground.all.corrected
    return {room for room in now.keys() | then.keys() if now.get(room) != then.get(room)}


def _in_another_light(inputs: Inputs, scope: Scope, ground: Ground) -> set[str]:
    """Rooms that are not looked at as a whole, of which a group that is looked at gives other light or takes other watts than before."""
    survey = inputs.survey
    here = {id: str(survey.by_id[id]["parent"]) for id in scope.groups & survey.by_id.keys()}
    here = {id: room for id, room in here.items() if room not in scope.rooms}
    there = Survey(around(survey, lambda group: group["id"] in here), inherits=False)
    today = by_room(there, inputs.catalogue, inputs.money, inputs.tables).today
    return {room for id, room in here.items() if not ground.is_as_before(id, today.get(room, {}).get(id))}


def _is_of_site(point: OpenPoint, owner: Owner) -> bool:
    """Whether a point is of the site as a whole and keeps other rules from telling the same."""
    return owner.sort == "site" and RANK[point["rule"]] < FIRST_OF_PLANS


def _add_told(near: Neighbourhood, ground: Ground, ids: set[str]) -> None:
    """Take in what points of the site tell of now, or no longer do: what is told of groups there may be another."""
    for id in ids:
        record = near.survey.by_id.get(id)
        if id in ground.groups or (record is not None and record["type"] == "group"):
            near.scope.groups.add(id)
        elif record is not None and record["type"] == "kind":
            near.scope.add(kinds=(id,))
        else:
            near.scope.add(rooms=(id,))


@dataclass(frozen=True)
class _Planned:
    """Judgements and plans of groups that had to be made anew, and the fingerprints of all."""

    fingerprints: Mapping[str, str]
    judgements: Mapping[str, Judgement]
    plans: Mapping[str, PlanInShort]


class _Found:
    """What is found of a part of a site."""

    def __init__(
        self, inputs: Inputs, scope: Scope, ground: Ground, before: Answer, beside: Around, again: _ReadAgain
    ) -> None:
        self._survey, self._scope, self._before, self._beside = inputs.survey, scope, before, beside
        self._inputs, self._again = inputs, again
        self._planned = _planned(inputs, ground)
        self._ground = self._grounded(ground)

    def _has(self, owner: Owner) -> bool:
        scope = self._scope
        ids = {"room": scope.rooms, "kind": scope.kinds, "group": scope.groups}
        return owner.sort == "site" or owner.id in ids[owner.sort]

    def points(self) -> list[tuple[OpenPoint, Owner]]:
        """The points of the part, and of the site as a whole."""
        stays = self._staying()
        told = [
            Told(point["record"], point["room"])
            for point, _ in stays
            if RANK[point["rule"]] < FIRST_OF_PLANS and point["record"] in self._survey.by_id
        ]
        found = open_points_in(self._survey, self._facts(), tables(), part=Part(self._has, told))
        return [(point, owner_of(self._survey, point)) for point in found]

    def _staying(self) -> list[tuple[OpenPoint, Owner]]:
        before = zip(self._before.points, self._before.owners, strict=True)
        return [(point, owner) for point, owner in before if not self._has(owner)]

    def merged(self, points: Sequence[tuple[OpenPoint, Owner]]) -> tuple[Answer, Ground]:
        """The points of the part with those that stay, and all that is told of them together."""
        survey, ground = self._survey, self._ground
        both = [*self._staying(), *points]
        owners = {id(point): owner for point, owner in both}
        ordered = in_order(survey, [point for point, _ in both])
        held = {owner.told for _, owner in both}

        def groups(room: RoomView) -> list[GroupDone]:
            there = ((each, ground.groups[each]) for each in ground.in_room.get(room["id"], ()))
            return [
                GroupDone(group.fixtures, held.isdisjoint((each, group.kind)))
                for each, group in there
                if not group.removed
            ]

        told = completeness_of(survey, ordered, groups)
        answer = Answer(ordered, [owners[id(each)] for each in ordered], told, installed(survey, ground), names(survey))
        return answer, ground

    def _facts(self) -> SiteFacts:
        inputs, ground, groups = self._inputs, self._ground, self._scope.groups
        near = {id: ground.groups[id] for id in groups if id in ground.groups}
        judgements = {id: json_text.loads(each.judgement) for id, each in near.items() if each.judgement is not None}
        others = {kind: of.lengths for kind, of in ground.kinds.items() if kind not in self._scope.kinds}
        return {
            "photos_arrived": self._beside.photos,
            "devices": self._beside.devices,
            "judgements": judgements,
            "figures_not_used": self._beside.not_used,
            "not_ready": [
                NotReady(group=id, because=cast("list[Said]", json_text.loads(each.blockers)))
                for id, each in near.items()
                if each.blockers is not None
            ],
            "lights_off": ground.all.lights_off,
            "looks_mixed": _looks_mixed(ground, inputs.catalogue),
            "kinds_held": inputs.kinds_held,
            "lengths": lengths_by_kind(self._survey) | others,
            "read": inputs.read,
        }

    def _grounded(self, before: Ground) -> Ground:
        """The ground with what is now kept of the part."""
        survey, inputs, planned = self._survey, self._inputs, self._planned
        to_convert = {each["id"] for each in survey.groups_to_convert()}
        groups = {**before.groups}
        for id in sorted(self._scope.groups & survey.by_id.keys()):
            group, old = cast("GroupView", survey.by_id[id]), before.groups.get(id)
            now = group_ground(
                survey,
                group,
                inputs.today.get(group["parent"] or "", {}).get(id),
                planned.fingerprints.get(id, ""),
                planned.judgements.get(id),
                planned.plans.get(id),
                given(survey, group, is_to_convert=id in to_convert),
                cavities_in(self._again.survey, id),
            )
            stays = id in inputs.places and id not in planned.plans and old is not None
            groups[id] = _with_plan_of(now, cast("GroupGround", old)) if stays else now
        kinds = {kind: of for kind, of in before.kinds.items() if kind not in self._scope.kinds}
        worked_out = of_each_kind(inputs)
        kinds |= {kind: of for kind, of in worked_out.items() if kind in self._scope.kinds}
        held = None if self._again.survey is None else self._again.held
        return Ground(groups, kinds, of_all(inputs, survey, held, self._lights_off(before)))

    def _lights_off(self, before: Ground) -> list[RoomFacts]:
        """Rooms whose readings of light lie outside what was reckoned: those of the part as they are now."""
        planned, rooms = SitePlan(0, self._inputs, dict(self._planned.plans)), self._scope.rooms
        stays = [each for each in before.all.lights_off if each["room"] not in rooms]
        return stays + lights_off(planned, lambda room: room in rooms)


def _with_plan_of(now: GroupGround, before: GroupGround) -> GroupGround:
    """What is kept of a group whose plan is what it was."""
    return now._replace(judgement=before.judgement, blockers=before.blockers, bars=before.bars)


def _inputs_of_part(
    survey: Survey, scope: Scope, ground: Ground, own: Sequence[SiteValue], held: Sequence[KindHeld]
) -> Inputs:
    """What the plans of the groups of a part are made from; what the others of their kinds and rooms come to is from the ground."""
    known = {kind: of for kind, of in ground.kinds.items() if kind not in scope.kinds}
    laid, catalogue, money = laid_tables(survey, own), catalogue_of(survey), money_of(survey)
    kinds = by_kind(Survey(around(survey, lambda group: group["id"] in scope.groups), inherits=False), known)
    there = Survey(around(survey, lambda group: group["parent"] in scope.rooms), inherits=False)
    rooms = by_room(there, catalogue, money, laid)
    places = {id: place for id, place in places_of(survey).items() if id in scope.groups}
    today = {room["id"]: ground.today(room["id"]) for _, room in places.values()} | rooms.today
    inputs = Inputs(
        {},
        survey,
        own,
        laid,
        catalogue,
        money,
        rooms.places,
        kinds.to_judge,
        kinds.doubts,
        today,
        rooms.partners,
        rooms.unpaired,
        bars_offered(survey),
        kinds.read,
        light_of_site(survey, (), 0.0),
        held,
    )
    inputs.light = light_of(replace(inputs, today=rooms.today), ground.rooms_today(survey, scope.rooms))
    inputs.places = places
    return inputs


def _planned(inputs: Inputs, ground: Ground) -> _Planned:
    """Plans of those groups of which something changed that they are made from, or of which others ask: pairs, rooms with readings of light."""
    fingerprints, plans, judgements = Fingerprints(inputs), dict[str, PlanInShort](), dict[str, Judgement]()
    found, sets = dict[str, str](), Sets()
    read = {each["parent"] for each in inputs.survey.of_type("lux_reading")}
    # Of a kind that was removed nothing is planned, but what was read of it is judged.
    for id in inputs.to_judge.keys() - inputs.places.keys():
        judgements[id] = in_short(inputs.judged(id))
    for id in sorted(sorted(inputs.places), key=inputs.is_fed):
        found[id] = fingerprints.of_inputs(id, plans).hex()
        old = ground.groups.get(id)
        is_asked = id in inputs.partners or inputs.places[id][1]["id"] in read
        if old is not None and old.of_inputs == found[id] and not is_asked:
            continue
        body = inputs.body(id, plans)
        if body.judged:
            judgements[id] = in_short(body.judged)
        plans[id], _ = plan_weighed(body, sets.shared)
    return _Planned(found, judgements, plans)


def _looks_mixed(ground: Ground, catalogue: Catalogue) -> list[RoomFacts]:
    """Rooms in which bars of more than one look are proposed."""
    plans = [{"proposal": {"fill_items": each.bars}, "room": each.room} for each in ground.groups.values() if each.bars]
    mixed = looks_of_mixed_rooms(cast("list[PlanInShort]", plans), catalogue.by_id)
    return [{"room": room, "facts": {"looks": looks}} for room, looks in mixed.items()]


def installed(survey: Survey, ground: Ground) -> dict[str, dict[str, int]]:
    """What was noted last of each fixture, counted by floor and outcome."""
    found: dict[str, dict[str, int]] = {}
    for group in ground.groups.values():
        room = survey.by_id.get(group.room)
        if group.noted and not group.removed and (room is None or survey.is_live(room)):
            floor = found.setdefault("" if room is None else str(room["parent"]), {})
            for outcome, number in group.noted.items():
                floor[outcome] = floor.get(outcome, 0) + number
    return found


def names(survey: Survey) -> dict[str, str]:
    """What rooms and floors are called, by id."""
    floors = {each["id"]: str(facet(each, "identity").get("name", "")) for each in survey.of_type("floor")}
    return floors | {each["id"]: name_of_room(each) for each in survey.of_type("room")}


__all__ = ["Again", "Answer", "Around", "found_again", "installed", "names"]
