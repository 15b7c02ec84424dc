"""Every way to convert a group, judged: which candidates pass, what they are worth, and why the others do not.

Candidates come from the kinds of arrangement, one module each. A candidate is a layout of bars, drivers
and one setting. Those that fail a check are rejected with the check and the number; those that lack
knowledge stay in, but are no yes. What does not hang on the group is looked up: see `serving`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Protocol

from spanwalk.rules import energy
from spanwalk.rules.arrangements import (
    bars_end_to_end,
    fed_from_neighbour,
    fewer_rows,
    one_bar_in_each_row,
    shared_ballast,
)
from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.candidate import (
    LAYOUT_CHECKS,
    Candidate,
    Lamplight,
    accessory_checks,
    arrangement,
    lumens_each,
    with_driver,
)
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.now import Now
from spanwalk.rules.arrangements.packs import Packed, Packs
from spanwalk.rules.arrangements.serving import MOST_DRIVERS, Places, Served, served
from spanwalk.rules.arrangements.wanted import Wanted, check_light, judge_light, wanted_light
from spanwalk.rules.arrangements.worth import Worth, Worths
from spanwalk.rules.checks import FAILS, PASSES, Check, exact, fails, first_failed, plain
from spanwalk.rules.light import Judgement

Json = Any
Told = dict[str, Json]
Rejected = Callable[[], Told]
"""A rejected candidate, told by its name and the check that failed when somebody asks."""
NEVER = float("inf")


class Kind(Protocol):
    """A kind of arrangement: one module."""

    def applies(self, body: Body) -> bool:
        """Whether it is one for this body."""

    def propose(self, body: Body) -> Iterator[Layout]:
        """Its layouts."""


KINDS: tuple[Any, ...] = (one_bar_in_each_row, bars_end_to_end, fewer_rows, shared_ballast, fed_from_neighbour)


@dataclass(frozen=True)
class Judged:
    """A candidate with its light judged and its worth reckoned."""

    candidate: Candidate
    worth: Worth

    @property
    def rank(self) -> tuple[Json, ...]:
        """Sure ones first, then the lowest life-cycle cost to the cent, watts, cost, and at last the name."""
        lcc = round(self.worth.result.lcc, 2) if self.worth.result else NEVER
        cost = round(self.worth.cost, 2) if self.worth.cost is not None else NEVER
        return (self.candidate.verdict != PASSES, lcc, plain(self.candidate.watts_each), cost, self.candidate.name)


def judge_candidates(body: Body, current: Now) -> tuple[list[Judged], list[Rejected]]:
    """All feasible candidates, unranked, and all rejected ones, each by the check that it failed.

    A layout that fails by itself is rejected once; a driver that fails with a layout is rejected at the
    setting that came furthest.
    """
    found = _Candidates(body, current)
    for layout, checks in _layouts(body):
        failed = first_failed(checks)
        if failed is not None:
            found.rejected.append(partial(_rejected, layout, failed))
        elif layout.feeds == 0:
            found.judge_follower(layout, checks)
        else:
            found.judge_drivers(layout, checks)
    if body.is_fed_by_neighbour:
        found.rejected.append(partial(_told, "a driver in this body", fails("own-feed")))
    return found.feasible, found.rejected


def _layouts(body: Body) -> Iterator[tuple[Layout, tuple[Check, ...]]]:
    """Layouts of every kind of arrangement that applies, with what they and the group's duty are checked for, up to the first failure."""
    accessories = accessory_checks(body)
    if body.feeds_neighbour:
        accessories.append(shared_ballast.check_partner(body))
    for kind in KINDS:
        if kind.applies(body):
            for layout in kind.propose(body):
                yield layout, _checks(body, layout, accessories)


def _checks(body: Body, layout: Layout, accessories: Sequence[Check]) -> tuple[Check, ...]:
    found = []
    for check in LAYOUT_CHECKS:
        found.append(check(body, layout))
        if found[-1].verdict == FAILS:
            return tuple(found)
    return (*found, *accessories)


