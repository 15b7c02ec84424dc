"""What may be chosen for each ready group of a site: every sure arrangement that the planner finds, with what it comes to."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import cast

from spanwalk.rules.arrangements.plan_types import PlanInShort, proposal_of
from spanwalk.rules.money import energy
from spanwalk.rules.record_types import RoomView
from spanwalk.rules.site_order.look import DARK_COLUMN
from spanwalk.rules.site_order.problem import Alternative, Problem, Rules, Unit, problem, pruned
from spanwalk.rules.survey import facet
from spanwalk.services.planning.job_sums import JobBasis, basis_of
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.planning.totals import route_of, terms_of_items
from spanwalk.services.refusals import InTheWay
from spanwalk.services.site_order.alternatives import Way, added_up, way_of_plan
from spanwalk.services.site_order.asked import OrderAsked, Scope
from spanwalk.services.site_order.fixed import with_decided, with_partners
from spanwalk.services.site_order.offered import Offering


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
class Site:
    """What the units of a site are gathered from: its plans, the rules, its ready plans, and groups that stay as they are."""

    found: SitePlan
    asked: OrderAsked
    ready: Mapping[str, PlanInShort]
    stays: Mapping[str, str]

    @cached_property
    def basis(self) -> JobBasis:
        """What holds for the job as a whole."""
        return basis_of(self.found.inputs.money)

    @cached_property
    def offering(self) -> Offering:
        """What may be chosen, group by group."""
        return Offering(self.found, self.asked.get("least_light_pct"))

    @cached_property
    def limited(self) -> set[str]:
        """Items that rules about items are about: bars and drivers, by id."""
        catalogue = self.found.inputs.catalogue
        return {item["id"] for item in (*catalogue.bars, *catalogue.drivers)}

    @cached_property
    def rules(self) -> Rules:
        """What a choice has to keep to."""
        asked = self.asked
        return Rules(
            asked.get("each_item", 0.0),
            asked.get("budget"),
            asked.get("same_look", False),
            asked.get("one_colour", False),
        )

    def problem_of(self, units: Sequence[Unit]) -> Problem:
        """The problem of its units, without what is beaten in each of them."""
        found, set_, basis, rules = self.found, self.found.inputs.money, self.basis, self.rules
        demand = float(set_.get("demand_per_kw_month", 0))
        short = demand * energy.COUNTED_MONTHS / (1 + basis.discount_share)
        items = {item for unit in units for each in unit.alternatives for item in _items_of(each)}
        return problem(
            (pruned(unit, rules.same_look, basis.limits, short) for unit in unbound(units, self.stays)),
            terms_of_items(items, found.survey),
            float(facet(found.survey.site(), "settings").get("spare_pct", 0)),
            float(set_.get("lift_per_day", 0)),
            demand,
            basis.limits,
            basis.discount_share,
            rules,
            basis.charges,
        )


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
    stays = with_partners(found, with_decided(found, fixed) if asked.get("keep_decided", True) else fixed)
    site = Site(found, asked, _ready(found), stays)
    units: list[Unit] = []
    stuck: list[str] = []
    recommended: dict[str, str] = {}
    for done, id in enumerate(site.ready):
        yield done, len(site.ready)
        if not found.inputs.is_fed(id):
            made = _Unit(site, id)
            units.append(made.unit())
            stuck += made.groups if made.is_stuck else ()
            recommended |= made.recommended
    scope = asked.get("scope") or {}
    asked_for = {id: why for id, why in stays.items() if id in found.plans and in_scope(found, id, scope)}
    return Gathered(site.problem_of(units), asked_for, tuple(stuck), recommended)


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

    def __init__(self, site: Site, id: str) -> None:
        self._site, self._id = site, id
        self._found, self._asked, self._ready = site.found, site.asked, site.ready
        partner = self._found.inputs.partners.get(id)
        self._fed = partner if partner in self._ready else None
        self.groups = (id,) if self._fed is None else (id, self._fed)
        outside = not any(in_scope(self._found, each, self._asked.get("scope") or {}) for each in self.groups)
        self._stays = outside or any(each in site.stays for each in self.groups)
        self.is_stuck = False
        self.recommended: dict[str, str] = {}

    def unit(self) -> Unit:
        """It, with what keeps to the rules; today's is barred where it does not, and stays where nothing else is left."""
        plans = [self._ready[each] for each in self.groups]
        today = self._alternative([way_of_plan(proposal_of(plan), plan["misfits"]) for plan in plans])
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
        offering = self._site.offering
        paired = self._id in self._found.inputs.partners
        offered = offering.of_pair(self._ready[self._id], self._fed) if paired else offering.of(self._id)
        self.recommended = dict(zip(self.groups, offered.recommended, strict=False))
        yield from (self._alternative(ways) for ways in offered.ways)

    def _keeps(self, each: Alternative) -> bool:
        least, items = self._asked.get("least_light_pct"), self._asked.get("items")
        bars = self._asked.get("bars_each")
        if bars is not None and any(each_bars != bars for each_bars in each.bars_each):
            return False
        if least is not None and (each.light_pct is None or each.light_pct < least):
            return False
        if self._asked.get("no_dark_columns") and each.look >= DARK_COLUMN:
            return False
        return items is None or all(item in items for item, _ in each.parts if item in self._site.limited)

    def _left(self) -> Alternative:
        sums = [proposal_of(self._ready[each])["money"].get("lcc_as_is") or 0.0 for each in self.groups]
        return Alternative(tuple("" for _ in self.groups), round(sum(sums), 2))

    def _alternative(self, ways: list[Way]) -> Alternative:
        kinds = [self._found.inputs.places[id][0] for id in self.groups]
        return added_up(kinds, ways, self._site.basis, self._found.inputs.catalogue)


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


__all__ = [
    "Gathered",
    "Site",
    "gather",
    "gathering",
    "in_scope",
    "refuse_without_money",
]
