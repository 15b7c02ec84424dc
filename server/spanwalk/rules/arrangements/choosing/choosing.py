"""Every way to convert a group, judged: which candidates pass, what they are worth, and why the others do not.

Candidates come from the kinds of arrangement, one module each. A candidate is a layout of bars, drivers
and one setting. Those that fail a check are rejected with the check and the number; those that lack
knowledge stay in, but are no yes. What does not hang on the group is looked up: see `driver_options`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple, Protocol

from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.candidate import (
    LAYOUT_CHECKS,
    Candidate,
    Lamplight,
    accessory_checks,
    arrangement,
)
from spanwalk.rules.arrangements.choosing.economics import Worth, Worths
from spanwalk.rules.arrangements.choosing.wanted import Wanted, check_light, judge_light, wanted_light
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.now import Now
from spanwalk.rules.arrangements.plan_types import RejectedTold
from spanwalk.rules.arrangements.ways import (
    bars_end_to_end,
    fed_from_neighbour,
    fewer_rows,
    one_bar_in_each_row,
    shared_ballast,
)
from spanwalk.rules.arrangements.wiring.driver_options import ChecksInBody, DriverOption, Fed, Refused, options_of
from spanwalk.rules.arrangements.wiring.packs import Packed, Packs
from spanwalk.rules.gear.checks import FAILS, PASSES, Check, fails, first_failed, plain, worst
from spanwalk.rules.light.light import Judgement, NewLight
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.site_order.look import look_of

Told = RejectedTold
Rejected = Callable[[], Told]
"""A rejected candidate, told by its name and the check that failed when somebody asks."""
NEVER = float("inf")
ASKED_THERE = (
    "driver.dimming",
    "driver.dimmer",
    "driver.emergency",
    "driver.dc-emergency",
    "driver.dc-volts-emergency",
)
"""Checks of a driver's place that the duty of the neighbour asks too, though the driver lies here."""


class Kind(Protocol):
    """A kind of arrangement: one module."""

    def applies(self, body: Body) -> bool:
        """Whether it is one for this body."""

    def propose(self, body: Body) -> Iterator[Layout]:
        """Its layouts."""


KINDS: tuple[Kind, ...] = (one_bar_in_each_row, bars_end_to_end, fewer_rows, shared_ballast, fed_from_neighbour)


@dataclass(frozen=True)
class Lights:
    """The light of a layout here, and in the neighbour if it is planned together."""

    here: Lamplight
    there: shared_ballast.LightThere | None

    def check_there(self, fed: Fed) -> Check | None:
        """Whether the neighbour gets the light that is wanted; None where none is planned together."""
        return None if self.there is None else self.there.check(fed.neighbour_w)


@dataclass(frozen=True)
class Judged:
    """A candidate with its light judged and its worth reckoned."""

    candidate: Candidate
    worth: Worth
    look: int

    @property
    def rank(self) -> tuple[bool, float, float, float, int, str]:
        """Sure ones first, then the lowest life-cycle cost to the cent, watts, cost, looks, and at last the name."""
        lcc = round(self.worth.result.lcc, 2) if self.worth.result else NEVER
        cost = round(self.worth.cost, 2) if self.worth.cost is not None else NEVER
        watts = plain(self.candidate.watts_each)
        return (self.candidate.verdict != PASSES, lcc, watts, cost, self.look, self.candidate.name)


def look_in(body: Body, layout: Layout) -> int:
    """How the rows of a layout look in a body: 0 the best; see `look.look_of`."""
    return look_of(layout.rows, body.rows, str(body.of_kind("housing").get("optic", "")))


@dataclass(frozen=True)
class Way:
    """A layout with a driver that passes fit, electrics and duty, whatever its light and money come to.

    Parameters
    ----------
    layout : Layout
        Where the bars lie.
    each : DriverOption
        The driver with its settings that pass.
    packed : Packed or None
        The emergency pack.
    is_sure : bool
        Whether all that was checked of them is a yes.
    """

    layout: Layout
    each: DriverOption
    packed: Packed | None
    is_sure: bool


