"""Is every driver right for each of its bars: outputs, equal voltage in parallel, current, voltage, watts? See wiring.md."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from spanwalk.rules.arrangements.body import code_of
from spanwalk.rules.arrangements.wiring.wiring import IN_PARALLEL, IN_SERIES, NOT_SAID, WiredBar, WiredDriver, Wiring
from spanwalk.rules.gear.checks import Check, cannot_tell, exact, fails, passes
from spanwalk.rules.record_view import Facet

UNEVEN_PCT = 20
"""By how much currents of equal bars in one fixture may differ [%] before one looks brighter (common practice, no source)."""
Path = Sequence[WiredBar]


def check_wiring(wiring: Wiring) -> list[Check]:
    """All checks that hang on what each driver feeds and on its setting, for each driver; equal ones are told once.

    Parameters
    ----------
    wiring : Wiring
        The drivers, each with its bars and their currents.
    """
    found: list[Check] = []
    alike: set[tuple[tuple[str, ...], ...]] = set()
    for driver in wiring.drivers:
        items = tuple(tuple(bar.spot.bar["id"] for bar in output.bars) for output in driver.outputs)
        if items not in alike:
            alike.add(items)
            found += [check for check in check_driver(driver) if check not in found]
    return [*found, check_even(wiring)] if len(wiring.bars) > 1 else found


def check_driver(driver: WiredDriver) -> list[Check]:
    """The checks of one driver with its own bars, in the order in which a fitter would ask."""
    apart = check_parallel(driver)
    rest = [check_current(driver), check_voltage(driver), check_watts(driver)]
    return [check_outputs(driver), *([apart] if apart else []), *rest]


def check_outputs(driver: WiredDriver) -> Check:
    """Has it the outputs, and does one take as many bars as hang on it, joined as they are? (`driver.outputs`)

    One bar on an output is always right; of several the catalogue must say how many and how they are joined.
    """
    most = max(len(output.bars) for output in driver.outputs)
    return outputs_for(driver.facet, len(driver.bars), len(driver.outputs), most)


def outputs_for(facet: Facet, bars: int, outputs: int, on_one: int) -> Check:
    """Whether so many bars go on so many outputs.

    Parameters
    ----------
    facet : mapping
        `driver` facet of a catalogue item.
    bars : int
        All that are fed.
    outputs : int
        Those that they take [outputs].
    on_one : int
        On the output that has most [bars].

    Examples
    --------
    >>> outputs_for({"outputs": 2}, 2, 2, 1).verdict, outputs_for({"outputs": 2}, 3, 3, 1).verdict
    ('passes', 'fails')
    >>> outputs_for({"outputs": 2}, 4, 2, 2).facts["missing"]
    ['bars on one output', 'how they are joined']
    """
    facts = {"outputs": facet["outputs"], "bars": bars, "on_one": on_one}
    if outputs > facet["outputs"]:
        return fails("driver.outputs", **facts)
    if on_one == 1:
        return passes("driver.outputs", **facts)
    missing = silent_on(facet)
    if missing:
        return cannot_tell("driver.outputs", missing=missing, **facts)
    good = on_one <= facet["bars_per_output"]
    return passes("driver.outputs", **facts) if good else fails("driver.outputs", **facts)


def silent_on(facet: Facet) -> list[str]:
    """What a catalogue does not say of several bars on one output; nothing where it says that an output takes one."""
    if facet.get("bars_per_output") == 1:
        return []
    missing = [] if facet.get("bars_per_output") else ["bars on one output"]
    return (
        missing if facet.get("bars_joined", NOT_SAID) in (IN_SERIES, IN_PARALLEL) else [*missing, "how they are joined"]
    )


def path_v(path: Path) -> Fraction:
    """Voltage of a current path [V]: its bars in series add up."""
    if len(path) == 1:
        return path[0].spot.volts
    return sum((bar.spot.volts for bar in path), Fraction(0))


def check_parallel(driver: WiredDriver) -> Check | None:
    """Do the paths on each current source divide its current as they are rated to? None where no source has two paths.

    Paths in parallel take the same voltage. If they need unequal ones, the lowest takes nearly all of the current, and the
    catalogue says what it bears: `volts_apart`, the least of the bars concerned. Where it is silent only paths of the
    same items share. Paths of bars in series divide predictably only if the bars of each have one rated current.
    """
    checks = [_parallel(source) for source in driver.sources if len(source) > 1]
    return next((check for check in checks if check.verdict != "passes"), checks[0] if checks else None)


def _parallel(paths: Sequence[Path]) -> Check:
    volts = [path_v(path) for path in paths]
    low, high = min(volts), max(volts)
    apart, lowest, highest = high - low, paths[volts.index(low)], paths[volts.index(high)]
    facts = {"from_v": low, "to_v": high, "apart_v": apart, "lower": names(lowest), "higher": names(highest)}
    may = [bar.spot.facet.get("volts_apart") for path in paths for bar in path]
    if len({tuple(sorted(bar.spot.bar["id"] for bar in path)) for path in paths}) == 1:
        return passes("driver.parallel", **facts)
    if None in may:
        silent = sorted(
            {code_of(bar.spot.bar) for path in paths for bar in path if bar.spot.facet.get("volts_apart") is None}
        )
        verdict = fails if apart else cannot_tell
        return verdict("driver.parallel-silent", missing=silent, **facts)
    least = min(exact(each) for each in may)
    if apart > least:
        return fails("driver.parallel", may_v=least, over_by_v=apart - least, **facts)
    mixed = next((path for path in paths if len({bar.spot.facet["rated_ma"] for bar in path}) > 1), None)
    if mixed:
        return cannot_tell("driver.parallel-mixed", path=names(mixed), **facts)
    return passes("driver.parallel", may_v=least, **facts)


def names(path: Path) -> str:
    """The bars of a path, by their codes."""
    return " + ".join(code_of(bar.spot.bar) for bar in path)


def check_current(driver: WiredDriver) -> Check:
    """Does each bar get no more than it bears? (`driver.current`; a failure says what setting would do at most)

    Told is the bar that comes nearest to its limit, or is furthest over it.
    """
    worst = max(driver.bars, key=lambda bar: bar.ma - bar.spot.facet["most_ma"])
    most = worst.spot.facet["most_ma"]
    facts = {
        "setting_ma": driver.setting_ma,
        "bars": len(driver.bars),
        "bar": code_of(worst.spot.bar),
        "each_ma": shown(worst.ma),
        "most_ma": most,
    }
    if worst.ma <= most:
        return passes("driver.current", **facts)
    would_do = min(driver.setting_ma * bar.spot.facet["most_ma"] / bar.ma for bar in driver.bars)
    return fails("driver.current", over_by_ma=worst.ma - most, would_do_ma=int(would_do), **facts)


def shown(number: Fraction) -> float:
    """A number as people read it, to a tenth; what is compared is exact."""
    return round(float(number), 1)


def check_voltage(driver: WiredDriver) -> Check:
    """Is the voltage of every current path inside the window of the output, at both ends? (`driver.voltage`)

    Taken at rated current: a bar's voltage changes by a few per cent between its currents, which the windows of drivers
    allow for. Told is the path that is furthest out, or nearest to an end.
    """
    low, high = exact(driver.facet["out_v_min"]), exact(driver.facet["out_v_max"])
    paths = [(path_v(path), path) for source in driver.sources for path in source]
    volts, worst = max(paths, key=lambda each: max(low - each[0], each[0] - high))
    facts = {"bar_v": volts, "bars": names(worst), "from_v": low, "to_v": high}
    return passes("driver.voltage", **facts) if low <= volts <= high else fails("driver.voltage", **facts)


def check_watts(driver: WiredDriver) -> Check:
    """Is what its bars take between the driver's least and its rated output? (`driver.watts`)"""
    taken, least, most = driver.bars_w, exact(driver.facet["least_watts"]), exact(driver.facet["watts"])
    facts = {"bars_w": taken, "least_w": least, "most_w": most}
    if taken > most:
        return fails("driver.watts", over_by_w=taken - most, **facts)
    if taken < least:
        return fails("driver.watts", short_by_w=least - taken, **facts)
    return passes("driver.watts", **facts)


def check_even(wiring: Wiring) -> Check:
    """Do bars of one item get nearly the same current in the whole fixture, so that none looks brighter? (`driver.even`)"""
    least, most = max(_extremes(wiring), key=lambda pair: pair[1] / pair[0])
    facts = {
        "from_ma": shown(least),
        "to_ma": shown(most),
        "apart_pct": shown((most - least) * 100 / least),
        "most_pct": UNEVEN_PCT,
    }
    even = (most - least) * 100 <= UNEVEN_PCT * least
    return passes("driver.even", **facts) if even else fails("driver.even", **facts)


def _extremes(wiring: Wiring) -> Iterator[tuple[Fraction, Fraction]]:
    by_item: dict[str, list[Fraction]] = {}
    for bar in wiring.bars:
        by_item.setdefault(bar.spot.bar["id"], []).append(bar.ma)
    for currents in by_item.values():
        yield min(currents), max(currents)


__all__ = [
    "check_driver",
    "check_even",
    "check_outputs",
    "check_parallel",
    "check_wiring",
    "outputs_for",
    "shown",
    "silent_on",
]
