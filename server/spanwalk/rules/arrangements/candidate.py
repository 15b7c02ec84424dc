"""One candidate: a layout with drivers and a setting, with all its checks, its light and its watts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from spanwalk.rules import driver as driver_rules
from spanwalk.rules import light
from spanwalk.rules.ambient import check_cold, check_heat, worst_of
from spanwalk.rules.arrangements import layout as layouts
from spanwalk.rules.arrangements.body import Body, Record, code_of
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.now import optic_share
from spanwalk.rules.arrangements.serving import Fed
from spanwalk.rules.checks import Check, cannot_tell, fails, passes, worst

Json = Any


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

    @cached_property
    def name(self) -> str:
        """The arrangement in codes: what it is called in decisions and on labels."""
        return arrangement(self.layout, self.driver, self.drivers, self.setting_ma)

    @cached_property
    def verdict(self) -> str:
        """`passes`, `cannot tell` or `fails`."""
        return worst(self.checks)

    @property
    def each_ma(self) -> Fraction:
        """Current through each bar [mA]."""
        facet = self.driver["facets"]["driver"] if self.driver else {"current": "for each output"}
        return driver_rules.current_of_a_bar_ma(facet, self.bars_on_one, self.setting_ma)


def arrangement(layout: Layout, driver: Record | None, drivers: int, setting_ma: int) -> str:
    """What a layout with its drivers is called."""
    if driver is None or layout.feeds == 0:
        return f"{layout.name}; fed from the neighbour"
    number = f"{drivers} × " if drivers > 1 else ""
    both = " for both bodies" if layout.feeds > 1 else ""
    return f"{layout.name}; {number}{code_of(driver)} at {setting_ma} mA{both}"


def layout_checks(body: Body, layout: Layout) -> list[Check]:
    """What hangs on bars and body alone: fit, lit length, evenness, width, height, fixing, moisture, cold, heat."""
    return [check(body, layout) for check in LAYOUT_CHECKS]


def _check_moisture(body: Body, layout: Layout) -> Check:
    wettest = min((bar["facets"]["bar"] for bar in layout.fill), key=lambda bar: driver_rules.MOISTURE.index(bar["moisture"]))
    return driver_rules.check_moisture(wettest, body.place.moisture, "bar-moisture")


def _check_cold(body: Body, layout: Layout) -> Check:
    return worst_of(check_cold(bar["facets"]["bar"], body.place.coldest_c, "bar-cold") for bar in layout.fill)


def _check_heat(body: Body, layout: Layout) -> Check:
    return worst_of(check_heat(bar["facets"]["bar"], body.place.hottest_c, "bar-heat") for bar in layout.fill)


LAYOUT_CHECKS: tuple[Callable[[Body, Layout], Check], ...] = (
    layouts.check_fit,
    layouts.check_lit,
    layouts.check_even,
    layouts.check_width,
    layouts.check_height,
    layouts.check_fixing,
    _check_moisture,
    _check_cold,
    _check_heat,
)


def accessory_checks(body: Body) -> list[Check]:
    """Does the catalogue hold what the group needs beside bars and drivers: emergency packs, sensors?"""
    found = []
    if body.emergency == "battery in fixture":
        found.append(_offered(body, "emergency pack"))
        if not body.emergency_fixtures:
            found.append(cannot_tell("emergency-positions", missing=["emergency_positions"]))
    sensor = {"occupancy": "occupancy sensor", "daylight": "daylight sensor"}.get(body.place.control_wanted)
    if sensor:
        found += [_offered(body, sensor), *_sensor_ambient(body, sensor)]
    return found


def _sensor_ambient(body: Body, purpose: str) -> list[Check]:
    """Does the sensor that is offered bear the cold and the heat of the room?"""
    item = body.catalogue.accessory(purpose)
    if item is None:
        return []
    facet, place = item["facets"]["accessory"], body.place
    return [check_cold(facet, place.coldest_c, "sensor-cold"), check_heat(facet, place.hottest_c, "sensor-heat")]


def _offered(body: Body, purpose: str) -> Check:
    item = body.catalogue.accessory(purpose)
    return passes("accessory", purpose=purpose, code=code_of(item)) if item else fails("accessory", purpose=purpose)


def with_driver(layout: Layout, driver: Record, number: int, fed: Fed, before: tuple[Check, ...], lumens: float | None, lit: Check) -> Candidate:
    """A candidate with drivers of its own.

    Parameters
    ----------
    layout : Layout
        Where.
    driver : view record
        Catalogue item.
    number : int
        How many [drivers].
    fed : Fed
        What they do at the setting.
    before : tuple of Check
        Checks of layout, accessories and place.
    lumens : float or None
        Maintained lumens of one body [lm].
    lit : Check
        Whether that is the light that is wanted.
    """
    bars = len(layout.bars) * layout.feeds
    return Candidate(layout, driver, number, fed.setting_ma, bars // number, (*before, *fed.checks, lit), fed.bars_w, fed.watts_each, lumens)


def lumens_each(body: Body, layout: Layout, each_ma: float) -> float | None:
    """Maintained lumens that leave one body at the end of the years looked at [lm]; None if its body is not in the tables.

    Parameters
    ----------
    body, layout
        The body and its bars.
    each_ma : float
        Current of a bar [mA].
    """
    light_of = Lamplight(body, layout)
    return light_of.lumens(each_ma)


class Lamplight:
    """What light the bars of a layout give in a body, at any current.

    Hours not known count as none, so that nothing is taken off; `Now.missing` then names them.
    """

    def __init__(self, body: Body, layout: Layout) -> None:
        self._row = body.body_row
        if self._row is None:
            return
        hours = float((body.hours_year or 0) * int(body.money.get("study_years", 10)))
        bars = [bar["facets"]["bar"] for bar in layout.fill]
        self._cavities = layout.cavities * len(layout.rows)
        self._bars = [(bar["forward_v"], bar["lumens_per_w"], light.led_depreciation(hours, bar["l70_h"])) for bar in bars]
        self._shares = (self._row["dirt_share"], self._row["bars_share"], optic_share(body))

    def lumens(self, each_ma: float) -> float | None:
        """Maintained lumens that leave the body [lm]; None where it is not in the tables.

        Parameters
        ----------
        each_ma : float
            Current of a bar [mA].
        """
        if self._row is None:
            return None
        total = 0.0
        for forward_v, lumens_per_w, kept in self._bars:
            total += light.lumens_then(forward_v * each_ma / 1000 * self._cavities, lumens_per_w, kept, *self._shares)
        return total
