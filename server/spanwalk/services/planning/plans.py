"""The plan of every group of a site: made by the rules from its records, kept for as long as nothing in it changes."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from threading import Lock
from typing import NamedTuple, cast

from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.body import Body, Catalogue
from spanwalk.rules.arrangements.choosing.choosing import Way
from spanwalk.rules.arrangements.plan import plan_in_short
from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.figures import SiteValue
from spanwalk.rules.judging.judged import in_short
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.points.found import KindHeld
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey
from spanwalk.services.people.members import incarnation
from spanwalk.services.planning.changes import with_changes
from spanwalk.services.planning.figures import TYPE as FIGURE
from spanwalk.services.planning.figures import site_values
from spanwalk.services.planning.inputs import NO_PRINTS, Inputs, Prints, inputs_of
from spanwalk.services.planning.kept import Kept, Sets
from spanwalk.services.planning.kept_answers import keep_answer, kept_answer
from spanwalk.services.sync.state import site_head, site_records
from spanwalk.services.walk.remeasuring import kinds_held

Plan = PlanInShort
KEPT_GROUPS = 40_000
"""Groups whose plans a process keeps, about 10 kB each with their records; the site asked for last is always kept."""
KEPT_FROM_MADE = 500
"""So many plans made at once are kept in the database too."""
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
    prints : dict
        Group id -> what its judgement, and its plan, were made from; equal prints give equal plans.
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
    prints: dict[str, tuple[bytes, bytes]] = field(default_factory=dict)
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
    prints: Mapping[str, tuple[bytes, bytes]]
    judgements: Mapping[str, Judgement]
    kept: Mapping[str, Kept]
    catalogue: Catalogue | None


NOTHING_BEFORE = Before({}, {}, {}, {}, None)


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
    """
    with _locks.setdefault(site_id, Lock()):
        head, now, kept = site_head(session, site_id), incarnation(session), _kept.pop(site_id, None)
        if kept is None or kept.head > head or kept.incarnation != now:
            before = _kept_plans(session, site_id)
            records = site_records(session, site_id, types=PLANNED_FROM)
            held = kinds_held(session, site_id, records)
            kept = plans_from(inputs_of(records, site_values(session, site_id), held), head, before)
            _keep_plans(session, site_id, kept)
        elif kept.head != head:
            kept = _after_changes(session, site_id, kept, head)
            _keep_plans(session, site_id, kept)
        kept.incarnation = now
        _kept[site_id] = kept
        while len(_kept) > 1 and sum(len(each.plans) for each in list(_kept.values())) > KEPT_GROUPS:
            _kept.popitem(last=False)
        return kept


def _kept_plans(session: Session, site_id: str) -> Before:
    """The plans of a server that ran before this one, by the same rules: prints tell which of them still hold."""
    kept = kept_answer(session, site_id, "plans")
    plans: dict[str, Plan] = {}
    prints: dict[str, tuple[bytes, bytes]] = {}
    judgements: dict[str, Judgement] = {}
    lines = cast("Iterable[tuple[str, str, str, Plan, Judgement | None]]", kept.lines if kept is not None else ())
    for group, of_inputs, of_plan, plan, judgement in lines:
        plans[group], prints[group] = plan, (bytes.fromhex(of_inputs), bytes.fromhex(of_plan))
        if judgement is not None:
            judgements[group] = judgement
    return Before(plans, prints, judgements, {}, None)


def _keep_plans(session: Session, site_id: str, found: SitePlan) -> None:
    """Keep the plans where many of them are new: a few are soon made again."""
    if found.made >= KEPT_FROM_MADE:
        lines = (
            (id, of_inputs.hex(), of_plan.hex(), found.plans[id], found.judgements.get(id))
            for id, (of_inputs, of_plan) in found.prints.items()
        )
        keep_answer(session, site_id, "plans", found.head, lines)


def _after_changes(session: Session, site_id: str, kept: SitePlan, head: int) -> SitePlan:
    """The plans of a site of which some are kept: only records that changed since are read."""
    changed = site_records(session, site_id, types=(*PLANNED_FROM, FIGURE), since=kept.head)
    figures = kept.inputs.own or any(each["type"] == FIGURE for each in changed)
    own = site_values(session, site_id) if figures else ()
    records = [each for each in changed if each["type"] != FIGURE]
    held = kept.inputs.kinds_held
    if any(each["type"] in HELD_FROM for each in records):
        held = kinds_held(session, site_id, [*{**kept.inputs.said, **{each["id"]: each for each in records}}.values()])
    return plans_with_changes(kept, records, head, own, held)


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
    inputs, touched = with_changes(kept.inputs, changed, own, held)
    before = before_of(kept)
    if before.catalogue == inputs.catalogue:
        inputs.catalogue = kept.inputs.catalogue
    return plans_from(inputs, head, before, (lambda _: False) if touched is None else lambda id: id not in touched)


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
    return Before(found.plans, found.prints, found.judgements, found.kept, found.inputs.catalogue)


def plans_from(
    inputs: Inputs,
    head: int = 0,
    before: Before = NOTHING_BEFORE,
    stays: Callable[[str], bool] = lambda _: False,
) -> SitePlan:
    """The same of inputs that are at hand; a plan from before for which `stays` says so is taken over unlooked at."""
    found, prints = SitePlan(head, inputs), Prints(inputs)
    sets = Sets(before.kept.values() if before.catalogue is inputs.catalogue else ())
    walk = sorted(inputs.places, key=inputs.walk)
    # Bodies that feed their neighbour come before those that are fed from it.
    for group_id in sorted(walk, key=inputs.is_fed):
        if stays(group_id) and group_id in before.plans:
            found.prints[group_id] = before.prints.get(group_id, NO_PRINTS)
            found.take_over(group_id, before)
            continue
        of_inputs = prints.of_inputs(group_id, found.plans)
        kept = before.prints.get(group_id, NO_PRINTS)
        if kept[0] == of_inputs:
            found.prints[group_id] = kept
            found.take_over(group_id, before)
            continue
        body = found.body(group_id)
        found.judged += 1
        if body.judged:
            found.judgements[group_id] = in_short(body.judged)
        of_plan = prints.of_plan(group_id, found.plans, body.judged, body.partner.judged if body.partner else None)
        found.prints[group_id] = (of_inputs, of_plan)
        if kept[1] == of_plan:
            found.take_over(group_id, before)
            continue
        ways: list[Way] = []
        found.plans[group_id] = plan_in_short(body, ways)
        found.made += 1
        if body.partner is None:
            found.kept[group_id] = sets.kept(ways, body.judged)
    found.plans = {group_id: found.plans[group_id] for group_id in walk}
    return found
