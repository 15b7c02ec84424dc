"""The plainest way to plan one group: every layout with every driver at every setting, each wholly checked, lit and priced."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from spanwalk.rules.arrangements.body import Body, Record
from spanwalk.rules.arrangements.candidate import Candidate, Lamplight, accessory_checks, layout_checks
from spanwalk.rules.arrangements.choosing.choosing import ASKED_THERE, KINDS, Judged, look_in
from spanwalk.rules.arrangements.choosing.economics import Worths
from spanwalk.rules.arrangements.choosing.wanted import check_light, judge_light, wanted_light
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.now import now
from spanwalk.rules.arrangements.plan import chosen_arrangement
from spanwalk.rules.arrangements.to_json import told
from spanwalk.rules.arrangements.ways import fed_from_neighbour, not_by_this_method
from spanwalk.rules.arrangements.ways.shared_ballast import (
    LightThere,
    at_partner,
    partner_checks,
    planned_together,
)
from spanwalk.rules.arrangements.wiring.driver_options import DriverOption, fed_by, ways
from spanwalk.rules.arrangements.wiring.packs import Packs
from spanwalk.rules.arrangements.wiring.wiring import NEIGHBOUR, Spot, spots
from spanwalk.rules.gear import driver_in_body as driver_rules
from spanwalk.rules.gear.checks import FAILS, PASSES, Check


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
        judged = Judged(candidate, Worths(body, current).of(candidate), look_in(body, candidate.layout))
        if candidate.verdict != FAILS:
            found.append(((candidate.name != chosen, judged.rank), judged))
    found.sort(key=lambda each: each[0])
    best = found[0][1] if found else None
    return Naive(
        [judged.candidate.name for _, judged in found], best and told(body, best.candidate, current, best.worth)
    )


def _every(body: Body) -> Iterator[Candidate]:
    if not_by_this_method.applies(body):
        return
    current = now(body)
    wanted, there = wanted_light(body, current), planned_together(body)
    for kind in KINDS:
        for layout in kind.propose(body) if kind.applies(body) else ():
            before = (*layout_checks(body, layout), *accessory_checks(body), *partner_checks(there, layout))
            for candidate in _with_drivers(body, layout, before) if layout.feeds else _following(body, layout, before):
                lit = check_light(judge_light(candidate.light_each, body.fixtures, wanted), wanted)
                together = [] if there is None else [LightThere(there, layout).check(watts_there(candidate))]
                yield replace(
                    candidate,
                    checks=(*candidate.checks, lit, *(check for check in together if check.verdict != PASSES)),
                )


def _with_drivers(body: Body, layout: Layout, before: tuple[Check, ...]) -> Iterator[Candidate]:
    lamplight = Lamplight(body, layout)
    for driver in body.catalogue.drivers:
        for each in ways(driver, spots(layout.fill, len(layout.rows), layout.cavities, layout.feeds)):
            for setting in driver["facets"]["driver"]["settings_ma"] if isinstance(each, DriverOption) else ():
                fed = fed_by(driver, all_spots(each), each.number, each.lowest.wiring.on_an_output, setting)
                assert fed is not None
                in_place = [
                    *driver_rules.check_place(driver["facets"]["driver"], each.number, body.place),
                    *_duty_there(body, driver, each.number),
                ]
                packed = Packs(body, now(body)).of(layout, driver, each.number)
                checks = (*before, *in_place, *(packed.checks if packed else ()), *fed.checks)
                yield Candidate(layout, driver, fed.wiring, checks, lamplight.of(fed.here_w), packed)


def _duty_there(body: Body, driver: Record, number: int) -> list[Check]:
    """What the duty of a neighbour that is planned together asks of the driver."""
    there = planned_together(body)
    checks = [] if there is None else driver_rules.check_place(driver["facets"]["driver"], number, there.place)
    return [
        at_partner(there, check) for check in checks if there and check.name in ASKED_THERE and check.verdict != PASSES
    ]


def watts_there(candidate: Candidate) -> dict[str, float]:
    return {item: float(watts) for item, watts in candidate.wiring.watts_of(NEIGHBOUR).items()}


def all_spots(each: DriverOption) -> list[Spot]:
    return sorted((bar.spot for bar in each.lowest.wiring.bars), key=lambda spot: spot.where)


def _following(body: Body, layout: Layout, before: tuple[Check, ...]) -> Iterator[Candidate]:
    found = fed_from_neighbour.feeding(body, layout)
    assert found is not None
    driver, fed = found
    candidate = Candidate(layout, driver, fed.wiring, (*before, *fed.checks), None)
    yield replace(candidate, light_each=Lamplight(body, layout).of(watts_there(candidate)))
