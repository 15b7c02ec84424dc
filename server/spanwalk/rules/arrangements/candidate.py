"""One candidate: a layout with drivers and a setting, with all its checks, its light and its watts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from spanwalk.rules.arrangements import layout as layouts
from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.now import optic_share
from spanwalk.rules.arrangements.wiring.controls import sensor_wanted
from spanwalk.rules.arrangements.wiring.packs import Packed, duty_checks
from spanwalk.rules.arrangements.wiring.wiring import HERE, NEIGHBOUR, Wiring
from spanwalk.rules.gear import driver_in_body as driver_rules
from spanwalk.rules.gear.ambient import check_cold, check_heat, worst_of
from spanwalk.rules.gear.checks import Check, fails, passes, worst
from spanwalk.rules.light import light
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.record_view import Facet


@dataclass(frozen=True)
class Candidate:
    """A layout with its drivers.

    Parameters
    ----------
    layout : Layout
        Where the bars lie.
    driver : view record or None
        The driver; None where the neighbour's is not in the catalogue any more.
    wiring : Wiring
        Which bar hangs on which output of which driver: those of this body, or of the neighbour that feeds it.
    checks : tuple of Check
        Everything that was checked.
    light_each : NewLight or None
        Light that leaves one body [lm]; None where the body is not in the tables.
    packed : Packed or None
        The emergency pack of those fixtures that have one.
    """

    layout: Layout
    driver: CatalogueItemView
    wiring: Wiring
    checks: tuple[Check, ...]
    light_each: light.NewLight | None
    packed: Packed | None = None

    @cached_property
    def name(self) -> str:
        """The arrangement in codes: what it is called in decisions and on labels."""
        return arrangement(self.layout, self.driver, self.wiring)

    @cached_property
    def verdict(self) -> str:
        """`passes`, `cannot tell` or `fails`."""
        return worst(self.checks)

    @property
    def _body(self) -> str:
        """What its own bars are called in the wiring."""
        return HERE if self.layout.feeds else NEIGHBOUR

    @cached_property
    def own_bars(self) -> tuple[CatalogueItemView, ...]:
        """Catalogue items of the bars of one body, as they are wired."""
        return tuple(bar.spot.bar for bar in self.wiring.bars if bar.spot.body == self._body)

    @cached_property
    def own_number(self) -> dict[str, int]:
        """Item id -> bars of it in one body, in the order in which they are wired."""
        return dict(Counter(bar["id"] for bar in self.own_bars))

    @property
    def drivers(self) -> int:
        """Drivers that go into one body."""
        return len(self.wiring.drivers) if self.layout.feeds else 0

    @property
    def setting_ma(self) -> int:
        """Current setting [mA]."""
        return self.wiring.setting_ma

    @cached_property
    def fed_by(self) -> tuple[str, int, int, int]:
        """What tells how it is fed: its driver by id, how many, bars on the output that has most, and the setting [mA]."""
        return (self.driver["id"], self.drivers, self.wiring.on_an_output, self.wiring.setting_ma)

    @cached_property
    def bars_w(self) -> Fraction:
        """What the bars of one body take [W]."""
        return sum(self.wiring.watts_of(self._body).values(), Fraction(0))

    @cached_property
    def watts_each(self) -> float:
        """What one body comes to at the mains [W]."""
        return float(self.wiring.mains_w_of(self._body))

    @property
    def most_ma(self) -> Fraction:
        """The highest current of a bar in the body [mA]."""
        return max(bar.ma for bar in self.wiring.bars if bar.spot.body == self._body)


def arrangement(layout: Layout, driver: CatalogueItemView, wiring: Wiring) -> str:
    """What a layout with its drivers is called."""
    if layout.feeds == 0:
        return f"{layout.name}; fed from the neighbour"
    number = f"{len(wiring.drivers)} × " if len(wiring.drivers) > 1 else ""
    both = " for both bodies" if layout.feeds > 1 else ""
    return f"{layout.name}; {number}{code_of(driver)} at {wiring.setting_ma} mA{wiring.name}{both}"


def layout_checks(body: Body, layout: Layout) -> list[Check]:
    """What hangs on bars and body alone: fit, lit length, evenness, width, height, fixing, moisture, cold, heat."""
    return [check(body, layout) for check in LAYOUT_CHECKS]


def _check_moisture(body: Body, layout: Layout) -> Check:
    wettest = min(
        (bar["facets"]["bar"] for bar in layout.fill), key=lambda bar: driver_rules.MOISTURE.index(bar["moisture"])
    )
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
    found = [_offered(body, "emergency-pack")] if body.emergency == "battery-in-fixture" else []
    found += duty_checks(body)
    sensor = sensor_wanted(body)
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


class Lamplight:
    """What light the bars of a layout give in a body, at any current.

    Hours not known count as none, so that nothing is taken off; `Now.missing` then names them.
    """

    def __init__(self, body: Body, layout: Layout) -> None:
        self._row = body.body_row
        if self._row is None:
            return
        shares = (self._row["dirt_share"], self._row["bars_share"], optic_share(body))
        self._per_w = {
            bar["id"]: light.new_light(1.0, *_efficacy(bar["facets"]["bar"], body.light_hours), *shares)
            for bar in layout.fill
        }

    def of(self, watts: Mapping[str, float]) -> light.NewLight | None:
        """Light that leaves the body [lm]; None where it is not in the tables.

        Parameters
        ----------
        watts : mapping
            Item id → what its bars in the body take together [W].
        """
        if self._row is None:
            return None
        day_one = mean = maintained = 0.0
        for item, taken in watts.items():
            per_w = self._per_w[item]
            day_one += taken * per_w.day_one_lm
            mean += taken * per_w.mean_lm
            maintained += taken * per_w.maintained_lm
        return light.NewLight(day_one, mean, maintained)


def _efficacy(bar: Facet, hours: float) -> tuple[float, float]:
    """Lumens per watt of a bar, and the share of them kept after so many hours."""
    return bar["lumens_per_w"], light.led_depreciation(hours, bar["l70_h"])
