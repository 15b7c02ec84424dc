"""The plan of every group of a site: made by the rules from its records, kept for as long as nothing in it changes."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain
from threading import Lock
from typing import NamedTuple, Protocol, cast

from flask import current_app, has_request_context
from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.body import Body, Catalogue
from spanwalk.rules.arrangements.choosing.weighing import Ways, plan_weighed
from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.figures import SiteValue
from spanwalk.rules.judging.judged import in_short
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.points.found import KindHeld
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey
from spanwalk.services.background.standing_back import stand_back
from spanwalk.services.people.members import incarnation
from spanwalk.services.planning.changes import with_changes
from spanwalk.services.planning.figures import TYPE as FIGURE
from spanwalk.services.planning.figures import site_values
from spanwalk.services.planning.fingerprints import NO_FINGERPRINTS, Fingerprints
from spanwalk.services.planning.inputs import Inputs, inputs_of
from spanwalk.services.planning.kept import Kept, Sets
from spanwalk.services.planning.kept_answers import keep_answer, kept_answer, kept_in_parts
from spanwalk.services.planning.under_way import Growing, Line, being_planned, groups_of
from spanwalk.services.refusals import Unavailable
from spanwalk.services.sync.state import site_head, site_records
from spanwalk.services.walk.remeasuring import kinds_held

Plan = PlanInShort
KEPT_GROUPS = 40_000
"""Groups whose plans a process keeps, about 10 kB each with their records; the site asked for last is always kept."""
KEPT_FROM_MADE = 500
"""So many plans made at once are kept in the database too."""
AT_ONCE_MOST = 1_000
"""So many groups are planned while somebody waits, about 6 s; more are planned in the background of a server."""
FAILED_AGAIN_S = 60
"""So long after plans of a large site could not be made it is not tried again: who asks is told that, not to wait."""
WAIT_MOST_S = 5.0
"""For another request that plans the same site."""
PLANNER = "spanwalk-planner"
"""Name of who plans in the background, among the app's extensions."""
PLANNED_FROM = (
    "site",
    "money",
    "catalogue_item",
    "price",
    "floor",
    "panel",
    "room",
    "kind",
    "group",
    "cavity_reading",
    "trial_bar",
    "lux_reading",
    "own_row",
)
"""Types of record that a plan is made from; the others would only take memory."""
HELD_FROM = ("cavity_reading", "group", "kind", "room")
"""Types of record from which it is told which kinds second readings hold back."""


@dataclass
class SitePlan:
    """The plans of one site.

    Parameters
    ----------
    head : int
        Sequence they hold for.
    inputs : Inputs
        What they were made from.
    plans : dict
        Plans in short by group id, in the order of the walk.
    fingerprints : dict
        Group id -> what its judgement, and its plan, were made from; equal fingerprints give equal plans.
    judgements : dict
        Group id -> its judgement in short, of groups that are to be converted: see `judged.in_short`.
    kept : dict
        Group id -> what is kept so that other money, hours or light can be weighed; not of those that share a ballast.
    judged, made : int
        Judgements and plans that had to be made anew, for want of one from before.
    told : dict
        What was worked out of these plans for answers, by what asked for it.
    incarnation : str
        In which life of the database they were made: a sequence tells what has changed only within one.
    """

    head: int
    inputs: Inputs
    plans: dict[str, Plan] = field(default_factory=dict)
    fingerprints: dict[str, tuple[bytes, bytes]] = field(default_factory=dict)
    judgements: dict[str, Judgement] = field(default_factory=dict)
    kept: dict[str, Kept] = field(default_factory=dict)
    judged: int = 0
    made: int = 0
    told: dict[object, object] = field(default_factory=dict, init=False)
    incarnation: str = field(default="", init=False)

    @property
    def survey(self) -> Survey:
        """The records they were made from."""
        return self.inputs.survey

    def body(self, group_id: str) -> Body:
        """A group with all that its plan hangs on, put together anew: too large to be kept for every group."""
        return self.inputs.body(group_id, self.plans)

    def take_over(self, group_id: str, before: SitePlan | Before) -> None:
        """A plan from before, the judgement that it rests on, and what is kept beside it."""
        self.plans[group_id] = before.plans[group_id]
        if group_id in before.judgements:
            self.judgements[group_id] = before.judgements[group_id]
        if group_id in before.kept:
            self.kept[group_id] = before.kept[group_id]


