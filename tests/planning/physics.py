"""The physics of a wired fixture, written apart from the rules: it reads a plan's JSON and the catalogue's raw numbers only.

The model, as every maker's sheet has it (common practice, no source): a constant-current source drives its setting through
what stands on it. A bar is strings of diodes in parallel; its voltage at rated current is in the catalogue, and a bar of
twice the rated current has twice the strings. Paths in parallel take one voltage; strings of equal voltage take equal
currents, so that bars divide by their strings. Paths in series take one current, their voltages add.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

Json = Any
Found = tuple[str, str]
"""A violation: what it is, and its numbers."""
NEAR = 2e-4
"""JSON carries four decimals."""


def violations(
    proposal: Json, plan: Json, catalogue: Mapping[str, Json], supply_v: str, asked: Mapping[str, int]
) -> Iterator[Found]:
    """Everything that is wrong with a candidate that passes.

    Parameters
    ----------
    proposal, plan : dict
        The candidate as the plan tells it, and the plan.
    catalogue : mapping
        Item id → raw `bar` or `driver` facet.
    supply_v : str
        Supply of the group [V], or `'dc'`.
    asked : mapping
        `cavities` in a row, and `fixtures` of the group.
    """
    mine = proposal["feeds"] > 0
    drivers = proposal["wiring"] if mine else proposal["neighbour_wiring"]
    yield from every_bar_once(proposal, drivers, asked["cavities"])
    yield from ordered(proposal, drivers, mine, asked["fixtures"])
    taken_w = 0.0
    for driver in drivers:
        facet = catalogue[driver["item"]]
        yield from outputs_of(driver, facet, catalogue)
        for source in sources_of(driver, facet):
            yield from joined_well(source, catalogue)
            yield from currents(source, driver["setting_ma"], facet, catalogue)
        yield from power(driver, facet, catalogue)
        yield from supplied(facet, supply_v)
        own = [bar for output in driver["outputs"] for bar in output["bars"] if (bar["body"] == "here") == mine]
        taken_w += (
            sum(bar["ma"] * catalogue[bar["item"]]["forward_v"] / 1000 for bar in own) * 100 / facet["efficiency_pct"]
        )
    if abs(proposal["watts"] - taken_w * asked["fixtures"]) > NEAR * max(1, asked["fixtures"]) * 50:
        yield "watts", f"told {proposal['watts']}, taken {taken_w * asked['fixtures']}"


def every_bar_once(proposal: Json, drivers: Sequence[Json], cavities: int) -> Iterator[Found]:
    """Each bar of each body that is fed hangs on one output, once."""
    bodies = ("here", "neighbour") if proposal["feeds"] != 1 else ("here",)
    places = Counter(
        (body, row, cavity, place, item)
        for body in bodies
        for row in proposal["rows"]
        for cavity in range(1, cavities + 1)
        for place, item in enumerate(proposal["fill_items"], 1)
    )
    bars = [bar for driver in drivers for output in driver["outputs"] for bar in output["bars"]]
    wired = Counter((bar["body"], bar["row"], bar["cavity"], bar["place"], bar["item"]) for bar in bars)
    if wired != places:
        yield "bars", f"wired {wired}, lying there {places}"


def ordered(proposal: Json, drivers: Sequence[Json], mine: bool, fixtures: int) -> Iterator[Found]:
    """What is bought is what is wired: the drivers, and the bars of the body itself."""
    wanted = Counter(driver["item"] for driver in drivers if mine)
    wanted += Counter(
        bar["item"]
        for driver in drivers
        for output in driver["outputs"]
        for bar in output["bars"]
        if (bar["body"] == "here") == mine
    )
    bought = {part["item"]: part["count"] for part in proposal["parts"]}
    if bought != {item: count * fixtures for item, count in wanted.items()}:
        yield "order", f"bought {bought}, wired {wanted} in each of {fixtures}"


def outputs_of(driver: Json, facet: Json, catalogue: Mapping[str, Json]) -> Iterator[Found]:
    """The driver has the outputs, and the catalogue says that one takes so many bars joined so."""
    used = [output["output"] for output in driver["outputs"]]
    there = list(range(1, facet["outputs"] + 1))
    if sorted(used + driver["spare_outputs"]) != there or len(set(used)) != len(used):
        yield "outputs", f"{used} used and {driver['spare_outputs']} spare of {there}"
    if driver["setting_ma"] not in facet["settings_ma"]:
        yield "setting", f"{driver['setting_ma']} of {facet['settings_ma']}"
    for output in driver["outputs"]:
        several = len(output["bars"])
        if several == 1:
            continue
        said, most = facet.get("bars_joined"), facet.get("bars_per_output")
        if said not in ("in-series", "in-parallel") or most is None:
            yield "silence", f"{several} bars on an output of a catalogue that says {said}, {most}"
        elif several > most or output["joined"] != said:
            yield "outputs", f"{several} bars {output['joined']} on an output that takes {most} {said}"


def sources_of(driver: Json, facet: Json) -> list[list[list[Json]]]:
    """Current sources of a driver, each with its paths, each with its bars in series."""
    of_outputs = [
        [output["bars"]] if facet.get("bars_joined") == "in-series" else [[bar] for bar in output["bars"]]
        for output in driver["outputs"]
    ]
    if facet["current"] == "for-each-output":
        return of_outputs
    return [[path for paths in of_outputs for path in paths]]


def volts(path: Sequence[Json], catalogue: Mapping[str, Json]) -> float:
    """Voltage of bars in series [V]."""
    return float(sum(catalogue[bar["item"]]["forward_v"] for bar in path))


def joined_well(source: Sequence[Sequence[Json]], catalogue: Mapping[str, Json]) -> Iterator[Found]:
    """Paths in parallel need one voltage, within what the catalogue allows for the touchiest of them."""
    all_volts = [volts(path, catalogue) for path in source]
    apart = max(all_volts) - min(all_volts)
    if len({tuple(sorted(bar["item"] for bar in path)) for path in source}) == 1:
        return
    may = [catalogue[bar["item"]].get("volts_apart") for path in source for bar in path]
    if None in may:
        yield "silence", f"unlike paths {all_volts} V in parallel, and nobody says how far apart they may be"
    elif apart > min(may) + 1e-9:
        yield "unequal", f"{all_volts} V in parallel, {min(may)} V may be"


def currents(
    source: Sequence[Sequence[Json]], setting_ma: int, facet: Json, catalogue: Mapping[str, Json]
) -> Iterator[Found]:
    """Each bar gets its share, which is what is told and no more than it bears; each path lies in the voltage window."""
    strings = [min(catalogue[bar["item"]]["rated_ma"] for bar in path) for path in source]
    for path, count in zip(source, strings, strict=True):
        share = setting_ma * count / sum(strings)
        at = volts(path, catalogue)
        if not facet["out_v_min"] - 1e-9 <= at <= facet["out_v_max"] + 1e-9:
            yield "window", f"{at} V outside {facet['out_v_min']} to {facet['out_v_max']} V"
        for bar in path:
            if share > catalogue[bar["item"]]["most_ma"] + 1e-9:
                yield "overcurrent", f"{share} mA through a bar that bears {catalogue[bar['item']]['most_ma']}"
            if abs(share - bar["ma"]) > NEAR:
                yield "share", f"told {bar['ma']} mA, gets {share}"


def power(driver: Json, facet: Json, catalogue: Mapping[str, Json]) -> Iterator[Found]:
    """What its bars take lies between its least and its rated output, and is what is told."""
    taken = sum(
        bar["ma"] * catalogue[bar["item"]]["forward_v"] / 1000 for output in driver["outputs"] for bar in output["bars"]
    )
    if taken > facet["watts"] + NEAR:
        yield "overload", f"{taken} W of {facet['watts']} W"
    if taken < facet["least_watts"] - NEAR:
        yield "least", f"{taken} W, at least {facet['least_watts']} W"
    if (
        abs(taken - driver["bars_w"]) > NEAR * 5
        or abs(taken * 100 / facet["efficiency_pct"] - driver["mains_w"]) > NEAR * 5
    ):
        yield "watts", f"told {driver['bars_w']} and {driver['mains_w']} W, taken {taken} W"


def supplied(facet: Json, supply_v: str) -> Iterator[Found]:
    """The supply is one that the driver takes, its output may be touched."""
    if supply_v == "dc":
        if not facet.get("dc"):
            yield "supply", "d.c. on a driver that is not made for it"
    elif not facet["volts_min"] <= int(supply_v) <= facet["volts_max"]:
        yield "supply", f"{supply_v} V on {facet['volts_min']} to {facet['volts_max']} V"
    if facet["output_class"] != "class-2-selv":
        yield "class", facet["output_class"]


def pair_violations(feeding: Json, fed: Json) -> Iterator[Found]:
    """Two bodies on one ballast are ready together or not at all, with the same bars on the same driver."""
    if (feeding["state"] == "ready") != (fed["state"] == "ready"):
        yield "pair", f"one is {feeding['state']}, the other {fed['state']}"
    if feeding["state"] == fed["state"] == "ready":
        one, other = feeding["proposal"], fed["proposal"]
        if (one["rows"], one["fill_items"], one["wiring"]) != (
            other["rows"],
            other["fill_items"],
            other["neighbour_wiring"],
        ):
            yield "pair", f"{one['arrangement']} and {other['arrangement']}"
