"""What the plans of a site are made from, put together group by group."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain
from typing import NamedTuple, cast

from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import NOTHING_READ, Body, Catalogue, Neighbour, Others
from spanwalk.rules.arrangements.light.read_light import RoomToday, SiteLight, kind_of_room, light_of_site
from spanwalk.rules.arrangements.now import Now, now
from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.arrangements.site_figures import used_today
from spanwalk.rules.figures import SiteValue, with_site_values
from spanwalk.rules.fit.by_lamp import Asked, GroupRead, ReadOfKind, read_of_kind
from spanwalk.rules.fit.cavity import Spread, pooled
from spanwalk.rules.fit.sampling import counting, questions_of, spread_of_group
from spanwalk.rules.judging.judged import ToJudge, bars_offered, to_judge
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.judging.judging import judge_group
from spanwalk.rules.light.light import illuminance_lux
from spanwalk.rules.own_rows import with_own_rows
from spanwalk.rules.points import readings
from spanwalk.rules.points.found import KindHeld, Seen, lengths_by_kind
from spanwalk.rules.record_types import CatalogueItemView, GroupView, KindView, RoomView
from spanwalk.rules.record_view import Facet, Record, Tables
from spanwalk.rules.said import Facts, Said
from spanwalk.rules.survey import Survey, facet, floor_order, mark_of, walk_order

Plan = PlanInShort
Doubts = list[Facts]
LEADS_TO = {
    "ballast-here-feeds-the-neighbour": "fed-from-the-neighbours-ballast",
    "fed-from-the-neighbours-ballast": "ballast-here-feeds-the-neighbour",
}


KEPT_CATALOGUES = 4
FEW = 8
"""Groups of which it is kept at a time what else lights their rooms: of all it would be as many notes as pairs of groups in a room."""
_catalogues: deque[Catalogue] = deque(maxlen=KEPT_CATALOGUES)
"""The newest of this process, of whatever site."""


@dataclass(frozen=True)
class Today:
    """A group as it is, light with all lamps burning [lm] and watts as found, and the figures of the site that these rest on.

    `as_found_lux` is its part of the room's light as found, by the tables alone [lx]. Of a body that its neighbour's ballast lights, `now` knows no neighbour.
    """

    now: Now
    lumens: float | None
    watts: float | None
    rest_on: tuple[Mapping[str, str], ...]
    as_found_lux: float | None = None


@dataclass
class Inputs:
    """What the plans of one site are made from.

    Parameters
    ----------
    said : dict
        Record id -> the record as it says it itself.
    survey : Survey
        Its records, with what they have from above.
    own : sequence of SiteValue
        Figures that the site set in place of the tables'.
    tables : mapping
        Reference tables with those.
    catalogue : Catalogue
        What it offers.
    money : mapping
        Its terms; empty where nobody set them.
    places : dict
        Group id -> kind and room, of every live group that has them; what is left as it is too, since a manager may
        look at it.
    to_judge : dict
        Group id -> what its judgement hangs on, of groups that are to be converted.
    doubts : dict
        Group id -> what is to be told of its readings that match another lamp or stand alone.
    today : dict
        Room id -> group id -> light and watts today.
    partners : dict
        Group id -> group with which it shares ballasts.
    unpaired : dict
        Group id -> code and facts of why it is not clear with which.
    read : dict
        Kind id -> what was read of it.
    kinds_held : sequence of KindHeld
        Kinds whose second readings hold them back.
    light : SiteLight
        What readings of light make of the estimates of each room.
    """

    said: Mapping[str, Record]
    survey: Survey
    own: Sequence[SiteValue]
    tables: Tables
    catalogue: Catalogue
    money: Facet
    places: dict[str, tuple[KindView, RoomView]]
    to_judge: dict[str, ToJudge]
    doubts: dict[str, Doubts]
    today: dict[str, dict[str, Today]]
    partners: dict[str, str]
    unpaired: dict[str, Said]
    bars: list[CatalogueItemView]
    read: dict[str, ReadOfKind]
    light: SiteLight
    kinds_held: Sequence[KindHeld] = ()
    _others: dict[str, Others] = field(default_factory=dict, init=False, repr=False, compare=False)

    def held_of(self, kind_id: str) -> list[KindHeld]:
        """For what a kind's second readings hold it back."""
        return [each for each in self.kinds_held if each["kind"] == kind_id]

    def is_fed(self, group_id: str) -> bool:
        """Whether a group is lit from its neighbour's ballasts."""
        return _leads(self.places[group_id][0]) == "fed-from-the-neighbours-ballast"

    def walk(self, group_id: str) -> tuple[int, int, str, str, str, str]:
        """Place of a group in the order of the walk."""
        kind, room = self.places[group_id]
        number = facet(room, "identity").get("number", "")
        return (floor_order(self.survey.floor_of(room)), walk_order(room), number, room["id"], mark_of(kind), group_id)

    def floor_name(self, group_id: str) -> str:
        """What the floor of a group is called; empty where it is on none."""
        return str(facet(self.survey.floor_of(self.places[group_id][1]), "identity").get("name", ""))

    def body(self, group_id: str, plans: Mapping[str, Plan], judged: Judgement | None = None) -> Body:
        """One group with all that its plan hangs on, judged.

        Parameters
        ----------
        group_id : str
            The group.
        plans : mapping
            Plans of those that feed their neighbours, by group id.
        judged : mapping, optional
            Its judgement, where that is at hand.
        """
        site, (kind, room) = self.survey.site(), self.places[group_id]
        return Body(
            cast("GroupView", self.survey.by_id[group_id]),
            kind,
            room,
            site,
            self.judged(group_id) if judged is None else judged,
            self.catalogue,
            self.money,
            self.tables,
            self.others(group_id),
            self.partner(group_id, plans),
            self.doubts.get(group_id, ()),
            self.unpaired.get(group_id),
            self.read.get(kind["id"], NOTHING_READ),
            self.held_of(kind["id"]),
            self.light.of(room["id"]),
        )

    def judged(self, group_id: str) -> Judgement:
        """What is judged of a group's fits; empty where it is not to be converted."""
        judge = self.to_judge.get(group_id)
        if judge is None:
            return {}
        return judge_group(
            judge.group,
            judge.kind,
            judge.room,
            self.survey.site(),
            judge.readings,
            judge.elsewhere,
            self.bars,
            tables(),
            judge.trials,
        )

    def others(self, group_id: str) -> Others:
        """What else lights the room of a group; asked for several times in a row while that one is planned."""
        found = self._others.get(group_id)
        if found is None:
            found = self._others_anew(group_id)
            if len(self._others) >= FEW:
                self._others.clear()
            self._others[group_id] = found
        return found

    def _others_anew(self, group_id: str) -> Others:
        room = self.places[group_id][1]
        others = [each for id, each in self.today[room["id"]].items() if id != group_id]
        known = all(each.lumens is not None and each.watts is not None for each in others)
        rest_on = tuple(note for each in others for note in each.rest_on)
        return Others(sum(each.lumens or 0 for each in others), sum(each.watts or 0 for each in others), known, rest_on)

    def partner(self, group_id: str, plans: Mapping[str, Plan]) -> Neighbour | None:
        """The group that shares ballasts with one: for the fed one with the plan of the feeding one, else judged."""
        partner = self.partners.get(group_id)
        if partner is None:
            return None
        there = (cast("GroupView", self.survey.by_id[partner]), self.places[partner][0])
        if self.is_fed(group_id):
            return Neighbour(*there, others=self.others(partner), plan=plans.get(partner))
        read = self.read.get(there[1]["id"], NOTHING_READ)
        return Neighbour(
            *there,
            self.judged(partner),
            self.doubts.get(partner, ()),
            self.others(partner),
            read_of_kind=read,
            kind_held=self.held_of(there[1]["id"]),
        )