_kept: OrderedDict[str, SitePlan] = OrderedDict()
_locks: dict[str, Lock] = {}


class Before(NamedTuple):
    """What is taken over from earlier plans of a site: see `SitePlan`; and for which catalogue it was kept."""

    plans: Mapping[str, Plan]
    fingerprints: Mapping[str, tuple[bytes, bytes]]
    judgements: Mapping[str, Judgement]
    kept: Mapping[str, Kept]
    catalogue: Catalogue | None


NOTHING_BEFORE = Before({}, {}, {}, {}, None)


class TooMany(Exception):
    """More plans would have to be made than anybody ought to wait for."""


class Planner(Protocol):
    """Who plans large sites in the background of a server: see `planner.py`."""

    def soon(self, site_id: str, in_s: float = 0.0) -> None:
        """Have a site planned, once it is its turn."""

    def is_at_work(self, site_id: str) -> bool:
        """Whether it plans this site just now."""

    def has_failed(self, site_id: str) -> bool:
        """Whether planning this site failed a moment ago."""


def planner_here() -> Planner | None:
    """Who plans in the background for who asks now; None: who asks waits, as commands and threads of a server do."""
    return current_app.extensions.get(PLANNER) if has_request_context() else None


def site_plan(session: Session, site_id: str) -> SitePlan:
    """The plans of a site's groups that are to be converted.

    Kept by the site's head; when it has moved, only groups of which something changed are planned anew. Who asks while
    another thread plans the site waits for it.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.

    Raises
    ------
    Unavailable
        The plans of a large site are not made; they are being made in the background, and this says how far they are, or that
        it failed.
    """
    planner, lock = planner_here(), _locks.setdefault(site_id, Lock())
    if planner is None:
        with lock:
            return _planned(session, site_id)
    if planner.is_at_work(site_id):
        return _as_it_stands(session, site_id)
    if not lock.acquire(timeout=WAIT_MOST_S):
        raise being_planned(session, site_id)
    try:
        return _planned(session, site_id, AT_ONCE_MOST)
    except TooMany:
        if planner.has_failed(site_id):
            raise Unavailable("plan.not-made", seconds=FAILED_AGAIN_S) from None
        planner.soon(site_id)
        raise being_planned(session, site_id) from None
    finally:
        lock.release()


def _as_it_stands(session: Session, site_id: str) -> SitePlan:
    """The plans that are kept, if they hold; else how far those are that are made."""
    kept = _kept.get(site_id)
    if kept is None or (kept.head, kept.incarnation) != (site_head(session, site_id), incarnation(session)):
        raise being_planned(session, site_id)
    return kept


def _planned(session: Session, site_id: str, most: int | None = None) -> SitePlan:
    """The plans of a site, made as far as they are not kept.

    Raises
    ------
    TooMany
        More than `most` groups of a site that is not at hand, or of which something changed.
    """
    head, now, kept = site_head(session, site_id), incarnation(session), _kept.get(site_id)
    if kept is None or kept.head > head or kept.incarnation != now:
        if most is not None and groups_of(session, site_id) > most:
            raise TooMany
        before = _kept_plans(session, site_id)
        records = site_records(session, site_id, types=PLANNED_FROM)
        inputs = inputs_of(records, site_values(session, site_id), kinds_held(session, site_id, records))
        found = _grown(session, site_id, _Making(inputs, head, before), most)
    elif kept.head != head:
        found = _grown(session, site_id, _after_changes(session, site_id, kept, head), most)
    else:
        found = kept
    found.incarnation = now
    _kept.pop(site_id, None)
    _kept[site_id] = found
    while len(_kept) > 1 and sum(len(each.plans) for each in list(_kept.values())) > KEPT_GROUPS:
        _kept.popitem(last=False)
    return found


def _grown(session: Session, site_id: str, making: _Making, most: int | None) -> SitePlan:
    """The plans once all are made; of many it is told meanwhile how far they are, and parts of them are kept."""
    if most is not None and making.touched() > most:
        raise TooMany
    growing = Growing(session, site_id)
    try:
        found = making.all_planned(growing)
        if found.made >= KEPT_FROM_MADE or growing.has_parts:
            keep_answer(session, site_id, "plans", found.head, (_line(found, id) for id in found.fingerprints))
    finally:
        growing.end()
    return found


