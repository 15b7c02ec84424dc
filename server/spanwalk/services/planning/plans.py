"""The plan of every group of a site: made by the rules from its records, kept for as long as nothing in it changes."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from threading import Lock
from typing import NamedTuple

from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.plan import plan_in_short
from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.figures import SiteValue
from spanwalk.rules.judged import in_short
from spanwalk.rules.judgement_types import Judgement
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey
from spanwalk.services.planning.figures import site_values
from spanwalk.services.planning.inputs import NO_PRINTS, Inputs, Prints, inputs_of
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
    judged, made : int
        Judgements and plans that had to be made anew, for want of one from before.
    """

    head: int
    inputs: Inputs
    plans: dict[str, Plan] = field(default_factory=dict)
    prints: dict[str, tuple[bytes, bytes]] = field(default_factory=dict)
    judgements: dict[str, Judgement] = field(default_factory=dict)
    judged: int = 0
    made: int = 0

    @property
    def survey(self) -> Survey:
        """The records they were made from."""
        return self.inputs.survey

    def body(self, group_id: str) -> Body:
        """A group with all that its plan hangs on, put together anew: too large to be kept for every group."""
        return self.inputs.body(group_id, self.plans)

    def take_over(self, group_id: str, before: SitePlan | Before) -> None:
        """A plan from before, and the judgement that it rests on."""
        self.plans[group_id] = before.plans[group_id]
        if group_id in before.judgements:
            self.judgements[group_id] = before.judgements[group_id]


_kept: OrderedDict[str, SitePlan] = OrderedDict()
_locks: dict[str, Lock] = {}


class Before(NamedTuple):
    """What is taken over from earlier plans of a site: they, the prints of what they were made from, and their judgements."""

    plans: Mapping[str, Plan]
    prints: Mapping[str, tuple[bytes, bytes]]
    judgements: Mapping[str, Judgement]


NOTHING_BEFORE = Before({}, {}, {})


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
        head, kept = site_head(session, site_id), _kept.pop(site_id, None)
        if kept is None or kept.head != head:
            before = _kept_plans(session, site_id) if kept is None else Before(kept.plans, kept.prints, kept.judgements)
            # The records read before are let go before they are read anew: a large site's take most of the memory.
            kept = None
            records = site_records(session, site_id, types=PLANNED_FROM)
            held = kinds_held(session, site_id, records)
            kept = plans_from(inputs_of(records, site_values(session, site_id), held), head, before)
            _keep_plans(session, site_id, kept)
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
    for group, of_inputs, of_plan, plan, judgement in kept.lines if kept is not None else ():
        plans[group], prints[group] = plan, (bytes.fromhex(of_inputs), bytes.fromhex(of_plan))
        if judgement is not None:
            judgements[group] = judgement
    return Before(plans, prints, judgements)


def _keep_plans(session: Session, site_id: str, found: SitePlan) -> None:
    """Keep the plans where many of them are new: a few are soon made again."""
    if found.made >= KEPT_FROM_MADE:
        lines = (
            (id, of_inputs.hex(), of_plan.hex(), found.plans[id], found.judgements.get(id))
            for id, (of_inputs, of_plan) in found.prints.items()
        )
        keep_answer(session, site_id, "plans", found.head, lines)


def make_plans(
    records: Iterable[Record], head: int = 0, before: SitePlan | Before = NOTHING_BEFORE, own: Sequence[SiteValue] = ()
) -> SitePlan:
    """Plan every group among view records with the site's own figures, taking over from before what would come out the same.

    A group is judged again only if something changed that its judgement hangs on, its plan is made again only if that
    came out otherwise or something else changed that it hangs on.
    """
    return plans_from(inputs_of(records, own), head, before)


def plans_from(
    inputs: Inputs,
    head: int = 0,
    before: SitePlan | Before = NOTHING_BEFORE,
    stays: Callable[[str], bool] = lambda _: False,
) -> SitePlan:
    """The same of inputs that are at hand; a plan from before for which `stays` says so is taken over unlooked at."""
    found, prints = SitePlan(head, inputs), Prints(inputs)
    walk = sorted(inputs.places, key=inputs.walk)
    # Bodies that feed their neighbour come before those that are fed from it.
    for group_id in sorted(walk, key=inputs.is_fed):
        if stays(group_id) and group_id in before.plans:
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
            found.plans[group_id] = before.plans[group_id]
        else:
            found.plans[group_id] = plan_in_short(body)
            found.made += 1
    found.plans = {group_id: found.plans[group_id] for group_id in walk}
    return found
