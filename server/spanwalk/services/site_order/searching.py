"""Search for the best order of a site: a first answer, soon a bound, then HiGHS, then ties by look, items and name.

Whatever the solver says is reckoned again in the job's own money; its bound tells how far from the least a choice may be.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf, isfinite

import highspy
import numpy as np

from spanwalk.rules.site_order.clusters import Alike, alike, spread
from spanwalk.rules.site_order.first_answer import Found, first_answer
from spanwalk.rules.site_order.problem import Choice, Problem
from spanwalk.rules.site_order.sums import is_kept, told_of
from spanwalk.services.site_order.bettering import bettered
from spanwalk.services.site_order.bound import bounded, rounding_of
from spanwalk.services.site_order.columns import CENTS, Model
from spanwalk.services.site_order.model import built

RELAXED_FROM_COLUMNS, RELAXED_COLUMNS, EXACT_COLUMNS = 1_000, 40_000, 10_000
"""From so many columns on, up to so many, the relaxed model comes before the exact one, which is tried up to so many.

Beyond, the solver has no answer in minutes and looks at its limit of time too seldom, while `bound` is near already.
"""
START_FROM_COLUMNS = 6_000
"""From so many columns on the solver is given the best so far. In a smaller model it would hide that presolve has called it infeasible."""
RELAXED_SHARE = 0.6
"""Share of the time until which the relaxed model may take."""
FIRST_SHARE = 0.25
"""Share of the time that the first answer may take."""
IMPROVE_SHARE = 0.4
"""Share of the time until which it is made better without the solver."""
HALF_A_CENT = 0.5
MET = 0.03
"""So near the bound a choice is proved: what the solver's cents and the floats of a bound may be off by [currency]."""
TIES_S = 2.0
"""How long is looked, once it is proved that none costs less, for the one that looks best at the same cost [s]."""
OPTIMAL = (highspy.HighsModelStatus.kOptimal,)
ENDED = (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kTimeLimit, highspy.HighsModelStatus.kInterrupt)


@dataclass(frozen=True)
class Answer:
    """How far a search has come.

    Parameters
    ----------
    step : str
        `first`, `search`, `ties` or `done`.
    found : Found or None
        The best choice so far; None where none keeps to the rules yet.
    bound : float or None
        What no choice goes below [currency]; None: not known yet.
    proved : bool
        Whether none is better, but for the cents that rounding the lines of a job makes; from then on only what costs the same
        is looked at, for a moment.
    seconds : float
        Since the beginning [s].
    """

    step: str
    found: Found | None
    bound: float | None
    proved: bool
    seconds: float

    @property
    def gap(self) -> float | None:
        """How much less a better choice could come to at most [currency]."""
        if self.found is None or self.bound is None:
            return None
        return 0.0 if self.proved else max(0.0, round(self.found.told.worth - self.bound, 2))