def judge_candidates(body: Body, current: Now, ways: list[Way] | None = None) -> tuple[list[Judged], list[Rejected]]:
    """All feasible candidates, unranked, and all rejected ones, each by the check that it failed.

    A layout that fails by itself is rejected once; a driver that fails with a layout is rejected at the
    setting that came furthest.

    Parameters
    ----------
    body : Body
        The group.
    current : Now
        As it is.
    ways : list of Way, optional
        Takes what passes apart from light and money; of a body that its neighbour feeds, nothing.
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
    if ways is not None:
        ways += found.ways
    return found.feasible, found.rejected


class Passing(NamedTuple):
    """Ways that pass fit, electrics and duty; `tried`: how many are rejected where none of these gives the light wanted."""

    ways: list[Way]
    tried: int


def passing(body: Body, current: Now) -> Passing:
    """What passes fit, electrics and duty, as `judge_candidates` finds it, without its light and money.

    Parameters
    ----------
    body : Body
        The group, judged, which shares no ballast.
    current : Now
        As it is.
    """
    placed, packs, found, tried = ChecksInBody(body), Packs(body, current), list[Way](), 0
    for layout, checks in _layouts(body):
        if first_failed(checks) is not None:
            # By itself, whatever drives it.
            tried += 1
            continue
        is_sure, options = worst(checks) == PASSES, options_of(body.catalogue, layout)
        tried += len(options)
        for each in options:
            if isinstance(each, Refused) or each.furthest is not None:
                continue
            there, failed = placed.checks(each.driver, each.number)
            packed = packs.of(layout, each.driver, each.number) if failed is None else None
            if failed is None and (packed is None or packed.failed is None):
                beside = (*there, *(packed.checks if packed else ()))
                found.append(Way(layout, each, packed, is_sure and worst(beside) == PASSES))
    return Passing(found, tried)


def with_light_checked(body: Body, candidate: Candidate, light: NewLight | None, wanted: Wanted) -> Candidate:
    """A candidate with the check of the light that it gives, after all others."""
    found = check_light(judge_light(light, body.fixtures, wanted), wanted)
    return replace(candidate, light_each=light, checks=(*candidate.checks, found))


def checked(body: Body, current: Now, way: Way, fed: Fed) -> Candidate:
    """A candidate of a body that shares no ballast, with every check but that of its light.

    Parameters
    ----------
    body : Body
        The group, judged.
    current : Now
        As it is.
    way : Way
        Its layout and driver, which pass.
    fed : Fed
        The setting, one of the driver's.
    """
    checks = _checks(body, way.layout, accessory_checks(body), None)
    packed = Packs(body, current).of(way.layout, way.each.driver, way.each.number)
    placed = ChecksInBody(body).checks(way.each.driver, way.each.number)[0]
    every = (*checks, *placed, *(packed.checks if packed else ()), *fed.checks)
    return Candidate(way.layout, way.each.driver, fed.wiring, every, None, packed)


def _layouts(body: Body) -> Iterator[tuple[Layout, tuple[Check, ...]]]:
    """Layouts of every kind of arrangement that applies, with what they and the group's duty are checked for, up to the first failure."""
    accessories, there = accessory_checks(body), shared_ballast.planned_together(body)
    for kind in KINDS:
        if kind.applies(body):
            for layout in kind.propose(body):
                yield layout, _checks(body, layout, accessories, there)


def _checks(body: Body, layout: Layout, accessories: Sequence[Check], there: Body | None) -> tuple[Check, ...]:
    found = []
    for check in LAYOUT_CHECKS:
        found.append(check(body, layout))
        if found[-1].verdict == FAILS:
            return tuple(found)
    return (*found, *accessories, *shared_ballast.partner_checks(there, layout))