def inputs_of(records: Iterable[Record], own: Sequence[SiteValue] = (), kinds_held: Sequence[KindHeld] = ()) -> Inputs:
    """What plans are made from, among view records, the site's own figures, and kinds whose second readings hold them back."""
    said = {each["id"]: each for each in records}
    survey = Survey(said.values())
    laid = laid_tables(survey, own)
    catalogue, money = catalogue_of(survey), money_of(survey)
    kinds, rooms = by_kind(survey), by_room(survey, catalogue, money, laid)
    found = Inputs(
        said,
        survey,
        own,
        laid,
        catalogue,
        money,
        rooms.places,
        kinds.to_judge,
        kinds.doubts,
        rooms.today,
        rooms.partners,
        rooms.unpaired,
        bars_offered(survey),
        kinds.read,
        light_of_site(survey, (), 0.0),
        kinds_held,
    )
    found.light = light_of(found)
    return found


def catalogue_of(survey: Survey) -> Catalogue:
    """What a site offers; an equal one from before, with what was worked out for it, and that too where prices alone are others."""
    found = Catalogue.of(survey.all)
    for each in list(_catalogues):
        if each == found:
            return each
    for each in list(_catalogues):
        if replace(each, prices=found.prices) == found:
            # What drivers do for bars, and in which places they may lie, hangs on no price.
            found.__dict__.update(driver_options=each.driver_options, placed=each.placed)
            break
    _catalogues.append(found)
    return found


