"""Columns and rows of a mixed-integer model as they are put together, and as HiGHS takes them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import inf

import highspy
import numpy as np

from spanwalk.rules.site_order.clusters import Alike, Numbers
from spanwalk.rules.site_order.problem import Choice, Problem

CENTS = 100.0
"""Money of a model is in cents."""


@dataclass
class Model:
    """Columns and rows as they are put together.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    classes : sequence of Alike
        Its units, merged.
    exact : bool
        Whether spares and packs are whole, so that its optimum is the least of all choices.
    """

    given: Problem
    classes: Sequence[Alike]
    exact: bool
    offset: float = 0.0
    cost: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[float, float, dict[int, float]]] = field(default_factory=list)
    taken: dict[tuple[int, int, int], int] = field(default_factory=dict)
    outer: dict[tuple[int, str], int] = field(default_factory=dict)
    inner: dict[tuple[int, int, str, str], int] = field(default_factory=dict)
    uses: dict[str, list[int]] = field(default_factory=dict)
    paid: dict[int, float] = field(default_factory=dict)
    """Column -> what it adds to the job's cost before rebates [cents]."""
    untaxed: dict[int, float] = field(default_factory=dict)
    """The same without tax: what a rebate's share of the cost is of [cents]."""
    is_exact: bool = True

    def column(
        self, cost: float = 0.0, upper: float = inf, whole: bool = True, paid: float = 0.0, untaxed: float = 0.0
    ) -> int:
        """A new column from 0 on."""
        self.cost.append(cost)
        self.lower.append(0.0)
        self.upper.append(upper)
        self.whole.append(whole)
        if paid:
            self.paid[len(self.cost) - 1] = paid
            self.untaxed[len(self.cost) - 1] = untaxed
        return len(self.cost) - 1

    def row(self, lower: float, upper: float, entries: Mapping[int, float]) -> None:
        """A new row."""
        self.rows.append((lower, upper, {at: value for at, value in entries.items() if value}))

    def lp(self) -> highspy.HighsLp:
        """The model as HiGHS takes it."""
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_, lp.offset_ = len(self.cost), len(self.rows), self.offset
        lp.col_cost_, lp.col_lower_ = np.array(self.cost), np.array(self.lower)
        lp.col_upper_ = np.array(self.upper)
        lp.row_lower_ = np.array([row[0] for row in self.rows])
        lp.row_upper_ = np.array([row[1] for row in self.rows])
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        lp.integrality_ = [kinds[whole] for whole in self.whole]
        starts = np.cumsum([0, *(len(row[2]) for row in self.rows)])
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = starts.astype(np.int32)
        lp.a_matrix_.index_ = np.array([at for row in self.rows for at in row[2]], dtype=np.int32)
        lp.a_matrix_.value_ = np.array([value for row in self.rows for value in row[2].values()], dtype=float)
        return lp

    def numbers(self, values: Sequence[float]) -> list[Numbers]:
        """How many clusters of each class take what, by the values of the columns."""
        taken: list[list[dict[int, int]]] = [[{} for _ in each.kinds] for each in self.classes]
        outer: list[dict[str, int]] = [{} for _ in self.classes]
        inner: list[list[dict[tuple[str, str], int]]] = [[{} for _ in set(each.kinds)] for each in self.classes]
        for (of, slot, place), at in self.taken.items():
            taken[of][slot][place] = round(values[at])
        for (of, look), at in self.outer.items():
            outer[of][look] = round(values[at])
        for (of, kind, look, its), at in self.inner.items():
            inner[of][kind][look, its] = round(values[at])
        return [Numbers(*each) for each in zip(taken, outer, inner, strict=True)]

    def start(self, choice: Choice) -> tuple[list[int], list[float]]:
        """Columns and values of a choice, of those that the others follow from."""
        found: dict[int, float] = dict.fromkeys(self.taken.values(), 0.0)
        for of, each in enumerate(self.classes):
            for members in each.members:
                for slot, unit in enumerate(members):
                    found[self.taken[of, slot, choice[unit]]] += 1.0
        return list(found), list(found.values())


__all__ = ["CENTS", "Model"]
