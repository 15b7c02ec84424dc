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
from spanwalk.rules.arrangements.serving import MOST_DRIVERS, Places, Served, served
from spanwalk.rules.arrangements.wanted import Wanted, check_light, judge_light, wanted_light
from spanwalk.rules.arrangements.worth import Worth, worth_of
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
    wanted, places = wanted_light(body, current), Places(body)
    feasible: list[Judged] = []
    rejected: list[Rejected] = []
    for layout, checks in _layouts(body):
        failed = first_failed(checks)
        if failed is not None:
            rejected.append(partial(_rejected, layout, failed))
        elif layout.feeds == 0:
            _judge_followers(body, layout, checks, current, wanted, feasible, rejected)
        else:
            _judge_drivers(body, layout, checks, current, wanted, places, feasible, rejected)
    if body.is_fed_by_neighbour:
        rejected.append(partial(_told, "a driver in this body", fails("own-feed")))
    return feasible, rejected


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


def _judge_drivers(
    body: Body,
    layout: Layout,
    before: tuple[Check, ...],
    current: Now,
    wanted: Wanted,
    places: Places,
    feasible: list[Judged],
    rejected: list[Rejected],
) -> None:
    """For each driver of the catalogue: its settings that pass and give the light that is wanted, or why none does."""
    lamplight = Lamplight(body, layout)
    for each in served(body.catalogue, layout):
        if each.number is None:
            rejected.append(partial(_too_many_bars, layout, each))
            continue
        in_place, failed = places.checks(each.driver, each.number)
        if failed is not None:
            # What fails whatever the setting is told at the lowest.
            rejected.append(partial(_rejected_at, layout, each, each.lowest_ma, failed))
            continue
        if each.furthest is not None:
            fed, failed = each.furthest
            rejected.append(partial(_rejected_at, layout, each, fed.setting_ma, failed))
            continue
        lumens = [lamplight.lumens(fed.each_ma) for fed in each.good]
        lit = [judge_light(some, body.fixtures, wanted) for some in lumens]
        good = [at for at, found in enumerate(lit) if found is None or found.verdict == "enough"]
        for at in good:
            checks = (*before, *in_place)
            candidate = with_driver(layout, each.driver, each.number, each.good[at], checks, lumens[at], check_light(lit[at], wanted))
            feasible.append(Judged(candidate, worth_of(body, candidate, current)))
        if not good:
            rejected.append(partial(_nearest, layout, each, lit, wanted))


def _judge_followers(
    body: Body,
    layout: Layout,
    before: tuple[Check, ...],
    current: Now,
    wanted: Wanted,
    feasible: list[Judged],
    rejected: list[Rejected],
) -> None:
    """The one candidate of a body that is fed from its neighbour: same current, nothing of its own to choose."""
    proposal = fed_from_neighbour.followed(body)
    if proposal is None:
        return
    each_ma = exact(proposal["setting_ma"])
    if proposal["bars_on_one"]:
        each_ma = exact(proposal["setting_ma"]) / (proposal["bars_on_one"] if proposal["shared"] else 1)
    bars = [bar["facets"]["bar"] for bar in layout.bars]
    bars_w = sum((exact(bar["forward_v"]) * each_ma / 1000 for bar in bars), exact(0))
    watts = energy.mains_watts(float(bars_w), proposal["efficiency_pct"])
    driver = body.catalogue.by_id.get(proposal["driver_item"])
    lumens = lumens_each(body, layout, float(each_ma))
    lit = check_light(judge_light(lumens, body.fixtures, wanted), wanted)
    candidate = Candidate(layout, driver, 0, proposal["setting_ma"], proposal["bars_on_one"], (*before, lit), bars_w, watts, lumens)
    if lit.verdict == FAILS:
        rejected.append(partial(_told, candidate.name, lit))
    else:
        feasible.append(Judged(candidate, worth_of(body, candidate, current)))


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
