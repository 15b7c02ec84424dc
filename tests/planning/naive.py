"""The plainest way to plan one group: every layout with every driver at every setting, each wholly checked, lit and priced."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from spanwalk.rules import driver as driver_rules
from spanwalk.rules import energy
from spanwalk.rules.arrangements import fed_from_neighbour, not_by_this_method
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.candidate import Candidate, accessory_checks, layout_checks, lumens_each
from spanwalk.rules.arrangements.choosing import KINDS, Judged
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.now import now
from spanwalk.rules.arrangements.packs import Packs
from spanwalk.rules.arrangements.plan import chosen_arrangement
from spanwalk.rules.arrangements.serving import MOST_DRIVERS, fed
from spanwalk.rules.arrangements.shared_ballast import check_partner
from spanwalk.rules.arrangements.telling import told
from spanwalk.rules.arrangements.wanted import check_light, judge_light, wanted_light
from spanwalk.rules.arrangements.worth import Worths
from spanwalk.rules.checks import FAILS, Check


@dataclass(frozen=True)
class Naive:
    """Names of all that passes, the best first, and the best one told whole."""

    names: list[str]
    best: dict[str, Any] | None


def enumerate_all(body: Body) -> Naive:
    """Try all for one group; nothing is looked up that another candidate or group worked out."""
    current, found = now(body), []
    chosen = chosen_arrangement(body)
    for candidate in _every(body):
        judged = Judged(candidate, Worths(body, current).of(candidate))
        if candidate.verdict != FAILS:
            found.append(((candidate.name != chosen, judged.rank), judged))
    found.sort(key=lambda each: each[0])
    best = found[0][1] if found else None
    return Naive([judged.candidate.name for _, judged in found], best and told(body, best.candidate, current, best.worth))


def _every(body: Body) -> Iterator[Candidate]:
    if not_by_this_method.applies(body):
        return
    current = now(body)
    wanted = wanted_light(body, current)
    for kind in KINDS:
        for layout in kind.propose(body) if kind.applies(body) else ():
            pair = [check_partner(body)] if body.feeds_neighbour else []
            before = (*layout_checks(body, layout), *accessory_checks(body), *pair)
            for candidate in _with_drivers(body, layout, before) if layout.feeds else _following(body, layout, before):
                lit = check_light(judge_light(candidate.lumens_each, body.fixtures, wanted), wanted)
                yield _changed(candidate, (*candidate.checks, lit))


def _with_drivers(body: Body, layout: Layout, before: tuple[Check, ...]) -> Iterator[Candidate]:
    bars = len(layout.bars_fed)
    for driver in body.catalogue.drivers:
        facet = driver["facets"]["driver"]
        number = next((n for n in range(1, MOST_DRIVERS + 1) if bars % n == 0 and bars // n <= facet["outputs"]), None)
        for setting in facet["settings_ma"] if number else ():
            does = fed(facet, layout, number, setting)
            packed = Packs(body, now(body)).of(layout, driver, number)
            checks = (*before, *driver_rules.check_place(facet, number, body.place), *(packed.checks if packed else ()), *does.checks)
            lumens = lumens_each(body, layout, does.each_ma)
            yield Candidate(layout, driver, number, setting, bars // number, checks, does.bars_w, does.watts_each, lumens, packed)


def _following(body: Body, layout: Layout, before: tuple[Check, ...]) -> Iterator[Candidate]:
    theirs = fed_from_neighbour.followed(body)
    assert theirs is not None
    each_ma = Fraction(theirs["setting_ma"], theirs["bars_on_one"] if theirs["shared"] and theirs["bars_on_one"] else 1)
    volts = [Fraction(str(bar["facets"]["bar"]["forward_v"])) for bar in layout.bars]
    bars_w = sum((each * each_ma / 1000 for each in volts), Fraction(0))
    watts = energy.mains_watts(float(bars_w), theirs["efficiency_pct"])
    driver = body.catalogue.by_id.get(theirs["driver_item"])
    lumens = lumens_each(body, layout, float(each_ma))
    yield Candidate(layout, driver, 0, theirs["setting_ma"], theirs["bars_on_one"], before, bars_w, watts, lumens)


def _changed(candidate: Candidate, checks: tuple[Check, ...]) -> Candidate:
    return Candidate(**{name: getattr(candidate, name) for name in candidate.__dataclass_fields__} | {"checks": checks})
