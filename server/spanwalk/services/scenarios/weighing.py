"""What groups come to with other money, hours or light: weighed of what is kept beside today's plans, to the same cent.

Groups that share a ballast are planned anew, the feeding one first: what one gets, the other must bear. All others are weighed:
`rules.arrangements.choosing.weighing`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import cast

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.choosing.choosing import passing
from spanwalk.rules.arrangements.choosing.economics import OfSite
from spanwalk.rules.arrangements.choosing.weighing import Best, Standing, best_of, standing_of
from spanwalk.rules.arrangements.now import Now
from spanwalk.rules.arrangements.plan import plan_in_short, state_of
from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.constants import ACCEPTED
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.record_types import GroupView, RoomView
from spanwalk.rules.record_view import Facet, Record
from spanwalk.rules.survey import facet
from spanwalk.services.planning.inputs import Inputs
from spanwalk.services.planning.kept import Kept, Sets
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.scenarios.changing import Edit

NOT_BY_THIS_METHOD = "not by this method"
NOT_JUDGED: Judgement = {}
LIGHT_NOT_KNOWN = "plan.light.cannot-tell"
"""What alone may hold a group back or not with the light that is wanted."""
WEIGHED = ("money", "site", "room")
"""Types of record of which a scenario changes money, the light wanted and hours alone."""


def is_weighed(edits: Iterable[Edit]) -> bool:
    """Whether edits leave what passes fit and electrics as it is: all but those of catalogue items."""
    return all(each["type"] in WEIGHED for each in edits)


def weighed(found: SitePlan, edits: Iterable[Edit]) -> SitePlan:
    """The groups as they are once the edits are written, as far as figures of a scenario look at them.

    Their state, misfits, and of the proposal its arrangement, watts, parts, minutes, light, energy and money are those that the
    planner would come to; all else is still today's, so that nothing but sums may be made of it.

    Parameters
    ----------
    found : SitePlan
        The plans of today.
    edits : iterable of Edit
        What changes; see `is_weighed`.
    """
    inputs = _inputs(found.inputs, edits)
    then, of_site = SitePlan(found.head, inputs, dict(found.plans)), OfSite.of(inputs.money, inputs.tables)
    sets = Sets(found.kept.values())
    # Bodies that feed their neighbour come before those that are fed from it.
    for id in sorted(found.plans, key=inputs.is_fed):
        if found.plans[id]["state"] != NOT_BY_THIS_METHOD:
            kept = kept_of(found, id, sets)
            then.plans[id] = plan_in_short(then.body(id)) if kept is None else _weighed(found, then, of_site, id, kept)
    return then


def kept_of(found: SitePlan, id: str, sets: Sets) -> Kept | None:
    """What is kept of a group; found anew and kept where nothing is, as after a start of the server. None of one that shares a ballast.

    Parameters
    ----------
    found : SitePlan
        The plans of today.
    id : str
        The group, to which the method can be applied.
    sets : Sets
        Sets of ways of the site's catalogue.
    """
    kept = found.kept.get(id)
    if kept is None and id not in found.inputs.partners:
        body = found.body(id)
        current = found.inputs.today[body.room["id"]][id].now
        # Without fingerprints of what it was found from: after a change it is found anew.
        kept = found.kept[id] = sets.kept(sets.shared(passing(body, current).ways), body.judged, b"", b"")
    return kept


def _inputs(today: Inputs, edits: Iterable[Edit]) -> Inputs:
    """What plans are made from with the edits in it; readings, pairs and light of today are left as they were found."""
    money, changed = today.money, dict[str, Record]()
    for each in edits:
        if each["type"] == "money":
            money = cast("Facet", each["value"])
            continue
        record = changed.get(each["record"], today.survey.by_id[each["record"]])
        changed[each["record"]] = cast(
            "Record", {**record, "facets": {**record["facets"], each["facet"]: each["value"]}}
        )
    rooms = {id: cast("RoomView", record) for id, record in changed.items() if record["type"] == "room"}
    return replace(
        today,
        survey=today.survey.with_facets(changed) if changed else today.survey,
        money=money,
        places={id: (kind, rooms.get(room["id"], room)) for id, (kind, room) in today.places.items()},
        to_judge={
            id: replace(each, room=rooms[each.room["id"]]) if each.room["id"] in rooms else each
            for id, each in today.to_judge.items()
        },
    )


def _weighed(found: SitePlan, then: SitePlan, of_site: OfSite, id: str, kept: Kept) -> PlanInShort:
    today, inputs = found.plans[id], then.inputs
    body = inputs.body(id, {}, NOT_JUDGED)
    current = inputs.today[body.room["id"]][id].now
    best = best_of(body, current, kept.ways, of_site, kept.lit)
    decision = str(facet(body.group, "decision").get("decision", ""))
    if best is None:
        state = state_of((), False, True, decision)
        return {**today, "state": state, "proposal": None, "misfits": None}
    if best.place not in kept.standings:
        kept.standings[best.place] = _standing(today, body, current, kept, best.place)
    return _told(today, best, kept, kept.standings[best.place], decision)


def decided(found: SitePlan, id: str, value: Mapping[str, object]) -> PlanInShort | None:
    """A group as it is once a decision of it is written, as far as `weighed` tells groups; None where it has to be planned anew.

    Parameters
    ----------
    found : SitePlan
        The plans of today.
    id : str
        The group.
    value : mapping
        Its decision then.
    """
    today, kept = found.plans[id], found.kept.get(id)
    if kept is None or is_accepting(found.survey.by_id[id]):
        return None
    if today["state"] == NOT_BY_THIS_METHOD:
        return today
    body = with_decision(found.inputs.body(id, {}, kept.judged), value)
    current = found.inputs.today[body.room["id"]][id].now
    best, decision = best_of(body, current, kept.ways, lit=kept.lit), str(value.get("decision", ""))
    if best is None:
        return {**today, "state": state_of((), False, True, decision), "proposal": None, "misfits": None}
    # What holds the group back hangs on the decision: what is known of it as it is decided today is of no use.
    standing = standing_of(body, current, kept.ways.settings[best.place])
    return _told(today, best, kept, standing, decision)


def is_accepting(group: Record) -> bool:
    """Whether a manager accepted for a group what would be no yes otherwise: what is kept of it rests on that.

    >>> is_accepting({"id": "g", "type": "group", "parent": "r", "facets": {}, "conflicts": [], "removed": False})
    False
    """
    decision = cast("Mapping[str, object]", group["facets"].get("decision") or {})
    return any(decision.get(name) for name in ACCEPTED)


def with_decision(body: Body, value: Mapping[str, object]) -> Body:
    """A group as if another decision had been written; empty: none."""
    group = cast("GroupView", {**body.group, "facets": {**body.group["facets"], "decision": dict(value)}})
    return replace(body, group=group)


def _standing(today: PlanInShort, body: Body, current: Now, kept: Kept, place: int) -> Standing:
    """What holds of a group with an arrangement; of today's its plan says it, but for light that was not known."""
    setting = kept.ways.settings[place]
    if today["proposal"] is not None and today["proposal"]["arrangement"] == setting.candidate.name:
        return Standing(any(each["code"] != LIGHT_NOT_KNOWN for each in today["blockers"]), today["misfits"])
    return standing_of(replace(body, judged=kept.judged), current, setting)


def _told(today: PlanInShort, best: Best, kept: Kept, standing: Standing, decision: str) -> PlanInShort:
    """A plan as `weighed` tells it."""
    candidate = kept.ways.settings[best.place].candidate
    proposal = {
        **cast("Mapping[str, object]", today["proposal"] or {}),
        "arrangement": candidate.name,
        "fill_items": [bar["id"] for bar in candidate.layout.fill],
        **best.weighed,
    }
    state = state_of((), True, standing.is_blocked or not best.is_lit, decision)
    return cast("PlanInShort", {**today, "state": state, "proposal": proposal, "misfits": standing.misfits})


__all__ = ["decided", "is_accepting", "is_weighed", "kept_of", "weighed", "with_decision"]
