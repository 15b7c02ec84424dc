"""What may be chosen for each ready group of a site: every sure arrangement that the planner finds, with what it comes to."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import cast

from spanwalk.rules.arrangements import to_json as telling
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.choosing import blockers
from spanwalk.rules.arrangements.choosing.choosing import Judged, judge_candidates
from spanwalk.rules.arrangements.choosing.spares import misfits_of
from spanwalk.rules.arrangements.now import Now, now
from spanwalk.rules.arrangements.plan import plan_in_short
from spanwalk.rules.arrangements.plan_types import Misfits, PlanInShort, Proposal, proposal_of
from spanwalk.rules.gear.checks import PASSES
from spanwalk.rules.money.money import hire_days
from spanwalk.rules.record_types import GroupView, KindView, RoomView
from spanwalk.rules.site_order.look import DARK_COLUMN, look_of
from spanwalk.rules.site_order.problem import Alternative, Problem, Rules, Short, Unit, problem, pruned
from spanwalk.rules.survey import facet
from spanwalk.services.planning.job_sums import basis_of
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.planning.totals import route_of, terms_of_items
from spanwalk.services.refusals import InTheWay
from spanwalk.services.site_order.asked import OrderAsked, Scope
from spanwalk.services.site_order.fixed import with_decided, with_partners

FED_BY_NEIGHBOUR = "fed-from-the-neighbours-ballast"


@dataclass(frozen=True)
class Gathered:
    """A problem, and what of the site is not in it or may not be changed.

    Parameters
    ----------
    problem : Problem
        What may be chosen.
    fixed : mapping
        Group id -> why it stays as it is, of those that are asked for.
    stuck : tuple of str
        Groups of which nothing keeps to the rules: they stay as they are today.
    recommended : mapping
        Group id -> what the planner proposes for it where nobody decided.
    """

    problem: Problem
    fixed: Mapping[str, str] = field(default_factory=dict)
    stuck: tuple[str, ...] = ()
    recommended: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Way:
    """One way for one group, as the planner tells it."""

    proposal: Proposal
    misfits: Misfits | None


def gathering(
    found: SitePlan, asked: OrderAsked, fixed: Mapping[str, str]
) -> Generator[tuple[int, int], None, Gathered]:
    """Everything that may be chosen for the ready groups of a site; on the way, how many are done, of how many.

    Parameters
    ----------
    found : SitePlan
        Its plans.
    asked : OrderAsked
        The rules.
    fixed : mapping
        Groups that are left alone whatever is asked, each with why: see `fixed.fixed_groups`.
    """
    ready = _ready(found)
    stays = with_partners(found, with_decided(found, fixed) if asked.get("keep_decided", True) else fixed)
    units: list[Unit] = []
    stuck: list[str] = []
    recommended: dict[str, str] = {}
    for done, id in enumerate(ready):
        yield done, len(ready)
        if found.inputs.is_fed(id):
            continue
        made = _Unit(found, ready, id, asked, stays)
        unit = made.unit()
        units.append(unit)
        stuck += unit.groups if made.is_stuck else ()
        recommended |= made.recommended
    rules = Rules(
        asked.get("each_item", 0.0),
        asked.get("budget"),
        asked.get("same_look", False),
        asked.get("one_colour", False),
    )
    set_ = found.inputs.money
    basis = basis_of(set_)
    items = {item for unit in units for each in unit.alternatives for item in _items_of(each)}
    made_problem = problem(
        (pruned(unit, rules.same_look) for unit in unbound(units, stays)),
        terms_of_items(items, found.survey),
        float(facet(found.survey.site(), "settings").get("spare_pct", 0)),
        float(set_.get("lift_per_day", 0)),
        float(set_.get("demand_per_kw_month", 0)),
        basis.limits,
        basis.discount_share,
        rules,
    )
    asked_for = {
        id: why for id, why in stays.items() if id in found.plans and in_scope(found, id, asked.get("scope") or {})
    }
    return Gathered(made_problem, asked_for, tuple(stuck), recommended)


def unbound(units: Iterable[Unit], stays: Mapping[str, str]) -> Iterator[Unit]:
    """Units of which those that stay bind no look of a room in which they differ already: each is then a room of its own."""
    units = list(units)
    held = [unit for unit in units if any(id in stays for id in unit.groups)]
    outer: dict[str, set[str]] = {}
    inner: dict[tuple[str, str], set[str]] = {}
    for unit in held:
        today = unit.alternatives[unit.today]
        outer.setdefault(unit.room, set()).add(today.outer)
        inner.setdefault((unit.room, unit.kind), set()).add(today.inner)
    differ = {room for room, looks in outer.items() if len(looks) > 1}
    differ |= {room for (room, _), looks in inner.items() if len(looks) > 1}
    alone = {unit.groups for unit in held if unit.room in differ}
    for unit in units:
        yield replace(unit, room=f"{unit.room} {unit.groups[0]}") if unit.groups in alone else unit


def gather(found: SitePlan, asked: OrderAsked, fixed: Mapping[str, str] | None = None) -> Gathered:
    """The same at once."""
    steps = gathering(found, asked, fixed or {})
    while True:
        try:
            next(steps)
        except StopIteration as done:
            return cast("Gathered", done.value)


def _ready(found: SitePlan) -> dict[str, PlanInShort]:
    return {id: plan for id, plan in found.plans.items() if plan["state"] == "ready"}


def refuse_without_money(found: SitePlan) -> None:
    """Refuse a site whose groups cannot be compared.

    Raises
    ------
    InTheWay
        No group is ready, or the money of a ready one is not known.
    """
    ready = _ready(found)
    if not ready:
        raise InTheWay("site-order.nothing-ready")
    missing: dict[str, None] = {}
    for plan in ready.values():
        told = proposal_of(plan)["money"]
        if told["lcc"] is None:
            missing |= dict.fromkeys(told["missing"] or ["?"])
    if missing:
        raise InTheWay("site-order.no-money", what=list(missing))


def _items_of(each: Alternative) -> Iterator[str]:
    yield from (item for item, _ in each.parts)
    yield from (short.item for short in each.short)


class _Unit:
    """One group, or a pair on one ballast, with all that may be chosen for it."""

    def __init__(
        self,
        found: SitePlan,
        ready: Mapping[str, PlanInShort],
        id: str,
        asked: OrderAsked,
        stays: Mapping[str, str],
    ) -> None:
        self._found, self._id, self._asked = found, id, asked
        partner = found.inputs.partners.get(id)
        self._fed = partner if partner in ready else None
        self.groups = (id,) if self._fed is None else (id, self._fed)
        self._ready = ready
        outside = not any(in_scope(found, each, asked.get("scope") or {}) for each in self.groups)
        self._stays = outside or any(each in stays for each in self.groups)
        self.is_stuck = False
        self.recommended: dict[str, str] = {}

    def unit(self) -> Unit:
        """It, with what keeps to the rules; today's is barred where it does not, and stays where nothing else is left."""
        today = self._alternative([Way(proposal_of(p), p["misfits"]) for p in (self._ready[g] for g in self.groups)])
        others = [] if self._stays else [each for each in self._others() if each.names != today.names]
        allowed = [each for each in others if self._keeps(each)]
        if not self._stays and not self._keeps(today):
            self.is_stuck = not allowed
            today = replace(today, barred=bool(allowed))
        if self._asked.get("budget") is not None and not self._stays:
            allowed.append(self._left())
        room = cast("RoomView", self._found.survey.by_id[self._ready[self._id]["room"]])
        route = route_of(self._found.survey, room)
        every = (today, *allowed)
        return Unit(self.groups, room["id"], self._ready[self._id]["kind"], route, every, 0)

    def _others(self) -> Iterator[Alternative]:
        body = undecided(self._found, self._id)
        current = now(body)
        feasible, _ = judge_candidates(body, current)
        feasible.sort(key=lambda each: each.rank)
        for place, each in enumerate(feasible):
            ways = self._ways(body, current, each)
            if ways is None:
                continue
            if place == 0:
                names = [way.proposal["arrangement"] for way in ways]
                self.recommended = dict(zip(self.groups, names, strict=True))
            if all(_is_priced(self._found, way) for way in ways):
                yield self._alternative(ways)

    def _ways(self, body: Body, current: Now, each: Judged) -> list[Way] | None:
        """What a candidate is for each group; None where it is no sure yes, or something would keep it from release."""
        if each.candidate.verdict != PASSES or each.worth.result is None:
            return None
        if blockers.found(body, each.candidate, 0, []):
            return None
        way = Way(telling.in_short(body, each.candidate, current, each.worth), misfits_of(body, each.candidate))
        if self._fed is None:
            return [way]
        feeding: PlanInShort = {
            **self._ready[self._id],
            "proposal": way.proposal,
            "misfits": way.misfits,
            "blockers": [],
        }
        fed = plan_in_short(undecided(self._found, self._fed, {self._id: feeding}))
        if fed["state"] != "ready" or proposal_of(fed)["money"]["lcc"] is None:
            return None
        return [way, Way(proposal_of(fed), fed["misfits"])]

    def _keeps(self, each: Alternative) -> bool:
        least, items = self._asked.get("least_light_pct"), self._asked.get("items")
        bars = self._asked.get("bars_each")
        if bars is not None and any(each_bars != bars for each_bars in each.bars_each):
            return False
        if least is not None and (each.light_pct is None or each.light_pct < least):
            return False
        if self._asked.get("no_dark_columns") and each.look >= DARK_COLUMN:
            return False
        if items is None:
            return True
        chosen_from = self._found.inputs.catalogue
        limited = {item["id"] for item in (*chosen_from.bars, *chosen_from.drivers)}
        return all(item in items for item, _ in each.parts if item in limited)

    def _left(self) -> Alternative:
        sums = [proposal_of(self._ready[each])["money"].get("lcc_as_is") or 0.0 for each in self.groups]
        return Alternative(tuple("" for _ in self.groups), round(sum(sums), 2))

    def _alternative(self, ways: list[Way]) -> Alternative:
        return added_up(self._found, self.groups, ways)