def _line(found: SitePlan, group_id: str) -> Line:
    """A plan as it is kept in the database."""
    of_inputs, of_plan = found.fingerprints[group_id]
    return group_id, of_inputs.hex(), of_plan.hex(), found.plans[group_id], found.judgements.get(group_id)


def _kept_plans(session: Session, site_id: str) -> Before:
    """The plans of a server that ran before this one, or stopped over them, by the same rules: fingerprints tell which of them still hold."""
    kept = kept_answer(session, site_id, "plans")
    plans: dict[str, Plan] = {}
    fingerprints: dict[str, tuple[bytes, bytes]] = {}
    judgements: dict[str, Judgement] = {}
    lines = chain(() if kept is None else kept.lines, kept_in_parts(session, site_id))
    for group, of_inputs, of_plan, plan, judgement in cast("Iterable[Line]", lines):
        plans[group], fingerprints[group] = plan, (bytes.fromhex(of_inputs), bytes.fromhex(of_plan))
        judgements.pop(group, None)
        if judgement is not None:
            judgements[group] = judgement
    return Before(plans, fingerprints, judgements, {}, None)


def _after_changes(session: Session, site_id: str, kept: SitePlan, head: int) -> _Making:
    """What is to be planned of a site of which some plans are kept: only records that changed since are read."""
    changed = site_records(session, site_id, types=(*PLANNED_FROM, FIGURE), since=kept.head)
    figures = kept.inputs.own or any(each["type"] == FIGURE for each in changed)
    own = site_values(session, site_id) if figures else ()
    records = [each for each in changed if each["type"] != FIGURE]
    held = kept.inputs.kinds_held
    if any(each["type"] in HELD_FROM for each in records):
        held = kinds_held(session, site_id, [*{**kept.inputs.said, **{each["id"]: each for each in records}}.values()])
    return _with_changes(kept, records, head, own, held)


def plans_with_changes(
    kept: SitePlan, changed: Sequence[Record], head: int, own: Sequence[SiteValue], held: Sequence[KindHeld] = ()
) -> SitePlan:
    """Plans once some records have changed: only groups that these may touch are looked at.

    Parameters
    ----------
    kept : SitePlan
        The plans before.
    changed : sequence of view records
        What changed, came or was removed.
    head : int
        Sequence they then hold for.
    own : sequence of SiteValue
        Figures that the site sets.
    held : sequence of KindHeld
        Kinds whose second readings hold them back.
    """
    return _with_changes(kept, changed, head, own, held).all_planned()


def _with_changes(
    kept: SitePlan, changed: Sequence[Record], head: int, own: Sequence[SiteValue], held: Sequence[KindHeld]
) -> _Making:
    inputs, touched = with_changes(kept.inputs, changed, own, held)
    before = before_of(kept)
    if before.catalogue == inputs.catalogue:
        inputs.catalogue = kept.inputs.catalogue
    return _Making(inputs, head, before, _none if touched is None else lambda id: id not in touched)


def make_plans(
    records: Iterable[Record], head: int = 0, before: SitePlan | Before = NOTHING_BEFORE, own: Sequence[SiteValue] = ()
) -> SitePlan:
    """Plan every group among view records with the site's own figures, taking over from before what would come out the same.

    A group is judged again only if something changed that its judgement hangs on, its plan is made again only if that
    came out otherwise or something else changed that it hangs on.
    """
    if isinstance(before, SitePlan):
        before = before_of(before)
    inputs = inputs_of(records, own)
    # What was worked out for a catalogue holds for an equal one.
    if before.catalogue == inputs.catalogue:
        inputs.catalogue = before.catalogue
    return plans_from(inputs, head, before)


def before_of(found: SitePlan) -> Before:
    """What is taken over from plans."""
    return Before(found.plans, found.fingerprints, found.judgements, found.kept, found.inputs.catalogue)


def _none(_group_id: str) -> bool:
    return False


