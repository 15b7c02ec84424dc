"""One candidate: a layout with drivers and a setting, with all its checks, its light and its watts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from spanwalk.rules import driver as driver_rules
from spanwalk.rules import energy, light
from spanwalk.rules.arrangements import layout as layouts
from spanwalk.rules.arrangements.body import Body, Record, code_of
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.now import optic_share
from spanwalk.rules.checks import Check, cannot_tell, fails, passes, worst

Json = Any
MOST_DRIVERS = 2
"""Drivers in one body at most: more of them do not lie in a channel made for a ballast or two (common practice)."""


@dataclass(frozen=True)
class Candidate:
    """A layout with its drivers.

    Parameters
    ----------
    layout : Layout
        Where the bars lie.
    driver : view record or None
        The driver; None where the neighbour's feeds the bars.
    drivers : int
        How many of them in one body.
    setting_ma : int
        Current setting [mA].
    bars_on_one : int
        Bars on each driver.
    checks : tuple of Check
        Everything that was checked.
    bars_w, watts_each, lumens_each : Fraction or float
        Of one body: watts of its bars [W], mains watts [W], maintained lumens that leave it [lm];
        lumens None where the body is not in the tables.
    """

    layout: Layout
    driver: Record | None
    drivers: int
    setting_ma: int
    bars_on_one: int
    checks: tuple[Check, ...]
    bars_w: Fraction
    watts_each: float
    lumens_each: float | None

    @property
    def name(self) -> str:
        """The arrangement in codes: what it is called in decisions and on labels."""
        if self.layout.feeds == 0:
            return f"{self.layout.name}; fed from the neighbour"
        assert self.driver is not None
        number = f"{self.drivers} × " if self.drivers > 1 else ""
        both = " for both bodies" if self.layout.feeds > 1 else ""
        return f"{self.layout.name}; {number}{code_of(self.driver)} at {self.setting_ma} mA{both}"

    @property
    def verdict(self) -> str:
        """`passes`, `cannot tell` or `fails`."""
        return worst(self.checks)

    @property
    def each_ma(self) -> Fraction:
        """Current through each bar [mA]."""
        facet = self.driver["facets"]["driver"] if self.driver else {"current": "for each output"}
        return driver_rules.current_of_a_bar_ma(facet, self.bars_on_one, self.setting_ma)


def drivers_for(driver: Mapping[str, Json], bars: int) -> int | None:
    """How many drivers feed so many bars, each an equal number of them; None where two do not suffice.

    >>> drivers_for({"outputs": 2}, 4), drivers_for({"outputs": 2}, 3), drivers_for({"outputs": 1}, 3)
    (2, None, None)
    """
    for number in range(1, MOST_DRIVERS + 1):
        if bars % number == 0 and bars // number <= driver["outputs"]:
            return number
    return None


def layout_checks(body: Body, layout: Layout) -> list[Check]:
    """What hangs on bars and body alone: fit, lit length, evenness, width, height, fixing, moisture."""
    wettest = min((bar["facets"]["bar"] for bar in layout.fill), key=lambda bar: driver_rules.MOISTURE.index(bar["moisture"]))
    return [
        layouts.check_fit(layout),
        layouts.check_lit(body, layout),
        layouts.check_even(body, layout),
        layouts.check_width(body, layout),
        layouts.check_height(body, layout),
        layouts.check_fixing(body, layout),
        driver_rules.check_moisture(wettest, body.place.moisture, "bar-moisture"),
    ]


def accessory_checks(body: Body) -> list[Check]:
    """Does the catalogue hold what the group needs beside bars and drivers: emergency packs, sensors?"""
    found = []
    if body.emergency == "battery in fixture":
        found.append(_offered(body, "emergency pack"))
        if not body.emergency_fixtures:
            found.append(cannot_tell("emergency-positions", missing=["emergency_positions"]))
    sensor = {"occupancy": "occupancy sensor", "daylight": "daylight sensor"}.get(body.place.control_wanted)
    if sensor:
        found.append(_offered(body, sensor))
    return found


def _offered(body: Body, purpose: str) -> Check:
    item = body.catalogue.accessory(purpose)
    return passes("accessory", purpose=purpose, code=code_of(item)) if item else fails("accessory", purpose=purpose)


def with_driver(
    body: Body, layout: Layout, driver: Record, drivers: int, setting_ma: int, before: tuple[Check, ...]
) -> Candidate:
    """A candidate with drivers of its own, its light not yet judged.

    Parameters
    ----------
    body, layout
        Where.
    driver : view record
        Catalogue item.
    drivers : int
        How many.
    setting_ma : int
        Their setting [mA].
    before : tuple of Check
        Checks of layout, place and accessories, already made.
    """
    facet = driver["facets"]["driver"]
    number = len(layout.bars) * layout.feeds
    key = (driver["id"], drivers, setting_ma, layout.feeds, number, tuple(bar["id"] for bar in layout.fill))
    if key not in body.catalogue.fed:
        body.catalogue.fed[key] = _fed(facet, layout.bars_fed, drivers, setting_ma, layout.feeds)
    checks, bars_w, watts, each_ma = body.catalogue.fed[key]
    lumens = lumens_each(body, layout, each_ma)
    return Candidate(layout, driver, drivers, setting_ma, number // drivers, (*before, *checks), bars_w, watts, lumens)


def _fed(
    facet: Mapping[str, Json], fed: list[Mapping[str, Json]], drivers: int, setting_ma: int, bodies: int
) -> tuple[tuple[Check, ...], Fraction, float, Fraction]:
    """Checks on what one driver feeds; of one body the watts of its bars and from the mains; current of a bar [mA]."""
    on_one = fed[: len(fed) // drivers]
    checks = tuple(driver_rules.check_bars(facet, on_one, setting_ma))
    bars_w = driver_rules.bar_watts(facet, on_one, setting_ma) * drivers / bodies
    watts = energy.mains_watts(float(bars_w), facet["efficiency_pct"])
    return checks, bars_w, watts, driver_rules.current_of_a_bar_ma(facet, len(on_one), setting_ma)


def lumens_each(body: Body, layout: Layout, each_ma: Fraction) -> float | None:
    """Maintained lumens that leave one body at the end of the years looked at [lm]; None if its body is not in the tables.

    Hours not known count as none, so that nothing is taken off; `Now.missing` then names them.
    """
    row = body.body_row
    if row is None:
        return None
    hours = float((body.hours_year or 0) * int(body.money.get("study_years", 10)))
    cavities, total = layout.cavities * len(layout.rows), 0.0
    for bar in (bar["facets"]["bar"] for bar in layout.fill):
        bars_w = bar["forward_v"] * float(each_ma) / 1000 * cavities
        kept = light.led_depreciation(hours, bar["l70_h"])
        total += light.lumens_then(bars_w, bar["lumens_per_w"], kept, row["dirt_share"], row["bars_share"], optic_share(body))
    return total