def added_up(found: SitePlan, groups: Iterable[str], ways: list[Way]) -> Alternative:
    """One alternative of the ways of its groups."""
    discount = 1 + basis_of(found.inputs.money).discount_share
    rest = work = minutes = asked = peak = saved = 0.0
    parts: dict[str, int] = {}
    short: list[Short] = []
    looks, outer, inner, colours, lights = 0, [], [], set(), []
    for id, way in zip(groups, ways, strict=True):
        told = way.proposal["money"]
        job = told["job"]
        hire = hire_days(job["hire_minutes"]) * job["hire_per_day"]
        rest += cast("float", told["lcc"]) - cast("float", told["net_cost"])
        rest -= cast("float", told["first_year_short"]) / discount
        work += cast("float", told["cost"]) - job["goods"] - hire
        minutes, asked = minutes + job["hire_minutes"], asked + job["rebate_asked"]
        peak, saved = peak + job["peak_kw"], saved + job["peak_saved_kw"]
        for part in way.proposal["parts"]:
            parts[part["item"]] = parts.get(part["item"], 0) + part["count"]
        short += _short_of(way.misfits)
        kind, rows = found.inputs.places[id][0], way.proposal["rows"]
        colours |= _colours(found, way.proposal)
        looks += _look(kind, rows)
        outer.append("all" if len(rows) == _rows(kind) else "fewer")
        inner.append(f"{' + '.join(way.proposal['fill'])} in {rows}")
        lights.append(way.proposal["light"].get("share_of_today_pct"))
    known = [light for light in lights if light is not None]
    colour = " + ".join(sorted(colours))
    room_look = f"{colour} {'fewer' if 'fewer' in outer else 'all'}"
    return Alternative(
        tuple(way.proposal["arrangement"] for way in ways),
        round(rest, 6),
        round(work, 2),
        minutes,
        round(asked, 2),
        peak,
        saved,
        tuple(sorted(parts.items())),
        tuple(short),
        min(known) if len(known) == len(lights) else None,
        looks,
        colour,
        room_look,
        f"{room_look} {inner}",
        bars_each=tuple(way.proposal["bars_each"] for way in ways),
    )


