"""What may be chosen for one group, or for a pair on one ballast: every sure arrangement, by the planner's own rules.

Of a group by itself the ways that planning kept are weighed; where none are kept, as after a start of the server, they are
found anew and kept. Of a pair each candidate of the feeding body is planned with the one that it feeds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import cast

from spanwalk.rules.arrangements import to_json as telling
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.choosing import blockers
from spanwalk.rules.arrangements.choosing.choosing import Judged, judge_candidates, passing
from spanwalk.rules.arrangements.choosing.economics import OfSite
from spanwalk.rules.arrangements.choosing.spares import misfits_of
from spanwalk.rules.arrangements.choosing.sure_ways import sure_ways
from spanwalk.rules.arrangements.choosing.weighing import Ways
from spanwalk.rules.arrangements.now import Now, now
from spanwalk.rules.arrangements.plan import plan_in_short
from spanwalk.rules.arrangements.plan_types import Misfits, PlanInShort, proposal_of
from spanwalk.rules.gear.checks import PASSES
from spanwalk.rules.record_types import GroupView
from spanwalk.services.planning.kept import Sets
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.scenarios.weighing import is_accepting, kept_of
from spanwalk.services.site_order.alternatives import Way, way_of_plan, way_of_sure


@dataclass(frozen=True)
class Offered:
    """What may be chosen for groups that are decided together.

    Parameters
    ----------
    ways : list of list of Way
        For each arrangement, the best first, a way for each of the groups.
    recommended : list of str
        Names of what the planner proposes where nobody decided, for each of the groups; empty where that is no sure yes.
    """

    ways: list[list[Way]]
    recommended: list[str]


class Offering:
    """What may be chosen, group by group.

    Parameters
    ----------
    found : SitePlan
        The plans of the site; ways that have to be found anew are kept in it.
    least_light_pct : float or None
        Share of today's light that is looked for [%].
    """

    def __init__(self, found: SitePlan, least_light_pct: float | None = None) -> None:
        self._found, self._least_light_pct = found, least_light_pct
        self._sets = Sets(found.kept.values())
        self._of_site = OfSite.of(found.inputs.money, found.inputs.tables)

    def of(self, id: str) -> Offered:
        """What may be chosen for a group by itself.

        Parameters
        ----------
        id : str
            Its id.
        """
        found = self._found
        current = found.inputs.today[found.inputs.places[id][1]["id"]][id].now
        body, ways = self._body_and_ways(id, current)
        every = sure_ways(body, current, ways, self._least_light_pct, self._of_site)
        offered = [
            [way_of_sure(body, current, each)]
            for each in every
            if not each.is_held_back and self._is_priced(each.misfits)
        ]
        is_sure = bool(every) and not every[0].is_held_back
        return Offered(offered, [every[0].setting.candidate.name] if is_sure else [])

    def of_pair(self, feeding: PlanInShort, fed_id: str | None) -> Offered:
        """The same for a pair on one ballast.

        Parameters
        ----------
        feeding : PlanInShort
            The plan of the feeding group, which is ready.
        fed_id : str or None
            Id of the one that is fed; None where that one is not converted.
        """
        body = undecided(self._found, feeding["group"])
        current = now(body)
        feasible, _ = judge_candidates(body, current)
        feasible.sort(key=lambda each: each.rank)
        offered: list[list[Way]] = []
        recommended: list[str] = []
        for place, each in enumerate(feasible):
            ways = self._ways_of_pair(body, current, each, feeding, fed_id)
            if ways is not None:
                if place == 0:
                    recommended = [way.arrangement for way in ways]
                if all(self._is_priced(way.misfits) for way in ways):
                    offered.append(ways)
        return Offered(offered, recommended)

    def _body_and_ways(self, id: str, current: Now) -> tuple[Body, Ways]:
        found = self._found
        if not is_accepting(found.survey.by_id[id]):
            kept = kept_of(found, id, self._sets)
            if kept is not None:
                return without_decision(found.inputs.body(id, found.plans, kept.judged)), kept.ways
        body = undecided(found, id)
        return body, self._sets.shared(passing(body, current).ways)

    def _is_priced(self, misfits: Misfits | None) -> bool:
        """Whether what lies ready has a price too: parts without one have no worth already."""
        spare = () if misfits is None else misfits["spare"]
        return all("each" in self._found.inputs.catalogue.prices.get(each["item"], {}) for each in spare)

    def _ways_of_pair(
        self, body: Body, current: Now, each: Judged, feeding: PlanInShort, fed_id: str | None
    ) -> list[Way] | None:
        """What a candidate is for each of a pair; None where it is no sure yes, or something would keep it from release."""
        if each.candidate.verdict != PASSES or each.worth.result is None:
            return None
        if blockers.found(body, each.candidate, 0, []):
            return None
        proposal, misfits = (
            telling.in_short(body, each.candidate, current, each.worth),
            misfits_of(body, each.candidate),
        )
        if fed_id is None:
            return [way_of_plan(proposal, misfits)]
        planned: PlanInShort = {**feeding, "proposal": proposal, "misfits": misfits, "blockers": []}
        fed = plan_in_short(undecided(self._found, fed_id, {feeding["group"]: planned}))
        if fed["state"] != "ready" or proposal_of(fed)["money"]["lcc"] is None:
            return None
        return [way_of_plan(proposal, misfits), way_of_plan(proposal_of(fed), fed["misfits"])]


def undecided(found: SitePlan, id: str, plans: Mapping[str, PlanInShort] | None = None) -> Body:
    """A group with all that its plan hangs on, as if nobody had decided on it or on its neighbour."""
    return without_decision(found.body(id) if plans is None else found.inputs.body(id, plans))


def without_decision(body: Body) -> Body:
    """The same group, and its neighbour, as if nobody had decided on them."""
    partner = body.partner
    if partner is not None:
        partner = replace(partner, group=_without_decision(partner.group))
    return replace(body, group=_without_decision(body.group), partner=partner)


def _without_decision(group: GroupView) -> GroupView:
    facets = {name: value for name, value in group["facets"].items() if name != "decision"}
    return cast("GroupView", {**group, "facets": facets})


__all__ = ["Offered", "Offering", "undecided", "without_decision"]