def laid_tables(survey: Survey, own: Sequence[SiteValue]) -> Tables:
    """Reference tables with the site's own figures and rows."""
    laid, _ = with_site_values(tables(), own) if own else (dict(tables()), [])
    added = survey.of_type("own_row")
    return with_own_rows(laid, added)[0] if added else laid


def light_of(inputs: Inputs, others: Iterable[RoomToday] = ()) -> SiteLight:
    """What readings of light make of the estimates of each room; `others` are rooms of which the groups are not among the inputs."""
    share = float(inputs.tables["bodies"]["range_share"])
    return light_of_site(inputs.survey, chain(_rooms_today(inputs), others), share)


def correction_of(light: SiteLight, room_id: str) -> list[object] | None:
    """What readings of light make of the estimates in a room; None where none counts."""
    found = light.of(room_id)
    return [list(found.today), list(found.new), found.points] if found.is_corrected else None


def as_found_of(today: Iterable[Today]) -> float | None:
    """Light of a room as found by the tables, of all its groups; None where that of one is not known [lx]."""
    parts = [each.as_found_lux for each in today]
    known = [each for each in parts if each is not None]
    return sum(known) if len(known) == len(parts) else None


def money_of(survey: Survey) -> Facet:
    """The terms of money of a site; empty where nobody set them."""
    money = survey.of_type("money")
    return facet(money[0], "identity") if money else {}


class OfKinds(NamedTuple):
    """What is worked out kind by kind, over all its groups: see `Inputs`."""

    to_judge: dict[str, ToJudge]
    doubts: dict[str, Doubts]
    read: dict[str, ReadOfKind]


class OfKind(NamedTuple):
    """What a group's plan has from the other groups of its kind: spread, lengths of all readings that count [1/320 mm], what was read."""

    spread: Spread
    lengths: list[int]
    read: ReadOfKind


def by_kind(survey: Survey, known: Mapping[str, OfKind] | None = None) -> OfKinds:
    """What is worked out by kind, for all kinds of which the survey has the groups.

    Parameters
    ----------
    survey : Survey
        The site's records, or those of some kinds.
    known : mapping, optional
        What is known of kinds of which it has not every group.
    """
    known = known or {}
    spreads = {kind: each.spread for kind, each in known.items()}
    judge = {each.group["id"]: each for each in to_judge(survey, tables(), spreads)}
    asked = {id: questions_of(counting(each.readings), each.kind, tables()) for id, each in judge.items()}
    lengths = lengths_by_kind(survey) | {kind: each.lengths for kind, each in known.items()}
    read = _read_of_kinds(judge, asked) | {kind: each.read for kind, each in known.items()}
    return OfKinds(judge, _doubts(survey, asked, lengths), read)


def of_each_kind(inputs: Inputs) -> dict[str, OfKind]:
    """What of the inputs each group has from the others of its kind."""
    lengths, first = lengths_by_kind(inputs.survey), dict[str, ToJudge]()
    for each in inputs.to_judge.values():
        first.setdefault(each.kind["id"], each)
    return {
        kind: OfKind(
            pooled([each.elsewhere, spread_of_group(each.group, each.kind, each.readings, tables())]),
            lengths[kind],
            inputs.read[kind],
        )
        for kind, each in first.items()
    }


class OfRooms(NamedTuple):
    """What is worked out room by room, of all that stands in it: see `Inputs`."""

    places: dict[str, tuple[KindView, RoomView]]
    today: dict[str, dict[str, Today]]
    partners: dict[str, str]
    unpaired: dict[str, Said]


def by_room(survey: Survey, catalogue: Catalogue, money: Facet, laid: Tables) -> OfRooms:
    """What is worked out by room, for all rooms of which the survey has the groups.

    Parameters
    ----------
    survey : Survey
        The site's records, or those of some rooms.
    catalogue, money, laid
        What it offers, its terms of money, and reference tables with its own figures.
    """
    places = places_of(survey)
    partners, unpaired = _partners(survey, places)
    today: dict[str, dict[str, Today]] = defaultdict(dict)
    for group_id, (kind, room) in places.items():
        group = cast("GroupView", survey.by_id[group_id])
        today[room["id"]][group_id] = _today(Body(group, kind, room, survey.site(), {}, catalogue, money, laid))
    return OfRooms(places, dict(today), partners, unpaired)


def places_of(survey: Survey) -> dict[str, tuple[KindView, RoomView]]:
    """Kind and room of every live group that has them, by its id."""
    found = {}
    for group in survey.of_type("group"):
        kind, room = survey.kind_of(group), survey.room_of(group)
        if kind is not None and room is not None and survey.is_live(kind):
            found[group["id"]] = (kind, room)
    return found


