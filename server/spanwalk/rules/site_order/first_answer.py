"""A good choice in a moment, without a solver: prices at the margin, and then the order without each item in turn.

It starts the exact search and stands where that is given up. No bound comes of it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from spanwalk.rules.ordering import ordering
from spanwalk.rules.site_order.clusters import allowed
from spanwalk.rules.site_order.problem import Alternative, Choice, Problem, Unit
from spanwalk.rules.site_order.sums import Running, Told, is_kept, told_of

TURNS = 6
"""How often prices are looked up anew for what is then bought."""
MINUTES_A_DAY = 420.0
DEARER = (0.0, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.4, 12.8, 1e6)
"""By how much money spent counts more where a budget holds, tried in turn."""


@dataclass(frozen=True)
class Prices:
    """What one more piece of each item, and one more minute, costs [currency]; what counts of cost and of rebate."""

    of_item: Mapping[str, float]
    of_minute: float
    cost: float
    rebate: float

    def of(self, each: Alternative) -> float:
        """What an alternative comes to at such prices."""
        goods = sum(count * self.of_item.get(item, 0.0) for item, count in each.parts)
        spares = sum(
            (short.expected + short.sure) * short.count * self.of_item.get(short.item, 0.0) for short in each.short
        )
        paid = each.work + goods + spares + each.minutes * self.of_minute
        return each.rest + paid * self.cost - each.rebate_asked * self.rebate


@dataclass(frozen=True)
class Found:
    """A choice and what it comes to."""

    choice: Choice
    told: Told

    @property
    def rank(self) -> tuple[float, Choice]:
        """The least first."""
        return (round(self.told.worth, 2), self.choice)


def first_answer(given: Problem, goes_on: Callable[[], bool] = lambda: True) -> Found | None:
    """A choice that keeps to the rules; None where none was found.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    goes_on : callable
        Asked between steps whether there is time for more.
    """
    colours: list[str | None] = [None]
    if given.rules.one_colour:
        colours = [*_colours(given)] or colours
    best: Found | None = None
    for colour in colours:
        found = _of_colour(given, colour, goes_on)
        if found is not None and (best is None or found.rank < best.rank):
            best = found
    if is_kept(given, given.today) and not any(unit.alternatives[unit.today].barred for unit in given.units):
        today = Found(given.today, told_of(given, given.today))
        best = today if best is None or today.rank < best.rank else best
    return best


def _colours(given: Problem) -> Iterator[str]:
    yield from sorted({each.colour for unit in given.units for each in unit.alternatives if not each.is_left})


def _of_colour(given: Problem, colour: str | None, goes_on: Callable[[], bool]) -> Found | None:
    may = [_may(unit, colour) for unit in given.units]
    if not all(may):
        return None
    best: Found | None = None
    for dearer in DEARER if given.rules.budget is not None else (0.0,):
        best = _at_the_margin(given, may, 1 + dearer)
        if best is not None:
            break
    return best if best is None else _without_each(given, may, best, goes_on)


def _may(unit: Unit, colour: str | None) -> list[int]:
    return [
        place
        for place in allowed(unit)
        if colour is None or unit.alternatives[place].is_left or unit.alternatives[place].colour == colour
    ]


def _at_the_margin(given: Problem, may: Sequence[Sequence[int]], cost: float) -> Found | None:
    """Choose each unit at the prices of what is bought, look the prices up anew, and again."""
    found: Found | None = None
    running: Running | None = None
    for _ in range(TURNS):
        chosen = _cheapest(given, may, _prices(given, running, cost))
        if chosen is None:
            return None
        running = Running(given, list(chosen))
        told = running.told()
        if is_kept(given, chosen, told) and (found is None or Found(chosen, told).rank < found.rank):
            found = Found(chosen, told)
    return found


def _prices(given: Problem, running: Running | None, cost: float) -> Prices:
    needed = {} if running is None else running.needed()
    more = 1 + given.spare_pct / 100
    each = {id: (ordering.price_at(terms.price, needed.get(id, 1)) or 0.0) * more for id, terms in given.items.items()}
    capped = running is not None and _is_capped(given, running)
    return Prices(each, given.hire_per_day / MINUTES_A_DAY, cost, 0.0 if capped else 1.0)


def _is_capped(given: Problem, running: Running) -> bool:
    asked = sum(route.asked for route in running.routes.values())
    return running.told().rebate < asked - 0.005


def _cheapest(given: Problem, may: Sequence[Sequence[int]], prices: Prices) -> Choice | None:
    worth = {
        at: {place: prices.of(unit.alternatives[place]) for place in places}
        for at, (unit, places) in enumerate(zip(given.units, may, strict=True))
    }
    if not given.rules.same_look:
        return tuple(min(of, key=lambda place: (of[place], place)) for of in worth.values())
    chosen = list(given.today)
    for room in _rooms(given.units).values():
        looked = _room(given.units, room, worth)
        if looked is None:
            return None
        for place, at in looked.items():
            chosen[place] = at
    return tuple(chosen)


def _rooms(units: Sequence[Unit]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = defaultdict(list)
    for place, unit in enumerate(units):
        found[unit.room].append(place)
    return found


def _room(
    units: Sequence[Unit], room: Sequence[int], worth: Mapping[int, Mapping[int, float]]
) -> dict[int, int] | None:
    """The cheapest choice for a room whose units look the same; None where none can."""
    best: tuple[float, str, dict[int, int]] | None = None
    for outer in sorted({units[at].alternatives[place].outer for at in room for place in worth[at]}):
        whole: dict[int, int] = {}
        total = 0.0
        for kind in sorted({units[at].kind for at in room}):
            found = _kind(units, [at for at in room if units[at].kind == kind], worth, outer)
            if found is None:
                break
            total += found[0]
            whole |= found[1]
        else:
            if best is None or (total, outer) < best[:2]:
                best = (total, outer, whole)
    return None if best is None else best[2]


def _kind(
    units: Sequence[Unit], of_kind: Sequence[int], worth: Mapping[int, Mapping[int, float]], outer: str
) -> tuple[float, dict[int, int]] | None:
    best: tuple[float, str, dict[int, int]] | None = None
    for inner in sorted({units[at].alternatives[place].inner for at in of_kind for place in worth[at]}):
        chosen: dict[int, int] = {}
        for at in of_kind:
            fits = [
                place
                for place in worth[at]
                if (each := units[at].alternatives[place]).is_left or (each.outer, each.inner) == (outer, inner)
            ]
            if not fits:
                break
            chosen[at] = min(fits, key=lambda place: (worth[at][place], place))
        else:
            total = sum(worth[at][place] for at, place in chosen.items())
            if best is None or (total, inner) < best[:2]:
                best = (total, inner, chosen)
    return None if best is None else (best[0], best[2])


def _without_each(given: Problem, may: list[list[int]], best: Found, goes_on: Callable[[], bool]) -> Found:
    """Leave out one item after another, those of which least is bought first, as long as anything is gained."""
    running = Running(given, list(best.choice))
    rooms = _rooms(given.units) if given.rules.same_look else {}
    gained = True
    while gained and goes_on():
        gained = False
        prices = _prices(given, running, 1.0)
        for item in _by_sum(given, running):
            if not goes_on():
                break
            moves = _moves(given, may, running, rooms, prices, item)
            if moves is None:
                continue
            before = {place: running.choice[place] for place in moves}
            for place, at in moves.items():
                running.change(place, at)
            told = running.told()
            if _fits_budget(given, told) and round(told.worth, 2) < round(best.told.worth, 2):
                best, gained = Found(tuple(running.choice), told), True
                may = [
                    [at for at in each if not _uses(unit.alternatives[at], item)] or each
                    for unit, each in zip(given.units, may, strict=True)
                ]
                break
            for place, at in before.items():
                running.change(place, at)
    return Found(best.choice, told_of(given, best.choice))


def _fits_budget(given: Problem, told: Told) -> bool:
    return given.rules.budget is None or told.cost <= given.rules.budget + 0.005


def _by_sum(given: Problem, running: Running) -> list[str]:
    needed = running.needed()
    return sorted(needed, key=lambda item: (ordering.bought(needed[item], given.items[item])["sum"] or 0.0, item))


def _moves(
    given: Problem,
    may: Sequence[Sequence[int]],
    running: Running,
    rooms: Mapping[str, Sequence[int]],
    prices: Prices,
    item: str,
) -> dict[int, int] | None:
    """What each unit that uses an item would take without it; None where one of them cannot do without."""
    uses = [place for place, at in enumerate(running.choice) if _uses(given.units[place].alternatives[at], item)]
    touched = uses
    if rooms:
        touched = [place for room in dict.fromkeys(given.units[at].room for at in uses) for place in rooms[room]]
    worth: dict[int, dict[int, float]] = {}
    for place in touched:
        alternatives = given.units[place].alternatives
        worth[place] = {at: prices.of(alternatives[at]) for at in may[place] if not _uses(alternatives[at], item)}
        if not worth[place]:
            return None
    if not rooms:
        return {place: min(of, key=lambda at: (of[at], at)) for place, of in worth.items()}
    found: dict[int, int] = {}
    for room in dict.fromkeys(given.units[place].room for place in uses):
        looked = _room(given.units, rooms[room], worth)
        if looked is None:
            return None
        found |= looked
    return found


def _uses(each: Alternative, item: str) -> bool:
    return any(of == item for of, _ in each.parts) or any(short.item == item for short in each.short)


__all__ = ["Found", "first_answer"]
