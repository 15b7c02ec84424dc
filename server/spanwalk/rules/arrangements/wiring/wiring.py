"""Which bar hangs on which output of which driver of one fixture, and what current it gets: see wiring.md.

All that is checked, ordered, shown and fitted of drivers is read from this one list.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from spanwalk.rules.arrangements.body import code_of
from spanwalk.rules.arrangements.plan_types import BarTold, DriverTold, OutputTold
from spanwalk.rules.gear.checks import exact, plain
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.record_view import Facet

Where = tuple[str, int, int, int]
HERE, NEIGHBOUR = "here", "neighbour"
ALONE, IN_SERIES, IN_PARALLEL = "alone", "in-series", "in-parallel"
NOT_SAID = "not-said"


@dataclass(frozen=True)
class Spot:
    """Where a bar lies.

    Parameters
    ----------
    body : str
        `here`, or `neighbour` for the other body of a pair on one ballast.
    row, cavity, place : int
        Row as in the survey, cavity in the row, place in the cavity, each counted from 1.
    bar : view record
        Catalogue item of the bar.
    """

    body: str
    row: int
    cavity: int
    place: int
    bar: CatalogueItemView

    @property
    def where(self) -> Where:
        """Body, row, cavity and place: no two bars have the same."""
        return self.body, self.row, self.cavity, self.place

    @property
    def cavity_at(self) -> tuple[str, int, int]:
        """Body, row and cavity."""
        return self.body, self.row, self.cavity

    @property
    def facet(self) -> Facet:
        """The `bar` facet of its item."""
        facet: Facet = self.bar["facets"]["bar"]
        return facet

    @property
    def volts(self) -> Fraction:
        """Its forward voltage at rated current [V]."""
        return exact(self.facet["forward_v"])


@dataclass(frozen=True)
class WiredBar:
    """A bar with the current that it gets [mA]."""

    spot: Spot
    ma: Fraction

    @property
    def watts(self) -> Fraction:
        """What it takes [W]: forward voltage times current."""
        return self.spot.volts * self.ma / 1000


@dataclass(frozen=True)
class Output:
    """One output of a driver: its number, counted from 1, how its bars are joined, and they."""

    number: int
    joined: str
    bars: tuple[WiredBar, ...]

    @property
    def branches(self) -> tuple[tuple[WiredBar, ...], ...]:
        """Its current paths: the whole output where bars are in series, else each bar."""
        return (self.bars,) if self.joined == IN_SERIES else tuple((bar,) for bar in self.bars)


@dataclass(frozen=True)
class WiredDriver:
    """One driver of one fixture.

    Parameters
    ----------
    driver : view record
        Catalogue item.
    number : int
        1 or 2: which of the drivers of the fixture.
    setting_ma : int
        How it is set [mA].
    outputs : tuple of Output
        Those that are used.
    """

    driver: CatalogueItemView
    number: int
    setting_ma: int
    outputs: tuple[Output, ...]

    @property
    def facet(self) -> Facet:
        """The `driver` facet of its item."""
        facet: Facet = self.driver["facets"]["driver"]
        return facet

    @property
    def shares(self) -> bool:
        """Whether all its outputs are terminals of one current source."""
        return bool(self.facet["current"] == "shared-by-the-bars")

    @cached_property
    def bars(self) -> tuple[WiredBar, ...]:
        """All bars on it."""
        return tuple(bar for output in self.outputs for bar in output.bars)

    @cached_property
    def sources(self) -> tuple[tuple[tuple[WiredBar, ...], ...], ...]:
        """Its current sources, each with the current paths in parallel on it: one for all outputs, or one for each."""
        if self.shares:
            return (tuple(branch for output in self.outputs for branch in output.branches),)
        return tuple(output.branches for output in self.outputs)

    @cached_property
    def bars_w(self) -> Fraction:
        """What it gives to its bars [W]."""
        return sum((bar.watts for bar in self.bars), Fraction(0))

    @property
    def mains_w(self) -> Fraction:
        """What it takes from the mains [W]."""
        return self.bars_w * 100 / exact(self.facet["efficiency_pct"])

    @property
    def spare_outputs(self) -> list[int]:
        """Numbers of outputs with nothing on them."""
        used = {output.number for output in self.outputs}
        return [number for number in range(1, self.facet["outputs"] + 1) if number not in used]

    def to_json(self, rows: Sequence[int]) -> DriverTold:
        """The driver as JSON; `rows` are those of the layout, by which the n-th row of the wiring is named."""
        return {
            "driver": code_of(self.driver),
            "item": self.driver["id"],
            "number": self.number,
            "setting_ma": self.setting_ma,
            "set_by": self.facet.get("set_by", NOT_SAID),
            "current": self.facet["current"],
            "outputs": [_output(each, rows) for each in self.outputs],
            "spare_outputs": self.spare_outputs,
            "bars_w": plain(self.bars_w),
            "mains_w": plain(self.mains_w),
        }


@dataclass(frozen=True)
class Wiring:
    """The drivers of one fixture, or of a pair on one ballast, each with its own bars.

    Rows are counted among those that are used: one wiring serves every layout that uses as many.
    """

    drivers: tuple[WiredDriver, ...]

    @cached_property
    def bars(self) -> tuple[WiredBar, ...]:
        """All bars."""
        return tuple(bar for driver in self.drivers for bar in driver.bars)

    @property
    def setting_ma(self) -> int:
        """How each driver is set [mA]."""
        return self.drivers[0].setting_ma

    @property
    def bars_on_one(self) -> int:
        """Bars on the driver that feeds most."""
        return max(len(driver.bars) for driver in self.drivers)

    @property
    def _fullest(self) -> Output:
        return max((output for driver in self.drivers for output in driver.outputs), key=lambda each: len(each.bars))

    @property
    def on_an_output(self) -> int:
        """Bars on the output that has most."""
        return len(self._fullest.bars)

    @cached_property
    def shape(self) -> tuple[tuple[int, int, int], ...]:
        """Of each driver its bars, the outputs that are used, and those that are not: what is counted of its parts."""
        return tuple((len(each.bars), len(each.outputs), len(each.spare_outputs)) for each in self.drivers)

    @cached_property
    def name(self) -> str:
        """How several bars share an output, as it is said after the setting; empty where each has its own."""
        several = self._fullest
        return (
            "" if several.joined == ALONE else f", {len(several.bars)} {several.joined.replace('-', ' ')} on an output"
        )

    def watts_of(self, body: str) -> Mapping[str, Fraction]:
        """Item id → what its bars in a body take together [W]."""
        found: dict[str, Fraction] = {}
        for bar in self.bars:
            if bar.spot.body == body:
                item = bar.spot.bar["id"]
                found[item] = found.get(item, Fraction(0)) + bar.watts
        return found

    def mains_w_of(self, body: str) -> Fraction:
        """What the bars of a body come to at the mains [W]."""
        return self._mains_w.get(body, Fraction(0))

    @cached_property
    def _mains_w(self) -> Mapping[str, Fraction]:
        """The same by body: a wiring serves many groups."""
        found: dict[str, Fraction] = {}
        for driver in self.drivers:
            for bar in driver.bars:
                taken = bar.watts * 100 / exact(driver.facet["efficiency_pct"])
                found[bar.spot.body] = found.get(bar.spot.body, Fraction(0)) + taken
        return found

    def to_json(self, rows: Sequence[int]) -> list[DriverTold]:
        """All drivers as JSON, with the rows of a layout."""
        return [driver.to_json(rows) for driver in self.drivers]


def _output(output: Output, rows: Sequence[int]) -> OutputTold:
    return {"output": output.number, "joined": output.joined, "bars": [_bar(bar, rows) for bar in output.bars]}


def _bar(bar: WiredBar, rows: Sequence[int]) -> BarTold:
    spot = bar.spot
    return {
        "body": spot.body,
        "row": rows[spot.row - 1],
        "cavity": spot.cavity,
        "place": spot.place,
        "bar": code_of(spot.bar),
        "item": spot.bar["id"],
        "ma": plain(bar.ma),
    }


def spots(fill: Sequence[CatalogueItemView], rows: int, cavities: int, bodies: int) -> tuple[Spot, ...]:
    """Every bar of a fixture, or of a pair: body by body, row by row.

    Parameters
    ----------
    fill : sequence of view records
        Bars of one cavity, in order.
    rows : int
        Used [rows].
    cavities : int
        In a row [cavities].
    bodies : int
        Fed [bodies].
    """
    return tuple(
        Spot(body, row, cavity, place, bar)
        for body in (HERE, NEIGHBOUR)[:bodies]
        for row in range(1, rows + 1)
        for cavity in range(1, cavities + 1)
        for place, bar in enumerate(fill, 1)
    )


def splits(bars: Sequence[Spot], drivers: int) -> Iterator[tuple[tuple[Spot, ...], ...]]:
    """Ways to deal bars out to one or two drivers that make sense: body by body or row by row, and item by item."""
    if drivers == 1:
        yield (tuple(bars),)
        return
    if len(bars) < drivers:
        return
    half = -(-len(bars) // 2)
    halves = (tuple(bars[:half]), tuple(bars[half:]))
    yield halves
    first = bars[0].bar["id"]
    by_item = (
        tuple(each for each in bars if each.bar["id"] == first),
        tuple(each for each in bars if each.bar["id"] != first),
    )
    if by_item[1] and by_item != halves:
        yield by_item


def wired(
    driver: CatalogueItemView, number: int, setting_ma: int, bars: Sequence[Spot], on_an_output: int
) -> WiredDriver:
    """One driver with its bars, so many on an output, each with the current that it gets.

    The current of each source divides over the paths in parallel on it by their rated current: see wiring.md.

    Parameters
    ----------
    driver : view record
        Catalogue item.
    number : int
        Its place among the fixture's [drivers].
    setting_ma : int
        Its setting [mA].
    bars : sequence of Spot
        Its bars, in order of the outputs.
    on_an_output : int
        On each output, fewer on the last [bars].
    """
    facet = driver["facets"]["driver"]
    joined = facet.get("bars_joined", NOT_SAID)
    on_outputs = [bars[start : start + on_an_output] for start in range(0, len(bars), on_an_output)]
    weights = [_weights(spots, joined) for spots in on_outputs]
    shared = sum(sum(paths) for paths in weights) if facet["current"] == "shared-by-the-bars" else None
    outputs = []
    for place, (spots_on_it, paths) in enumerate(zip(on_outputs, weights, strict=True), 1):
        of_source = shared or sum(paths)
        # In series there is one path, whose current all its bars get.
        shares = [
            Fraction(setting_ma * weight, of_source)
            for weight in (paths if len(paths) == len(spots_on_it) else paths * len(spots_on_it))
        ]
        wired_bars = tuple(WiredBar(spot, share) for spot, share in zip(spots_on_it, shares, strict=True))
        outputs.append(Output(place, joined if len(wired_bars) > 1 else ALONE, wired_bars))
    return WiredDriver(driver, number, setting_ma, tuple(outputs))


def _weights(bars: Sequence[Spot], joined: str) -> list[int]:
    """Rated current of each path on an output [mA]: of each bar, or of bars in series the least of theirs."""
    rated = [int(spot.facet["rated_ma"]) for spot in bars]
    return [min(rated)] if joined == IN_SERIES else rated