def _short_of(misfits: Misfits | None) -> Iterator[Short]:
    if misfits is not None:
        for each in misfits["spare"]:
            yield Short(each["item"], each["count"], misfits["expected"], misfits["accepted"] + misfits["aside"])


def _rows(kind: KindView) -> int:
    return int(facet(kind, "lamps").get("rows", 0))


def _look(kind: KindView, rows: list[int]) -> int:
    return look_of(rows, _rows(kind), str(facet(kind, "housing").get("optic", "")))


def _colours(found: SitePlan, proposal: Proposal) -> set[str]:
    bars = (facet(found.inputs.catalogue.by_id.get(item), "bar") for item in proposal["fill_items"])
    return {str(bar["cct_k"]) for bar in bars if "cct_k" in bar}


def _is_priced(found: SitePlan, way: Way) -> bool:
    """Whether what lies ready has a price too: parts without one have no worth already."""
    spare = () if way.misfits is None else way.misfits["spare"]
    return all("each" in found.inputs.catalogue.prices.get(each["item"], {}) for each in spare)


def in_scope(found: SitePlan, id: str, scope: Scope) -> bool:
    """Whether a group is one of those that are chosen for; without a scope all are."""
    kind, room = found.inputs.places[id]
    floor = found.survey.floor_of(room)
    is_of = {
        "floor": None if floor is None else floor["id"],
        "room": room["id"],
        "kind": kind["id"],
        "space_type": facet(room, "identity").get("space_type", "not-said"),
    }
    return all(is_of[name] == wanted for name, wanted in scope.items() if wanted is not None)


def undecided(found: SitePlan, id: str, plans: Mapping[str, PlanInShort] | None = None) -> Body:
    """A group with all that its plan hangs on, as if nobody had decided on it or on its neighbour."""
    body = found.body(id) if plans is None else found.inputs.body(id, plans)
    partner = body.partner
    if partner is not None:
        partner = replace(partner, group=_without_decision(partner.group))
    return replace(body, group=_without_decision(body.group), partner=partner)


def decided(found: SitePlan, id: str, plans: Mapping[str, PlanInShort], value: Mapping[str, object]) -> Body:
    """A group with all that its plan hangs on, as if another decision had been written."""
    body = found.inputs.body(id, plans)
    group = cast("GroupView", {**body.group, "facets": {**body.group["facets"], "decision": dict(value)}})
    return replace(body, group=group)


def _without_decision(group: GroupView) -> GroupView:
    facets = {name: value for name, value in group["facets"].items() if name != "decision"}
    return cast("GroupView", {**group, "facets": facets})


__all__ = [
    "Gathered",
    "Way",
    "added_up",
    "decided",
    "gather",
    "gathering",
    "in_scope",
    "refuse_without_money",
    "undecided",
]
