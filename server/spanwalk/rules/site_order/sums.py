"""What a choice for all units of a site comes to, by the job's own money: kept up as one unit after another is changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from spanwalk.rules.fit.spares import enough_spares, for_breakage
from spanwalk.rules.money import money
from spanwalk.rules.money.job_money import Alone, job
from spanwalk.rules.ordering import ordering
from spanwalk.rules.site_order.problem import Alternative, Choice, Problem

PARTS_OF_ONE = 10_000
"""Expected misfits are added up in whole parts of this, so that no order of adding changes them."""
MORE_THAN_ANY = 1e15


@dataclass
class Route:
    """What is added up of the units that one platform serves."""

    units: int = 0
    work: float = 0.0
    minutes: float = 0.0
    asked: float = 0.0
    peak_kw: float = 0.0
    saved_kw: float = 0.0


@dataclass(frozen=True)
class Told:
    """What a choice comes to [currency]; number of different items, and days of platform hire.

    `worth` is what is made least: the life-cycle cost of the job and of what is left as it is, and what each different item
    costs beside its price.
    """

    worth: float
    lcc: float
    cost: float
    rebate: float
    items: int
    days: int


@dataclass
class Running:
    """Sums of a choice that follow as a unit changes.

    Parameters
    ----------
    problem : Problem
        What may be chosen.
    choice : list of int
        What is chosen now.
    """

    problem: Problem
    choice: list[int]
    pieces: Counter[str] = field(default_factory=Counter)
    expected: Counter[tuple[str, int]] = field(default_factory=Counter)
    sure: Counter[tuple[str, int]] = field(default_factory=Counter)
    routes: dict[str, Route] = field(default_factory=dict)
    rest: float = 0.0

    def __post_init__(self) -> None:
        for place, chosen in enumerate(self.choice):
            self._add(place, chosen, 1)

    def change(self, place: int, chosen: int) -> None:
        """Choose another alternative for a unit."""
        self._add(place, self.choice[place], -1)
        self.choice[place] = chosen
        self._add(place, chosen, 1)

    def _add(self, place: int, chosen: int, sign: int) -> None:
        unit = self.problem.units[place]
        each = unit.alternatives[chosen]
        self.rest += sign * each.rest
        if each.is_left:
            return
        for item, count in each.parts:
            self.pieces[item] += sign * count
        for short in each.short:
            self.expected[short.item, short.count] += sign * round(short.expected * PARTS_OF_ONE)
            self.sure[short.item, short.count] += sign * short.sure
        # What needs no platform is one route of its own, so that no other's minutes wait for it.
        route = self.routes.setdefault(unit.route if each.minutes > 0 else "", Route())
        route.units += sign
        route.work += sign * each.work
        route.minutes += sign * each.minutes
        route.asked += sign * each.rebate_asked
        route.peak_kw += sign * each.peak_kw
        route.saved_kw += sign * each.peak_saved_kw

    def needed(self) -> dict[str, int]:
        """Item id -> what has to be bought of it before packs: fitted, spares for breakage and for misfits; none of nothing."""
        found = Counter({item: n + for_breakage(n, self.problem.spare_pct) for item, n in self.pieces.items() if n})
        for at, parts in self.expected.items():
            number = enough_spares(max(0.0, round(parts / PARTS_OF_ONE, 2))) + self.sure[at]
            if number:
                found[at[0]] += at[1] * number
        return dict(found)

    def told(self) -> Told:
        """What the choice comes to."""
        given, needed = self.problem, self.needed()
        goods = round(sum(_sum_of(given.items[item], number) for item, number in needed.items()), 2)
        groups = [self._alone(name, each) for name, each in self.routes.items() if each.units]
        found = job(groups, given.limits, goods)
        net = found["cost"] - found["rebate"]
        lcc = self.rest + net + found["first_year_short"] / (1 + given.discount_share)
        worth = lcc + given.rules.each_item * len(needed)
        return Told(worth, lcc, found["cost"], found["rebate"], len(needed), found["days"])

    def _alone(self, name: str, route: Route) -> Alone:
        minutes = max(0.0, round(route.minutes, 6)) if name else 0.0
        per_day = self.problem.hire_per_day
        return Alone(
            name,
            route.work + money.hire_days(minutes) * per_day,
            0.0,
            0.0,
            {
                "goods": 0.0,
                "hire_minutes": minutes,
                "hire_per_day": per_day,
                "rebate_asked": route.asked,
                "peak_kw": route.peak_kw,
                "peak_saved_kw": route.saved_kw,
                "demand_kw_month": self.problem.demand_kw_month,
            },
        )


def _sum_of(terms: ordering.Terms, number: int) -> float:
    found = ordering.bought(number, terms)["sum"]
    return MORE_THAN_ANY if found is None else found


def told_of(given: Problem, choice: Sequence[int]) -> Told:
    """What a choice comes to, reckoned from nothing."""
    return Running(given, list(choice)).told()


def chosen_of(given: Problem, choice: Sequence[int]) -> list[Alternative]:
    """The alternatives of a choice."""
    return [unit.alternatives[chosen] for unit, chosen in zip(given.units, choice, strict=True)]


def is_kept(given: Problem, choice: Choice, told: Told | None = None) -> bool:
    """Whether a choice keeps to budget, colour temperature and looks."""
    rules, chosen = given.rules, chosen_of(given, choice)
    if rules.budget is not None and (told or told_of(given, choice)).cost > rules.budget + 0.005:
        return False
    if rules.one_colour and len({each.colour for each in chosen if not each.is_left}) > 1:
        return False
    return not rules.same_look or _look_the_same(given, chosen)


def _look_the_same(given: Problem, chosen: Sequence[Alternative]) -> bool:
    rooms: dict[str, set[str]] = {}
    kinds: dict[tuple[str, str], set[str]] = {}
    for unit, each in zip(given.units, chosen, strict=True):
        if not each.is_left:
            rooms.setdefault(unit.room, set()).add(each.outer)
            kinds.setdefault((unit.room, unit.kind), set()).add(each.inner)
    return all(len(looks) == 1 for looks in (*rooms.values(), *kinds.values()))


__all__ = ["Running", "Told", "chosen_of", "is_kept", "told_of"]