def plans_from(
    inputs: Inputs, head: int = 0, before: Before = NOTHING_BEFORE, stays: Callable[[str], bool] = _none
) -> SitePlan:
    """The same of inputs that are at hand; a plan from before for which `stays` says so is taken over unlooked at."""
    return _Making(inputs, head, before, stays).all_planned()


class _Making:
    """The plans of a site as they are made; a plan from before for which `stays` says so is taken over unlooked at."""

    def __init__(self, inputs: Inputs, head: int, before: Before, stays: Callable[[str], bool] = _none) -> None:
        self._inputs, self._before, self._stays = inputs, before, stays
        self._found, self._fingerprints = SitePlan(head, inputs), Fingerprints(inputs)
        self._sets = Sets(before.kept.values() if before.catalogue is inputs.catalogue else ())
        self._of_inputs: dict[str, bytes] = {}

    def touched(self) -> int:
        """Of how many groups something changed that their plans are made from; of those that are fed it shows only later."""
        looked_at = (id for id in self._inputs.places if not self._stands(id) and not self._inputs.is_fed(id))
        return sum(self._fingerprint_before(id)[0] != self._fingerprint(id) for id in looked_at)

    def all_planned(self, growing: Growing | None = None) -> SitePlan:
        """All plans, in the order of the walk."""
        inputs, found = self._inputs, self._found
        walk = sorted(inputs.places, key=inputs.walk)
        if growing is not None:
            growing.begin({id: inputs.floor_name(id) for id in walk})
        # Bodies that feed their neighbour come before those that are fed from it.
        for group_id in sorted(walk, key=inputs.is_fed):
            stand_back()
            is_new = self._plan(group_id)
            if growing is not None:
                growing.planned(group_id, found.plans[group_id], _line(found, group_id) if is_new else None)
        found.plans = {group_id: found.plans[group_id] for group_id in walk}
        return found

    def _stands(self, group_id: str) -> bool:
        return self._stays(group_id) and group_id in self._before.plans

    def _fingerprint_before(self, group_id: str) -> tuple[bytes, bytes]:
        return self._before.fingerprints.get(group_id, NO_FINGERPRINTS)

    def _fingerprint(self, group_id: str) -> bytes:
        """Fingerprint of what a group's plan is made from; of one that is fed, the plan of who feeds it is among that."""
        if group_id not in self._of_inputs:
            self._of_inputs[group_id] = self._fingerprints.of_inputs(group_id, self._found.plans)
        return self._of_inputs[group_id]

    def _judged_before(self, group_id: str) -> Judgement | None:
        """The judgement that is kept, if it still holds; None: it is to be judged anew."""
        kept = self._before.kept.get(group_id)
        if kept is not None and kept.of_judgement == self._fingerprints.of_judgement(group_id):
            return kept.judged
        self._found.judged += 1
        return None

    def _ways_before(self, group_id: str, of_ways: bytes) -> Ways | None:
        """The ways that are kept, if they still hold."""
        kept = self._before.kept.get(group_id)
        is_same = self._before.catalogue is self._inputs.catalogue and kept is not None and kept.of_ways == of_ways
        return kept.ways if kept is not None and is_same else None

    def _plan(self, group_id: str) -> bool:
        """Plan a group, or take its plan over; whether it was made anew."""
        found, before = self._found, self._before
        kept = self._fingerprint_before(group_id)
        if self._stands(group_id) or kept[0] == self._fingerprint(group_id):
            found.fingerprints[group_id] = kept
            found.take_over(group_id, before)
            return False
        body = self._inputs.body(group_id, found.plans, self._judged_before(group_id))
        if body.judged:
            found.judgements[group_id] = in_short(body.judged)
        there = body.partner.judged if body.partner else None
        of_plan = self._fingerprints.of_plan(group_id, found.plans, body.judged, there)
        found.fingerprints[group_id] = (self._fingerprint(group_id), of_plan)
        if kept[1] == of_plan:
            found.take_over(group_id, before)
            return False
        of_ways = self._fingerprints.of_ways(group_id, found.plans)
        found.plans[group_id], ways = plan_weighed(body, self._sets.shared, self._ways_before(group_id, of_ways))
        found.made += 1
        if ways is not None:
            of_judgement = self._fingerprints.of_judgement(group_id)
            found.kept[group_id] = self._sets.kept(ways, body.judged, of_judgement, of_ways)
        return True
