"""What drivers do for bars, apart from any one group: worked out once for a catalogue, however many groups ask."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from spanwalk.rules import driver as driver_rules
from spanwalk.rules import energy
from spanwalk.rules.arrangements.body import Body, Catalogue, Record
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.checks import FAILS, Check, first_failed, worst

Json = Any
MOST_DRIVERS = 2
"""Drivers in one body at most: more of them do not lie in a channel made for a ballast or two (common practice)."""


@dataclass(frozen=True)
class Fed:
    """What a driver does at one setting.

    Parameters
    ----------
    setting_ma : int
        The setting [mA].
    checks : tuple of Check
        Checks on what one driver feeds.
    bars_w, watts_each : Fraction, float
        Of one body: watts of its bars, and from the mains [W].
    each_ma : float
        Current of a bar [mA].
    """

    setting_ma: int
    checks: tuple[Check, ...]
    bars_w: Fraction
    watts_each: float
    each_ma: float


@dataclass(frozen=True)
class Served:
    """What one driver of the catalogue does for the bars of a layout.

    Parameters
    ----------
    driver : view record
        The driver.
    number : int or None
        How many of them feed the bars of one body; None where two do not suffice.
    good : tuple of Fed
        Settings at which nothing fails, the lowest first.
    lowest_ma : int
        The lowest setting [mA].
    furthest : tuple of Fed and Check, or None
        Where no setting is good, the one that passes most checks before it fails, the lowest of such; and what fails.
    """

    driver: Record
    number: int | None
    good: tuple[Fed, ...]
    lowest_ma: int
    furthest: tuple[Fed, Check] | None


def drivers_for(driver: Mapping[str, Json], bars: int) -> int | None:
    """How many drivers feed so many bars, each an equal number of them; None where two do not suffice.

    >>> drivers_for({"outputs": 2}, 4), drivers_for({"outputs": 2}, 3), drivers_for({"outputs": 1}, 3)
    (2, None, None)
    """
    for number in range(1, MOST_DRIVERS + 1):
        if bars % number == 0 and bars // number <= driver["outputs"]:
            return number
    return None


def served(catalogue: Catalogue, layout: Layout) -> tuple[Served, ...]:
    """What each driver of the catalogue does for the bars of a layout, in the catalogue's order.

    It hangs on which bars lie in how many cavities, and on how many bodies are fed; on nothing else of a group.
    """
    key = (layout.feeds, len(layout.bars), *(bar["id"] for bar in layout.fill))
    if key not in catalogue.served:
        catalogue.served[key] = tuple(_served(driver, layout) for driver in catalogue.drivers)
    found: tuple[Served, ...] = catalogue.served[key]
    return found


def _served(driver: Record, layout: Layout) -> Served:
    facet = driver["facets"]["driver"]
    settings = sorted(facet["settings_ma"])
    number = drivers_for(facet, len(layout.bars_fed))
    if number is None:
        return Served(driver, None, (), settings[0], None)
    tried = [fed(facet, layout, number, setting) for setting in settings]
    good = tuple(each for each in tried if worst(each.checks) != FAILS)
    furthest = None if good else max(_failures(tried), key=lambda each: (each[0].checks.index(each[1]), -each[0].setting_ma))
    return Served(driver, number, good, settings[0], furthest)


def _failures(tried: list[Fed]) -> Iterator[tuple[Fed, Check]]:
    """Settings that fail, each with the first check that it fails."""
    for each in tried:
        failed = first_failed(each.checks)
        if failed is not None:
            yield each, failed


def fed(facet: Mapping[str, Json], layout: Layout, number: int, setting_ma: int) -> Fed:
    """What so many drivers do at one setting for the bars of a layout.

    Parameters
    ----------
    facet : mapping
        `driver` facet of a catalogue item.
    layout : Layout
        The bars.
    number : int
        How many in one body [drivers].
    setting_ma : int
        Current setting [mA].
    """
    on_one = layout.bars_fed[: len(layout.bars_fed) // number]
    bars_w = driver_rules.bar_watts(facet, on_one, setting_ma) * number / layout.feeds
    return Fed(
        setting_ma,
        tuple(driver_rules.check_bars(facet, on_one, setting_ma)),
        bars_w,
        energy.mains_watts(float(bars_w), facet["efficiency_pct"]),
        float(driver_rules.current_of_a_bar_ma(facet, len(on_one), setting_ma)),
    )


class Places:
    """Checks of the catalogue's drivers in one body; what another body asked alike is not checked again."""

    def __init__(self, body: Body) -> None:
        self._body = body
        self._asked = {number: driver_rules.asked_of_place(number, body.place) for number in range(1, MOST_DRIVERS + 1)}
        self._found: dict[tuple[str, int], tuple[tuple[Check, ...], Check | None]] = {}

    def checks(self, driver: Record, number: int) -> tuple[tuple[Check, ...], Check | None]:
        """All checks of so many of a driver in the body, and the first that fails."""
        key = (driver["id"], number)
        if key not in self._found:
            checks = tuple(self._check(driver, at, asked) for at, asked in enumerate(self._asked[number]))
            self._found[key] = checks, first_failed(checks)
        return self._found[key]

    def _check(self, driver: Record, at: int, asked: tuple[Json, ...]) -> Check:
        known, key = self._body.catalogue.placed, (driver["id"], at, *asked)
        if key not in known:
            known[key] = driver_rules.PLACE_CHECKS[at](driver["facets"]["driver"], *asked)
        return known[key]


__all__ = ["MOST_DRIVERS", "Fed", "Places", "Served", "drivers_for", "fed", "served"]
