"""Whatever passes is electrically sound: drawn bodies and catalogues against physics written apart (see physics.py).

More of them: `python -m tests.planning.test_physics_of_proposals 20000 7`.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from tests.planning import physics
from tests.planning.drawn_bodies import Drawn, drawn_bodies

from spanwalk.rules.arrangements import plan as plans
from spanwalk.rules.arrangements.body import Neighbour
from spanwalk.rules.arrangements.candidate import Candidate
from spanwalk.rules.arrangements.choosing import blockers
from spanwalk.rules.arrangements.wiring import driver_options, driver_with_bars, wiring
from spanwalk.rules.gear import driver_in_body as driver_rules
from spanwalk.rules.gear.checks import passes

Json = Any
BODIES, SEED = 2000, 2026
ENOUGH_TO_CATCH = 600
"""Drawn bodies in which each planted mistake must show."""


def planned(drawn: Drawn) -> tuple[Json, Json | None]:
    """The plan of a drawn body, and of the one it feeds."""
    here = plans.plan_group(drawn.here)
    if drawn.there is None:
        return here, None
    there = replace(drawn.there, partner=Neighbour(drawn.here.group, drawn.here.kind, plan=here))
    return here, plans.plan_group(there)


def found_in(drawn: Drawn, seen: Counter[str] | None = None) -> Iterator[physics.Found]:
    """Violations of all candidates that pass in a drawn body and in the one that it feeds."""
    here, there = planned(drawn)
    for plan in (here, there) if there else (here,):
        for each in plan["feasible"]:
            if each["verdict"] == "passes":
                if seen is not None:
                    seen[kind_of(each)] += 1
                yield from physics.violations(each, plan, drawn.catalogue, drawn.volts, drawn.asked)
    if there is not None:
        yield from physics.pair_violations(here, there)


def kind_of(each: Json) -> str:
    """What is special about a candidate, so that a run can tell that it met such."""
    drivers = each["wiring"] or each["neighbour_wiring"]
    joined = {output["joined"] for driver in drivers for output in driver["outputs"]} - {"alone"}
    feeds = {0: "fed", 1: "alone", 2: "feeding"}[each["feeds"]]
    return f"{feeds}, {len(drivers)} drivers, {'mixed' if len(set(each['fill_items'])) > 1 else 'one item'}, {' '.join(joined) or 'one on each'}"


@pytest.fixture(autouse=True)
def all_candidates_are_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plans, "SHOWN", 10_000)


def run(bodies: int, seed: int) -> tuple[Counter[str], list[physics.Found]]:
    seen: Counter[str] = Counter()
    return seen, [each for drawn in drawn_bodies(bodies, seed) for each in found_in(drawn, seen)]


def test_two_thousand_drawn_bodies_have_no_violation() -> None:
    seen, found = run(BODIES, SEED)
    assert found == []
    for what in ("fed, ", "feeding, ", "2 drivers", "mixed", "in-series", "in-parallel"):
        assert sum(count for kind, count in seen.items() if what in kind) >= 50, what


def test_the_physics_know_nothing_of_the_rules() -> None:
    assert "spanwalk" not in Path(physics.__file__).read_text(encoding="utf-8")


# -- the same run finds each mistake when it is planted


def first_half_of_the_list(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(driver_options, "check_wiring", lambda found: driver_with_bars.check_driver(found.drivers[0]))


def unequal_in_parallel(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(driver_with_bars, "check_parallel", lambda driver: None)


def passing(name: str) -> Callable[[pytest.MonkeyPatch], None]:
    """A check that passes always."""
    return lambda monkeypatch: monkeypatch.setattr(driver_with_bars, name, lambda *_: passes("planted"))


def one_end_of_the_window(end: str, value: float) -> Callable[[pytest.MonkeyPatch], None]:
    def plant(monkeypatch: pytest.MonkeyPatch) -> None:
        really = driver_with_bars.check_voltage

        def check(driver: wiring.WiredDriver) -> Any:
            facet = {**driver.driver["facets"]["driver"], end: value}
            return really(replace(driver, driver={**driver.driver, "facets": {"driver": facet}}))

        monkeypatch.setattr(driver_with_bars, "check_voltage", check)

    return plant


def one_end_of_the_power(end: str, value: float) -> Callable[[pytest.MonkeyPatch], None]:
    def plant(monkeypatch: pytest.MonkeyPatch) -> None:
        really = driver_with_bars.check_watts

        def check(driver: wiring.WiredDriver) -> Any:
            facet = {**driver.driver["facets"]["driver"], end: value}
            return really(replace(driver, driver={**driver.driver, "facets": {"driver": facet}}))

        monkeypatch.setattr(driver_with_bars, "check_watts", check)

    return plant


def voltage_of_the_first_in_series(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(driver_with_bars, "path_v", lambda path: path[0].spot.volts)


def watts_of_half_the_list(monkeypatch: pytest.MonkeyPatch) -> None:
    def mains(self: wiring.Wiring, body: str) -> Any:
        return self.drivers[0].mains_w * len(self.drivers)

    monkeypatch.setattr(wiring.Wiring, "mains_w_of", mains)


def silence_on_outputs_is_a_yes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(driver_options, "most_on_an_output", lambda facet: facet.get("bars_per_output") or 2)
    monkeypatch.setattr(driver_with_bars, "outputs_for", lambda *_: passes("planted"))


def silence_on_voltages_is_a_yes(monkeypatch: pytest.MonkeyPatch) -> None:
    really = driver_with_bars.check_parallel
    monkeypatch.setattr(
        driver_with_bars,
        "check_parallel",
        lambda driver: found if (found := really(driver)) and found.name == "driver.parallel" else None,
    )


def equal_shares_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wiring, "_weights", lambda bars, joined: [1] if joined == wiring.IN_SERIES else [1] * len(bars))


def a_bar_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    really = wiring.splits
    monkeypatch.setattr(driver_options, "splits", lambda bars, drivers: really(bars[:-1] or bars, drivers))


def one_driver_bought(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Candidate, "drivers", property(lambda self: min(1, self.layout.feeds)))


def any_supply(monkeypatch: pytest.MonkeyPatch) -> None:
    checks = tuple(
        check if check.__name__ != "check_volts" else lambda *_: passes("planted")
        for check in driver_rules.PLACE_CHECKS
    )
    monkeypatch.setattr(driver_rules, "PLACE_CHECKS", checks)


def a_neighbour_that_holds_nothing_back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blockers, "_of_partner", lambda *_: iter(()))


PLANTED: dict[str, tuple[Callable[[pytest.MonkeyPatch], None], set[str]]] = {
    "only the first driver is checked": (
        first_half_of_the_list,
        {"overcurrent", "window", "unequal", "least", "overload"},
    ),
    "unequal voltages in parallel": (unequal_in_parallel, {"unequal"}),
    "any current": (passing("check_current"), {"overcurrent"}),
    "any voltage": (passing("check_voltage"), {"window"}),
    "only the upper end of the window": (one_end_of_the_window("out_v_min", 0), {"window"}),
    "only the lower end of the window": (one_end_of_the_window("out_v_max", 1000), {"window"}),
    "no least power": (one_end_of_the_power("least_watts", 0), {"least"}),
    "no most power": (one_end_of_the_power("watts", 10_000), {"overload"}),
    "one bar's voltage for a series": (voltage_of_the_first_in_series, {"window"}),
    "watts of half the list": (watts_of_half_the_list, {"watts"}),
    "silence on outputs is a yes": (silence_on_outputs_is_a_yes, {"silence", "outputs"}),
    "silence on voltages is a yes": (silence_on_voltages_is_a_yes, {"silence"}),
    "equal shares for unequal bars": (equal_shares_for_all, {"share"}),
    "a bar without an output": (a_bar_left_out, {"bars"}),
    "two drivers wired, one bought": (one_driver_bought, {"order"}),
    "any supply": (any_supply, {"supply"}),
    "half a pair goes ahead": (a_neighbour_that_holds_nothing_back, {"pair"}),
}


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_mistake_is_found(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    plant, kinds = PLANTED[name]
    plant(monkeypatch)
    found = (each for drawn in drawn_bodies(ENOUGH_TO_CATCH, SEED + 1) for each in found_in(drawn))
    assert next((kind for kind, _ in found if kind in kinds), None) in kinds


if __name__ == "__main__":
    plans.SHOWN = 10_000
    candidates, wrong = run(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else SEED)
    for what, count in sorted(candidates.items()):
        print(f"{count:8} {what}")
    print(f"{sum(candidates.values())} candidates that pass, {len(wrong)} violations")
    for kind, numbers in wrong[:20]:
        print(kind, numbers)
