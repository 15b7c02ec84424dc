"""What drivers do for bars, apart from any one group: worked out once for a catalogue, however many groups ask."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import cast

from spanwalk.rules.arrangements.body import Body, Catalogue
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.wiring.driver_with_bars import check_wiring, outputs_for, silent_on
from spanwalk.rules.arrangements.wiring.wiring import (
    HERE,
    IN_PARALLEL,
    NEIGHBOUR,
    Spot,
    Wiring,
    splits,
    spots,
    wired,
)
from spanwalk.rules.gear import driver_in_body as driver_rules
from spanwalk.rules.gear.checks import FAILS, PASSES, Check, first_failed, worst
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.record_view import Facet

MOST_DRIVERS = 2
"""Drivers in one body at most: more of them do not lie in a channel made for a ballast or two (common practice)."""
JOINING = ("driver.outputs", "driver.parallel", "driver.voltage")
"""Starts of the names of checks that do not hang on the setting."""


@dataclass(frozen=True)
class Fed:
    """What drivers do at one setting.

    Parameters
    ----------
    wiring : Wiring
        The drivers, each with its bars and their currents.
    checks : tuple of Check
        Checks of each driver with its own bars.
    """

    wiring: Wiring
    checks: tuple[Check, ...]

    @property
    def setting_ma(self) -> int:
        """The setting [mA]."""
        return self.wiring.setting_ma

    @cached_property
    def here_w(self) -> Mapping[str, float]:
        """Item id → what its bars in this body take [W]."""
        return {item: float(watts) for item, watts in self.wiring.watts_of(HERE).items()}

    @cached_property
    def neighbour_w(self) -> Mapping[str, float]:
        """Item id → what its bars in the neighbour take [W]."""
        return {item: float(watts) for item, watts in self.wiring.watts_of(NEIGHBOUR).items()}

    @property
    def is_well_joined(self) -> bool:
        """Whether what does not hang on the setting is right: outputs, equal voltages in parallel, voltage window."""
        return all(check.verdict == PASSES for check in self.checks if check.name.startswith(JOINING))


@dataclass(frozen=True)
class DriverOption:
    """What one driver of the catalogue does for the bars of a layout, so many bars on an output.

    Parameters
    ----------
    driver : view record
        The driver.
    number : int
        How many of them feed the bars.
    good : tuple of Fed
        Settings at which nothing fails, the lowest first.
    lowest : Fed
        What they do at the lowest setting.
    furthest : tuple of Fed and Check, or None
        Where no setting is good, the one that passes most checks before it fails, the lowest of such; and what fails.
    """

    driver: CatalogueItemView
    number: int
    good: tuple[Fed, ...]
    lowest: Fed
    furthest: tuple[Fed, Check] | None

    @property
    def joins_well(self) -> bool:
        """Whether what does not hang on the setting is right at some: outputs, equal voltages in parallel, voltage window."""
        tried = [*self.good, *([self.furthest[0]] if self.furthest else [])]
        return any(fed.is_well_joined for fed in tried)


@dataclass(frozen=True)
class Refused:
    """A driver of which two have not the outputs for the bars of a layout, and why."""

    driver: CatalogueItemView
    why: Check


def options_of(catalogue: Catalogue, layout: Layout) -> tuple[DriverOption | Refused, ...]:
    """What each driver of the catalogue does for the bars of a layout, in the catalogue's order.

    It hangs on which bars lie in how many rows and cavities, and on how many bodies are fed; on nothing else of a group.
    """
    key = (layout.feeds, len(layout.rows), layout.cavities, *(bar["id"] for bar in layout.fill))
    if key not in catalogue.driver_options:
        bars = spots(layout.fill, len(layout.rows), layout.cavities, layout.feeds)
        catalogue.driver_options[key] = tuple(each for driver in catalogue.drivers for each in ways(driver, bars))
    return cast("tuple[DriverOption | Refused, ...]", catalogue.driver_options[key])


def ways(driver: CatalogueItemView, bars: Sequence[Spot]) -> list[DriverOption | Refused]:
    """Every way in which a driver, or two of them, may feed bars: one bar on an output, then as many more as it takes.

    Where one driver would join bars that may not be joined and two would not, it is two.

    Parameters
    ----------
    driver : view record
        Catalogue item.
    bars : sequence of Spot
        All bars that are fed.
    """
    found: list[DriverOption | Refused] = []
    facet = driver["facets"]["driver"]
    for on_an_output in range(1, most_on_an_output(facet) + 1):
        chosen = _fewest(driver, bars, on_an_output)
        if chosen is not None:
            found.append(chosen)
            if (
                chosen.number == 1
                and facet["current"] == "shared-by-the-bars"
                and facet.get("bars_joined") == IN_PARALLEL
            ):
                break  # More bars on an output would be the same circuit.
    return found or [_too_many(driver, bars)]


def _fewest(driver: CatalogueItemView, bars: Sequence[Spot], on_an_output: int) -> DriverOption | None:
    """The fewest drivers that have the outputs and join no bars that may not be joined; else the fewest with the outputs."""
    able: list[DriverOption] = []
    for number in range(1, MOST_DRIVERS + 1):
        each = _option(driver, bars, number, on_an_output)
        if each is not None:
            able.append(each)
            if each.joins_well:
                return each
    return able[0] if able else None


def most_on_an_output(facet: Facet) -> int:
    """Bars that one output takes as far as the catalogue says: one where it is silent on number or joining."""
    return 1 if silent_on(facet) else int(facet["bars_per_output"])


def _too_many(driver: CatalogueItemView, bars: Sequence[Spot]) -> Refused:
    facet = driver["facets"]["driver"]
    on_one = -(-len(bars) // (MOST_DRIVERS * facet["outputs"]))
    return Refused(driver, outputs_for(facet, len(bars), facet["outputs"], max(on_one, 2)))


def _option(driver: CatalogueItemView, bars: Sequence[Spot], number: int, on_an_output: int) -> DriverOption | None:
    """So many drivers at each setting; None where they have not the outputs."""
    settings = sorted(set(driver["facets"]["driver"]["settings_ma"]))
    tried = [each for setting in settings if (each := fed_by(driver, bars, number, on_an_output, setting)) is not None]
    if not tried:
        return None
    good = tuple(each for each in tried if worst(each.checks) != FAILS)
    furthest = (
        None if good else max(_failures(tried), key=lambda each: (each[0].checks.index(each[1]), -each[0].setting_ma))
    )
    return DriverOption(driver, number, good, tried[0], furthest)


def fed_by(
    driver: CatalogueItemView, bars: Sequence[Spot], number: int, on_an_output: int, setting_ma: int
) -> Fed | None:
    """What so many drivers do at one setting, with the bars dealt out in the way that passes most; None without the outputs.

    Parameters
    ----------
    driver : view record
        Catalogue item.
    bars : sequence of Spot
        All bars that are fed.
    number : int
        How many, all set alike [drivers].
    on_an_output : int
        On each output, fewer on the last [bars].
    setting_ma : int
        Current setting [mA].
    """
    outputs, tried = driver["facets"]["driver"]["outputs"], []
    for lists in splits(bars, number):
        if max(map(len, lists)) >= on_an_output and all(-(-len(each) // on_an_output) <= outputs for each in lists):
            wiring = Wiring(
                tuple(wired(driver, at, setting_ma, each, on_an_output) for at, each in enumerate(lists, 1))
            )
            tried.append(Fed(wiring, tuple(check_wiring(wiring))))
    return min(tried, key=lambda fed: _rank(fed.checks), default=None)


def _rank(checks: Sequence[Check]) -> tuple[int, int]:
    """Those that pass first, then those that cannot be told, then those that fail latest."""
    failed = first_failed(checks)
    return (2, -checks.index(failed)) if failed else (int(worst(checks) != PASSES), 0)


def _failures(tried: Iterable[Fed]) -> Iterator[tuple[Fed, Check]]:
    """Settings that fail, each with the first check that it fails."""
    for each in tried:
        failed = first_failed(each.checks)
        if failed is not None:
            yield each, failed


class ChecksInBody:
    """Checks of the catalogue's drivers in one body; what another body asked alike is not checked again."""

    def __init__(self, body: Body) -> None:
        self._body = body
        self._asked = {number: driver_rules.asked_of_place(number, body.place) for number in range(1, MOST_DRIVERS + 1)}
        self._found: dict[tuple[str, int], tuple[tuple[Check, ...], Check | None]] = {}

    def checks(self, driver: CatalogueItemView, number: int) -> tuple[tuple[Check, ...], Check | None]:
        """All checks of so many of a driver in the body, and the first that fails."""
        key = (driver["id"], number)
        if key not in self._found:
            checks = tuple(self._check(driver, at, asked) for at, asked in enumerate(self._asked[number]))
            self._found[key] = checks, first_failed(checks)
        return self._found[key]

    def _check(self, driver: CatalogueItemView, at: int, asked: tuple[object, ...]) -> Check:
        known, key = self._body.catalogue.placed, (driver["id"], at, *asked)
        if key not in known:
            known[key] = driver_rules.PLACE_CHECKS[at](driver["facets"]["driver"], *asked)
        return known[key]


__all__ = [
    "MOST_DRIVERS",
    "ChecksInBody",
    "DriverOption",
    "Fed",
    "Refused",
    "fed_by",
    "most_on_an_output",
    "options_of",
    "ways",
]