class _Candidates:
    """The candidates of one group as they are judged."""

    def __init__(self, body: Body, current: Now) -> None:
        self.feasible: list[Judged] = []
        self.rejected: list[Rejected] = []
        self.ways: list[Way] = []
        self._body = body
        self._wanted = wanted_light(body, current)
        self._checks_here = ChecksInBody(body)
        self._packs = Packs(body, current)
        self._there = shared_ballast.planned_together(body)
        self._checks_there = None if self._there is None else ChecksInBody(self._there)
        self._worths = Worths(body, current)

    def judge_drivers(self, layout: Layout, before: tuple[Check, ...]) -> None:
        """For each driver of the catalogue: its settings that pass and give the light that is wanted, or why none does."""
        lights = Lights(
            Lamplight(self._body, layout),
            None if self._there is None else shared_ballast.LightThere(self._there, layout),
        )
        for each in options_of(self._body.catalogue, layout):
            if isinstance(each, Refused):
                self.rejected.append(partial(_refused, layout, each))
                continue
            in_place, failed = self._in_place(each)
            packed = self._packs.of(layout, each.driver, each.number) if failed is None else None
            if packed is not None:
                failed = packed.failed
            if failed is not None:
                # What fails whatever the setting is told at the lowest.
                self.rejected.append(partial(_rejected_at, layout, each.driver, each.lowest, failed))
            elif each.furthest is not None:
                fed, failed = each.furthest
                self.rejected.append(partial(_rejected_at, layout, each.driver, fed, failed))
            else:
                self._judge_light(layout, each, (*before, *in_place), lights, packed)

    def _in_place(self, each: DriverOption) -> tuple[tuple[Check, ...], Check | None]:
        """What the drivers meet in the body; and in the neighbour, of what they are asked there, what is no yes."""
        here, failed = self._checks_here.checks(each.driver, each.number)
        if self._there is None or self._checks_there is None or failed is not None:
            return here, failed
        asked = [
            check
            for check in self._checks_there.checks(each.driver, each.number)[0]
            if check.name in ASKED_THERE and check.verdict != PASSES
        ]
        theirs = tuple(shared_ballast.at_partner(self._there, check) for check in asked)
        return (*here, *theirs), first_failed(theirs)

    def _judge_light(
        self, layout: Layout, each: DriverOption, before: tuple[Check, ...], lights: Lights, packed: Packed | None
    ) -> None:
        fixtures, wanted, lit, good, there = self._body.fixtures, self._wanted, [], False, None
        before = (*before, *(packed.checks if packed else ()))
        self.ways.append(Way(layout, each, packed, worst(before) == PASSES))
        for fed in each.good:
            lit_each = lights.here.of(fed.here_w)
            found = judge_light(lit_each, fixtures, wanted)
            lit.append(found)
            if found is not None and found.verdict != "enough":
                continue
            theirs = lights.check_there(fed)
            if theirs is not None and theirs.verdict == FAILS:
                there = (fed, theirs)
                continue
            good = True
            told = () if theirs is None or theirs.verdict == PASSES else (theirs,)
            checks = (*before, *fed.checks, check_light(found, wanted), *told)
            self._take(Candidate(layout, each.driver, fed.wiring, checks, lit_each, packed))
        if not good:
            why = (
                partial(_rejected_at, layout, each.driver, *there)
                if there
                else partial(_nearest, layout, each, lit, wanted)
            )
            self.rejected.append(why)

    def judge_follower(self, layout: Layout, before: tuple[Check, ...]) -> None:
        """The one candidate of a body that is fed from its neighbour: same drivers, nothing of its own to choose."""
        found = fed_from_neighbour.feeding(self._body, layout)
        if found is None:
            return
        driver, fed = found
        lit_each = Lamplight(self._body, layout).of(fed.neighbour_w)
        lit = check_light(judge_light(lit_each, self._body.fixtures, self._wanted), self._wanted)
        candidate = Candidate(layout, driver, fed.wiring, (*before, *fed.checks, lit), lit_each)
        if lit.verdict == FAILS:
            self.rejected.append(partial(_told, candidate.name, lit))
        else:
            self._take(candidate)

    def _take(self, candidate: Candidate) -> None:
        self.feasible.append(Judged(candidate, self._worths.of(candidate), look_in(self._body, candidate.layout)))


# -- what is rejected


def _told(name: str, failed: Check) -> Told:
    return {"arrangement": name, **failed.told()}


def _rejected(layout: Layout, failed: Check) -> Told:
    return _told(layout.name, failed)


def _rejected_at(layout: Layout, driver: CatalogueItemView, fed: Fed, failed: Check) -> Told:
    return _told(arrangement(layout, driver, fed.wiring), failed)


def _refused(layout: Layout, each: Refused) -> Told:
    return _told(f"{layout.name}; {code_of(each.driver)}", each.why)


def _nearest(layout: Layout, each: DriverOption, lit: Sequence[Judgement | None], wanted: Wanted) -> Told:
    """The setting whose light misses by least stands for its driver."""
    checks = [(check_light(found, wanted), fed) for found, fed in zip(lit, each.good, strict=True)]
    nearest, fed = min(checks, key=lambda one: (one[0].facts["off_by_pct"], one[1].setting_ma))
    return _rejected_at(layout, each.driver, fed, nearest)


__all__ = [
    "KINDS",
    "Judged",
    "Kind",
    "Passing",
    "Rejected",
    "Way",
    "checked",
    "judge_candidates",
    "look_in",
    "passing",
    "with_light_checked",
]