class _Candidates:
    """The candidates of one group as they are judged."""

    def __init__(self, body: Body, current: Now) -> None:
        self.feasible: list[Judged] = []
        self.rejected: list[Rejected] = []
        self._body = body
        self._wanted = wanted_light(body, current)
        self._places = Places(body)
        self._packs = Packs(body, current)
        self._worths = Worths(body, current)

    def judge_drivers(self, layout: Layout, before: tuple[Check, ...]) -> None:
        """For each driver of the catalogue: its settings that pass and give the light that is wanted, or why none does."""
        lamplight = Lamplight(self._body, layout)
        for each in served(self._body.catalogue, layout):
            if each.number is None:
                self.rejected.append(partial(_too_many_bars, layout, each))
                continue
            in_place, failed = self._places.checks(each.driver, each.number)
            packed = self._packs.of(layout, each.driver, each.number) if failed is None else None
            if packed is not None:
                failed = packed.failed
            if failed is not None:
                # What fails whatever the setting is told at the lowest.
                self.rejected.append(partial(_rejected_at, layout, each, each.lowest_ma, failed))
            elif each.furthest is not None:
                fed, failed = each.furthest
                self.rejected.append(partial(_rejected_at, layout, each, fed.setting_ma, failed))
            else:
                self._judge_light(layout, each, each.number, (*before, *in_place), lamplight, packed)

    def _judge_light(self, layout: Layout, each: Served, number: int, before: tuple[Check, ...], lamplight: Lamplight, packed: Packed | None) -> None:
        fixtures, wanted, lit, good = self._body.fixtures, self._wanted, [], False
        for fed in each.good:
            lumens = lamplight.lumens(fed.each_ma)
            found = judge_light(lumens, fixtures, wanted)
            lit.append(found)
            if found is None or found.verdict == "enough":
                good = True
                self._take(with_driver(layout, each.driver, number, fed, before, lumens, check_light(found, wanted), packed))
        if not good:
            self.rejected.append(partial(_nearest, layout, each, lit, wanted))

    def judge_follower(self, layout: Layout, before: tuple[Check, ...]) -> None:
        """The one candidate of a body that is fed from its neighbour: same current, nothing of its own to choose."""
        proposal = fed_from_neighbour.followed(self._body)
        if proposal is None:
            return
        each_ma = exact(proposal["setting_ma"])
        if proposal["bars_on_one"]:
            each_ma = exact(proposal["setting_ma"]) / (proposal["bars_on_one"] if proposal["shared"] else 1)
        bars = [bar["facets"]["bar"] for bar in layout.bars]
        bars_w = sum((exact(bar["forward_v"]) * each_ma / 1000 for bar in bars), exact(0))
        watts = energy.mains_watts(float(bars_w), proposal["efficiency_pct"])
        driver = self._body.catalogue.by_id.get(proposal["driver_item"])
        lumens = lumens_each(self._body, layout, float(each_ma))
        lit = check_light(judge_light(lumens, self._body.fixtures, self._wanted), self._wanted)
        candidate = Candidate(layout, driver, 0, proposal["setting_ma"], proposal["bars_on_one"], (*before, lit), bars_w, watts, lumens)
        if lit.verdict == FAILS:
            self.rejected.append(partial(_told, candidate.name, lit))
        else:
            self._take(candidate)

    def _take(self, candidate: Candidate) -> None:
        self.feasible.append(Judged(candidate, self._worths.of(candidate)))


# -- what is rejected


def _told(name: str, failed: Check) -> Told:
    return {"arrangement": name, **failed.told()}


def _rejected(layout: Layout, failed: Check) -> Told:
    return _told(layout.name, failed)


def _rejected_at(layout: Layout, each: Served, setting_ma: int, failed: Check) -> Told:
    return _told(arrangement(layout, each.driver, each.number or 1, setting_ma), failed)


def _too_many_bars(layout: Layout, each: Served) -> Told:
    facet, bars = each.driver["facets"]["driver"], len(layout.bars_fed)
    failed = fails("driver.outputs", outputs=facet["outputs"], bars=bars, drivers=MOST_DRIVERS)
    return _told(f"{layout.name}; {code_of(each.driver)}", failed)


def _nearest(layout: Layout, each: Served, lit: Sequence[Judgement | None], wanted: Wanted) -> Told:
    """The setting whose light misses by least stands for its driver."""
    checks = [(check_light(found, wanted), fed) for found, fed in zip(lit, each.good, strict=True)]
    nearest, fed = min(checks, key=lambda one: (one[0].facts["off_by_pct"], one[1].setting_ma))
    return _rejected_at(layout, each, fed.setting_ma, nearest)


__all__ = ["KINDS", "Judged", "Kind", "Rejected", "judge_candidates"]
