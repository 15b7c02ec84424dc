"""Which units are chosen for together, and which of those are alike: equal ones are counted instead of told apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from spanwalk.rules.site_order.problem import Alternative, Choice, Problem, Unit


@dataclass(frozen=True)
class Alike:
    """Clusters of units that are the same but for their ids.

    Parameters
    ----------
    members : tuple of tuple of int
        For each cluster the places of its units; those at one place of the tuples are the same in all clusters.
    kinds : tuple of int
        For each place in a cluster a number of its kind, from 0: units of one number are of one kind.
    """

    members: tuple[tuple[int, ...], ...]
    kinds: tuple[int, ...]

    @property
    def size(self) -> int:
        """How many clusters there are."""
        return len(self.members)


def allowed(unit: Unit) -> list[int]:
    """Places of the alternatives that may be chosen."""
    return [place for place, each in enumerate(unit.alternatives) if not each.barred]


def alike(given: Problem) -> list[Alike]:
    """Units merged: where looks are to be the same in a room, its units are one cluster; else each is one of its own."""
    found: dict[object, list[tuple[int, ...]]] = {}
    kinds: dict[object, tuple[int, ...]] = {}
    signatures: dict[object, int] = {}
    signed = [signatures.setdefault(_signature(unit), len(signatures)) for unit in given.units]
    for cluster in _clusters(given):
        ordered, numbers = _in_order(given, cluster, signed)
        what = (tuple(signed[place] for place in ordered), numbers)
        found.setdefault(what, []).append(ordered)
        kinds[what] = numbers
    return [Alike(tuple(members), kinds[what]) for what, members in found.items()]


def _clusters(given: Problem) -> Iterator[tuple[int, ...]]:
    if not given.rules.same_look:
        yield from ((place,) for place in range(len(given.units)))
        return
    rooms: dict[str, list[int]] = {}
    for place, unit in enumerate(given.units):
        rooms.setdefault(unit.room, []).append(place)
    yield from (tuple(places) for places in rooms.values())


def _in_order(given: Problem, cluster: Sequence[int], signed: Sequence[int]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """A cluster's units, kind by kind, in an order that hangs on what they are and not on their ids; numbers of their kinds."""
    by_kind: dict[str, list[int]] = {}
    for place in cluster:
        by_kind.setdefault(given.units[place].kind, []).append(place)
    of_kinds = sorted(
        (sorted(places, key=lambda place: (signed[place], place)) for places in by_kind.values()),
        key=lambda places: ([signed[place] for place in places], places),
    )
    ordered = tuple(place for places in of_kinds for place in places)
    return ordered, tuple(number for number, places in enumerate(of_kinds) for _ in places)


def _signature(unit: Unit) -> tuple[object, ...]:
    served = unit.route if any(each.minutes for each in unit.alternatives) else ""
    return (served, unit.alternatives)


@dataclass(frozen=True)
class Numbers:
    """How many clusters of a class take what.

    Parameters
    ----------
    taken : sequence of mapping
        For each place in a cluster: place of the alternative -> how many take it.
    outer : mapping
        Look of the room -> how many rooms have it; empty where looks are free.
    inner : sequence of mapping
        For each kind in a cluster: (look of the room, look of the kind) -> how many rooms have it.
    """

    taken: Sequence[Mapping[int, int]]
    outer: Mapping[str, int]
    inner: Sequence[Mapping[tuple[str, str], int]]


def spread(given: Problem, classes: Sequence[Alike], numbers: Sequence[Numbers]) -> Choice:
    """Which unit gets which alternative, where only their numbers were chosen: as today where that goes, else in order.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    classes : sequence of Alike
        Its units, merged.
    numbers : sequence of Numbers
        What was chosen for each class.
    """
    found = list(given.today)
    for each, chosen in zip(classes, numbers, strict=True):
        for slot, taken in enumerate(chosen.taken):
            if chosen.outer:
                _with_looks(given, each, chosen, slot, found)
            else:
                _as_today(found, [members[slot] for members in each.members], dict(taken))
    return tuple(found)


def _as_today(found: list[int], places: Sequence[int], counts: dict[int, int]) -> None:
    """Give each of some units one of the counted alternatives, that of today where it is among them."""
    others = []
    for place in places:
        if counts.get(found[place], 0) > 0:
            counts[found[place]] -= 1
        else:
            others.append(place)
    rest = [chosen for chosen, count in sorted(counts.items()) for _ in range(count)]
    for place, chosen in zip(others, rest, strict=True):
        found[place] = chosen


def _with_looks(given: Problem, each: Alike, chosen: Numbers, slot: int, found: list[int]) -> None:
    """Rooms one after another: first the looks in order, then within a look what the place may take."""
    alternatives = given.units[each.members[0][slot]].alternatives
    rooms = iter(each.members)
    looks = [
        (outer, inner)
        for outer in sorted(chosen.outer)
        for (of, inner), count in sorted(chosen.inner[each.kinds[slot]].items())
        if of == outer
        for _ in range(count)
    ]
    left = dict(chosen.taken[slot])
    waiting: list[int] = []
    for members, look in zip(rooms, looks, strict=True):
        place = members[slot]
        fits = [at for at, count in sorted(left.items()) if count > 0 and _look(alternatives[at]) == look]
        if fits:
            left[fits[0]] -= 1
            found[place] = fits[0]
        else:
            waiting.append(place)
    rest = [at for at, count in sorted(left.items()) for _ in range(count)]
    for place, at in zip(waiting, rest, strict=True):
        found[place] = at


def _look(alternative: Alternative) -> tuple[str, str] | None:
    return None if alternative.is_left else (alternative.outer, alternative.inner)


__all__ = ["Alike", "Numbers", "alike", "allowed", "spread"]