class Search:
    """One search.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    seconds : float
        How long to look [s].
    tell : callable
        Called with an Answer whenever there is something new.
    """

    def __init__(self, given: Problem, seconds: float, tell: Callable[[Answer], None]) -> None:
        self._given, self._seconds, self._tell = given, seconds, tell
        self._begun = time.monotonic()
        self._best: Found | None = None
        self._bounds: list[float] = []
        """What no choice goes below, by prices of items and by the solver [currency]."""
        self._rounding = rounding_of(given)
        self._met = MET + 2 * self._rounding
        self._classes: list[Alike] = alike(given)

    def run(self) -> Answer:
        """The best choice that was found in the time; it ends as soon as none can be better."""
        self._take(first_answer(self._given, lambda: False))
        self._say("first")
        for step in (self._from_prices, self._from_items, self._improve, self._relaxed, self._exactly):
            step()
            if self._is_met():
                break
        if self._is_met():
            self._say("ties")
            self._ties()
        return self._say("done")

    def _from_prices(self) -> None:
        """A bound, and choices met on the way to it."""
        found = bounded(self._given, self._best, lambda: self._spent() < self._seconds * FIRST_SHARE)
        if found is None:
            return
        for each in found.found:
            self._take(each)
        self._bounds.append(found.bound)
        self._say("search")

    def _from_items(self) -> None:
        """The first answer's choices without one item and another."""
        self._take(first_answer(self._given, lambda: self._spent() < self._seconds * FIRST_SHARE))
        self._say("search")

    def _improve(self) -> None:
        """Make the best so far better without the solver."""
        if self._best is not None and self._spent() < self._seconds * IMPROVE_SHARE:
            self._take(bettered(self._given, self._best, lambda: self._spent() < self._seconds * IMPROVE_SHARE))
            self._say("search")

    def _relaxed(self) -> None:
        """The solver on a model in which packs and spares may be parts."""
        if RELAXED_FROM_COLUMNS < self._columns <= RELAXED_COLUMNS:
            self._search(built(self._given, self._classes, exact=False), RELAXED_SHARE)

    def _exactly(self) -> None:
        """The solver on the whole model."""
        if self._columns <= EXACT_COLUMNS and self._spent() < self._seconds:
            self._search(self._exact_model, share=1.0)

    @cached_property
    def _columns(self) -> int:
        """Columns of the model for what is chosen."""
        units = self._given.units
        return sum(len(units[place].alternatives) for each in self._classes for place in each.members[0])

    @cached_property
    def _exact_model(self) -> Model:
        return built(self._given, self._classes, exact=True)

    @property
    def _bound(self) -> float | None:
        """The highest bound. One above a choice that is known cannot be right, whoever told it, and is not claimed."""
        best = inf if self._best is None else self._best.told.worth
        return max((each for each in self._bounds if -inf < each <= best + self._met), default=None)

    def _is_met(self) -> bool:
        """Whether the best so far costs no more than the bound."""
        return self._best is not None and self._bound is not None and self._best.told.worth - self._bound <= self._met

    def _spent(self) -> float:
        return time.monotonic() - self._begun

    def _say(self, step: str) -> Answer:
        answer = Answer(step, self._best, self._bound, self._is_met(), round(self._spent(), 2))
        self._tell(answer)
        return answer

    def _take(self, found: Found | None) -> None:
        if found is not None and (self._best is None or found.rank < self._best.rank):
            self._best = found

    def _read(self, model: Model, values: Sequence[float]) -> Found | None:
        """The choice that the values of the columns tell, in the job's own money; None where it breaks a rule."""
        try:
            choice: Choice = spread(self._given, self._classes, model.numbers(values))
        except (ValueError, StopIteration):
            return None
        told = told_of(self._given, choice)
        return Found(choice, told) if is_kept(self._given, choice, told) else None

    # -- the least cost

    def _search(self, model: Model, share: float) -> None:
        solver = _solver(max(1.0, self._seconds * share - self._spent()))
        last, at = [0.0], len(self._bounds)
        self._bounds.append(-inf)

        def raised(bound_cents: float) -> None:
            if isfinite(bound_cents):
                self._bounds[at] = max(self._bounds[at], bound_cents / CENTS - self._rounding)

        def improved(event: highspy.highs.HighsCallbackEvent) -> None:
            self._take(self._read(model, list(event.data_out.mip_solution)))
            self._say("search")

        def going_on(event: highspy.highs.HighsCallbackEvent) -> None:
            raised(event.data_out.mip_dual_bound)
            if self._is_met():
                event.interrupt()
            if self._spent() - last[0] > 0.5:
                last[0] = self._spent()
                self._say("search")

        solver.cbMipImprovingSolution += improved
        solver.cbMipInterrupt += going_on
        solver.passModel(model.lp())
        if self._best is not None and len(model.cost) > START_FROM_COLUMNS:
            columns, values = model.start(self._best.choice)
            solver.setSolution(len(columns), np.array(columns, dtype=np.int32), np.array(values, dtype=float))
        status = _run(solver)
        if status not in ENDED:
            return
        raised(solver.getInfo().mip_dual_bound)
        solved = list(solver.getSolution().col_value)
        if solved:
            self._take(self._read(model, solved))

    # -- what costs the same

    def _ties(self) -> None:
        """Of all that costs the same to the cent: the best looks, then the fewest items, then the first names."""
        end = min(self._seconds, self._spent() + TIES_S)
        if self._best is None or self._columns > EXACT_COLUMNS:
            return
        model = self._exact_model
        lp = model.lp()
        rows = [(np.array(model.cost), self._best.told.worth * CENTS - model.offset + HALF_A_CENT)]
        least = round(self._best.told.worth, 2)
        for weights in (_looks(model), _items_and_names(model)):
            left = end - self._spent()
            if left < 0.2:
                return
            solver = _solver(left)
            lp.col_cost_, lp.offset_ = np.array(weights), 0.0
            solver.passModel(lp)
            for entries, most in rows:
                used = np.flatnonzero(entries).astype(np.int32)
                solver.addRow(-inf, most, len(used), used, entries[used])
            if _run(solver) not in OPTIMAL:
                return
            found = self._read(model, list(solver.getSolution().col_value))
            if found is None or round(found.told.worth, 2) > least + 0.005:
                return
            self._best = found
            rows.append((np.array(weights), solver.getInfo().objective_function_value + HALF_A_CENT))


def _looks(model: Model) -> list[float]:
    return [*_of_taken(model, lambda unit, place: float(model.given.units[unit].alternatives[place].look))]


def _items_and_names(model: Model) -> list[float]:
    """Fewer items before any name; places of names, each unit's counted a little otherwise, so that ties are seldom left."""
    many = len(model.classes) + 1
    found = [*_of_taken(model, lambda unit, place: float(place * many), spread_by=1.0)]
    most = 1.0 + sum(weight * top for weight, top in zip(found, model.upper, strict=True) if weight)
    for uses in model.uses.values():
        for at in uses:
            found[at] = most
    return found


def _of_taken(model: Model, weight: Callable[[int, int], float], spread_by: float = 0.0) -> Iterator[float]:
    found = [0.0] * len(model.cost)
    for (of, slot, place), column in model.taken.items():
        found[column] = weight(model.classes[of].members[0][slot], place) + spread_by * place * of
    yield from found


def _solver(seconds: float) -> highspy.Highs:
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    options = {
        "output_flag": False,
        "threads": 1,
        "random_seed": 0,
        "mip_rel_gap": 0.0,
        "mip_abs_gap": HALF_A_CENT,
        "time_limit": seconds,
    }
    for name, value in options.items():
        solver.setOptionValue(name, value)
    return solver


def _run(solver: highspy.Highs) -> highspy.HighsModelStatus:
    """Solve; on any end but a good one once more without presolve, which has been seen to call sound models infeasible."""
    solver.run()
    if solver.getModelStatus() not in ENDED:
        solver.setOptionValue("presolve", "off")
        solver.run()
    return solver.getModelStatus()