def _read_of_kinds(judge: Mapping[str, ToJudge], asked: Mapping[str, Asked]) -> dict[str, ReadOfKind]:
    """Kind id -> what was read of it, over all its groups."""
    groups: dict[str, list[GroupRead]] = defaultdict(list)
    for id, each in judge.items():
        groups[each.kind["id"]].append((each.group, each.kind, each.readings, asked[id]))
    return {kind: read_of_kind(theirs) for kind, theirs in groups.items()}


def _doubts(survey: Survey, asked: Mapping[str, Asked], lengths: Mapping[str, list[int]]) -> dict[str, Doubts]:
    """Group id -> what is to be told of its readings that match another lamp or stand alone, until they are confirmed."""
    seen = Seen(
        survey,
        None,
        [],
        {id: Judgement(questions=cast("dict[str, list[Said]]", each)) for id, each in asked.items()},
        lengths,
    )
    found: dict[str, Doubts] = {}
    for doubt in (*readings.reading_matches_another(seen), *readings.outlier(seen)):
        group = str(survey.by_id[doubt.record]["parent"])
        found.setdefault(group, []).append({name: doubt.facts[name] for name in ("as_entered", "position")})
    return found


def _today(body: Body) -> Today:
    current = now(body)
    lit, place = current.light, current.room
    lumens = None if lit is None else lit.all_burning_lm
    lux = None if lit is None or place is None else illuminance_lux(lit.as_found_lm, place.utilisation, place.area_m2)
    return Today(current, lumens, current.watts, used_today(body, current), lux)


def _rooms_today(inputs: Inputs) -> Iterator[RoomToday]:
    """Rooms with fixtures, of what kind they are, and their light as found where every group's is known."""
    for groups in inputs.today.values():
        room = inputs.places[next(iter(groups))][1]
        kinds = [inputs.places[id][0] for id in groups]
        yield RoomToday(room, kind_of_room(room, kinds), as_found_of(groups.values()))


def _partners(
    survey: Survey, places: Mapping[str, tuple[KindView, RoomView]]
) -> tuple[dict[str, str], dict[str, Said]]:
    """Group id -> the group in the same room that shares ballasts with it; and, where that is not clear, why.

    As many groups that feed as are fed pair off by their counts. Else only those pair off of which one of each has a count;
    for the others it is not clear which feeds which.
    """
    by_room: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for group_id, (kind, room) in places.items():
        if _leads(kind) in LEADS_TO:
            by_room[room["id"]][_leads(kind)].append(group_id)
    pairs: dict[str, str] = {}
    unclear: dict[str, Said] = {}
    for of_leads in by_room.values():
        feeding, fed = (sorted(of_leads[leads], key=lambda id: (_count(survey, id), id)) for leads in LEADS_TO)
        found = (
            list(zip(feeding, fed, strict=True))
            if len(feeding) == len(fed)
            else _alone_with_their_count(survey, feeding, fed)
        )
        for one, other in found:
            pairs[one], pairs[other] = other, one
        left = [[id for id in ids if id not in pairs] for ids in (feeding, fed)]
        if all(left):
            counts = {
                name: [_count(survey, id) for id in ids] for name, ids in zip(("feeding", "fed"), left, strict=True)
            }
            unclear |= {id: {"code": "plan.blocked.neighbour-several", "facts": counts} for ids in left for id in ids}
    return pairs, unclear


def _alone_with_their_count(survey: Survey, feeding: Sequence[str], fed: Sequence[str]) -> list[tuple[str, str]]:
    """Pairs of one that feeds and one that is fed, where no other group has their count."""
    found = []
    for one in feeding:
        count = _count(survey, one)
        alike = [[id for id in ids if _count(survey, id) == count] for ids in (feeding, fed)]
        if [len(ids) for ids in alike] == [1, 1]:
            found.append((one, alike[1][0]))
    return found


def _leads(kind: KindView) -> str:
    return str(facet(kind, "wiring").get("neighbour_leads", ""))


def is_leading(kind: KindView) -> bool:
    """Whether bodies of a kind feed their neighbour, or are fed from it."""
    return _leads(kind) in LEADS_TO


def _count(survey: Survey, group_id: str) -> int:
    return int(facet(cast("GroupView", survey.by_id[group_id]), "count").get("count", 0))


__all__ = [
    "Inputs",
    "OfKind",
    "Today",
    "as_found_of",
    "by_kind",
    "by_room",
    "catalogue_of",
    "correction_of",
    "inputs_of",
    "is_leading",
    "laid_tables",
    "light_of",
    "money_of",
    "of_each_kind",
    "places_of",
]
