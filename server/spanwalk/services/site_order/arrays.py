"""All alternatives that may be chosen, as arrays: one number an alternative, in the order of units and of their alternatives."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import ceil

import numpy as np
from numpy.typing import NDArray

from spanwalk.rules.fit.spares import enough_spares
from spanwalk.rules.site_order.problem import Alternative, Choice, Problem, Unit
from spanwalk.rules.site_order.sums import PARTS_OF_ONE, own_cost

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class Arrays:
    """Alternatives of all units.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    may : sequence of sequence of int
        For each unit the places of the alternatives that may be chosen, at least one.
    """

    def __init__(self, given: Problem, may: Sequence[Sequence[int]]) -> None:
        self.given = given
        self.names = sorted(given.items)
        self.number = {name: at for at, name in enumerate(self.names)}
        self.places = np.array([(place, at) for place, ats in enumerate(may) for at in ats], dtype=np.intp)
        self.unit: Ints = self.places[:, 0]
        self.starts = np.searchsorted(self.unit, np.arange(len(given.units)))
        self.every = every = [given.units[place].alternatives[at] for place, at in self.places.tolist()]
        self.is_left = np.array([each.is_left for each in every])
        self.rest = np.array([each.rest for each in every])
        self.work = self._of(lambda each: own_cost(given, each))
        self.minutes = self._of(lambda each: each.minutes)
        self.hire_per_day = given.hire_per_day * given.charges.of_others
        self.of_goods = given.charges.of_goods
        """What each unit of currency paid for items comes to, with permit and tax."""
        self.asked = self._of(lambda each: each.rebate_asked)
        self.peak = self._of(lambda each: each.peak_kw)
        self.saved = self._of(lambda each: each.peak_saved_kw)
        self._of_items()

    def _of(self, told: Callable[[Alternative], float]) -> Floats:
        """A number of each alternative; nothing of what stays as it is."""
        return np.array([0.0 if each.is_left else told(each) for each in self.every])

    def _of_items(self) -> None:
        self.keys = sorted({(short.item, short.count) for each in self.every for short in each.short})
        key_number = {key: at for at, key in enumerate(self.keys)}
        self.misfits: dict[tuple[int, int], tuple[float, int]] = {}
        """(alternative, key) -> expected misfits in parts of one, sure ones."""
        self.parts: dict[tuple[int, int], int] = {}
        """(alternative, item) -> pieces; 0 where it is only a spare."""
        for at, each in enumerate(self.every):
            if each.is_left:
                continue
            for item, count in each.parts:
                of = (at, self.number[item])
                self.parts[of] = self.parts.get(of, 0) + count
            for short in each.short:
                key = (at, key_number[short.item, short.count])
                expected, sure = self.misfits.get(key, (0.0, 0))
                self.misfits[key] = (expected + round(short.expected * PARTS_OF_ONE), sure + short.sure)
                self.parts.setdefault((at, self.number[short.item]), 0)

    def most_misfits(self) -> list[float]:
        """The most misfits expected together of each key, in parts of one."""
        table = np.zeros((len(self.given.units), len(self.keys)))
        for (at, key), (expected, _) in self.misfits.items():
            unit = self.unit[at]
            table[unit, key] = max(table[unit, key], expected)
        return [float(most) for most in table.sum(axis=0)]

    def most_bought(self) -> list[int]:
        """The most pieces that can be needed of each item, spares among them."""
        more, table = 1 + self.given.spare_pct / 100, np.zeros((len(self.given.units), len(self.names)))
        needed = {of: count * more for of, count in self.parts.items()}
        for (at, key), (_, sure) in self.misfits.items():
            item, count = self.keys[key]
            needed[at, self.number[item]] += count * sure
        for (at, number), pieces in needed.items():
            unit = self.unit[at]
            table[unit, number] = max(table[unit, number], pieces)
        most = table.sum(axis=0) + 2
        for (item, count), parts in zip(self.keys, self.most_misfits(), strict=True):
            most[self.number[item]] += count * (enough_spares(parts / PARTS_OF_ONE) + 1)
        return [ceil(pieces) for pieces in most]

    def chosen(self, choice: Choice) -> Ints | None:
        """The alternatives of a choice by their numbers; None where one of them may not be chosen."""
        by_place = {(place, at): number for number, (place, at) in enumerate(self.places.tolist())}
        found = [by_place.get(each) for each in enumerate(choice)]
        known = [number for number in found if number is not None]
        return np.array(known, dtype=np.intp) if len(known) == len(found) else None

    def choice(self, chosen: Iterable[int]) -> Choice:
        """The choice of alternatives by their numbers."""
        found = list(self.given.today)
        for place, at in self.places[np.asarray(chosen, dtype=np.intp)].tolist():
            found[place] = at
        return tuple(found)


def colours_of(units: Iterable[Unit]) -> list[str]:
    """Colour temperatures that may be chosen, in order."""
    return sorted({each.colour for unit in units for each in unit.alternatives if not each.is_left})


__all__ = ["Arrays", "Floats", "Ints", "colours_of"]
