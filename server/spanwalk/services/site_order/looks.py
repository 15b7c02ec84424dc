"""The cheapest alternatives of all units at some costs, by arrays: each unit's own, or such that a room looks one way."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spanwalk.rules.site_order.problem import Problem

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True)
class Level:
    """Values in a row of parts that follow each other; of a part the least counts, or their sum.

    Parameters
    ----------
    least : bool
        Whether the least of a part counts.
    starts : array of int
        Where each part begins.
    part : array of int
        For each value the number of its part.
    """

    least: bool
    starts: Ints
    part: Ints


@dataclass(frozen=True)
class Cheapest:
    """Which alternatives are cheapest together.

    Parameters
    ----------
    entries : array of int
        Numbers of alternatives, in the order of the first level; the number after the last: none can be.
    levels : tuple of Level
        From alternatives up to rooms, or units.
    """

    entries: Ints
    levels: tuple[Level, ...]

    def of(self, cost: Floats) -> tuple[float, Ints]:
        """What they come to at a cost of each alternative, and their numbers; of equal ones the first."""
        values = [np.append(cost, np.inf)[self.entries]]
        for level in self.levels:
            joined = np.minimum if level.least else np.add
            values.append(joined.reduceat(values[-1], level.starts))
        picked = np.arange(len(values[-1]))
        for level, below, above in zip(reversed(self.levels), values[-2::-1], values[:0:-1], strict=True):
            is_picked = np.zeros(len(above), dtype=bool)
            is_picked[picked] = True
            held = is_picked[level.part]
            if level.least:
                held &= below == above[level.part]
            picked = np.flatnonzero(held)
            if level.least:
                parts = level.part[picked]
                picked = picked[np.append(True, parts[1:] != parts[:-1])]
        return float(values[-1].sum()), self.entries[picked]


Key = tuple[int | str, ...]


def looks_of(given: Problem, places: Ints) -> Cheapest | None:
    """How alternatives are joined under a problem's rules about looks; None where some room can look no one way.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    places : array of (unit, alternative)
        The alternatives that may be chosen, by unit.
    """
    if not given.rules.same_look:
        return Cheapest(np.arange(len(places)), (_level(True, [(int(place),) for place in places[:, 0]]),))
    slots = _slots(given, places)
    order = sorted(slots)
    none = len(places)
    entries = [(key, at) for key in order for at in slots[key] or [none]]
    levels = []
    keys: list[Key] = [key for key, _ in entries]
    for least, length in ((True, 5), (False, 4), (True, 3), (False, 2), (True, 1)):
        keys = [key[:length] for key in keys]
        levels.append(_level(least, keys))
        keys = list(dict.fromkeys(keys))
    found = Cheapest(np.array([at for _, at in entries], dtype=np.intp), tuple(levels))
    return found if np.isfinite(found.of(np.zeros(none))[0]) else None


def _slots(given: Problem, places: Ints) -> dict[Key, list[int]]:
    """Room, look of the room, kind, its look, unit -> numbers of the alternatives that may be there."""
    looks: dict[str, dict[str, dict[str, set[str]]]] = defaultdict(lambda: defaultdict(lambda: defaultdict(set)))
    by_unit: dict[int, list[tuple[int, int]]] = defaultdict(list)
    kinds: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for number, (place, at) in enumerate(places.tolist()):
        by_unit[place].append((number, at))
        unit = given.units[place]
        each = unit.alternatives[at]
        if not each.is_left:
            looks[unit.room][each.outer][unit.kind].add(each.inner)
    for place, unit in enumerate(given.units):
        kinds[unit.room][unit.kind].append(place)
    found: dict[Key, list[int]] = {}
    for room, of_kinds in kinds.items():
        for outer in looks[room] or {"": {}}:
            for kind, members in of_kinds.items():
                for inner in looks[room][outer].get(kind) or {""}:
                    for place in members:
                        alternatives = given.units[place].alternatives
                        found[room, outer, kind, inner, place] = [
                            number
                            for number, at in by_unit[place]
                            if alternatives[at].is_left
                            or (alternatives[at].outer, alternatives[at].inner) == (outer, inner)
                        ]
    return found


def _level(least: bool, keys: list[Key]) -> Level:
    parts = np.cumsum([at > 0 and key != keys[at - 1] for at, key in enumerate(keys)])
    starts = np.flatnonzero(np.append(True, parts[1:] != parts[:-1]))
    return Level(least, starts, parts.astype(np.intp))


__all__ = ["Cheapest", "looks_of"]
