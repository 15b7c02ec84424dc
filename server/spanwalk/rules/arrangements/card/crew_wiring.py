"""How each driver of a conversion is mounted, set, supplied and joined to its bars, as steps of the crew's card.

Read from the arrangement's wiring alone: nothing is worked out here that the plan did not check. That bars lie with
their lead ends towards the driver's output leads, and that a control pair not in use is capped apart, is common
practice, no source; that 0–10 V leads joined to one another dim to the least is IEC 60929, annex E (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from spanwalk.rules.arrangements.card.card_types import WiredBar, WiredDriver, WiredOutput
from spanwalk.rules.arrangements.card.crew_step import Line, Step, line, step
from spanwalk.rules.arrangements.plan_types import BarTold, DriverTold, EmergencyTold, OutputTold, PackTold
from spanwalk.rules.gear.driver_in_body import DIMS, NOT_SEEN, WITHOUT_A_PAIR
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.survey import facet

NOT_SAID = "not-said"
TWO_LINES_VOLTS = ("208", "240", "400", "480")
"""Supplies that may be two lines without a neutral: in North America, and 400 V between two lines of Europe (common practice)."""
SET_BY = {
    "dip-switches": "set-dip",
    "resistor-plug": "set-plug",
    "programming-tool": "set-tool",
    "output-chosen": "set-output",
    "fixed": "set-fixed",
}
WITHOUT_MAGNETS = ("bracket", "clips", "screws")
"""Other ways to hold an item, the one that drills nothing first."""


def frozen_wiring(
    wiring: Iterable[DriverTold], items: Mapping[str, CatalogueItemView], magnet_holds: str
) -> list[WiredDriver]:
    """The arrangement's wiring with what the catalogue says of each driver; without watts.

    Parameters
    ----------
    wiring : iterable of mapping
        ``wiring`` of a proposal.
    items : mapping
        Catalogue items by id.
    magnet_holds : str
        What the survey says of magnets in this body.
    """
    return [_frozen_driver(each, facet(items.get(each["item"]), "driver"), magnet_holds) for each in wiring]


def _frozen_driver(wired: DriverTold, driver: Facet, magnet_holds: str) -> WiredDriver:
    return {
        "driver": wired["driver"],
        "number": wired["number"],
        "setting_ma": wired["setting_ma"],
        "set_by": wired.get("set_by", NOT_SAID),
        "hold": hold(driver.get("fixing", ()), magnet_holds),
        "lead_ends": driver.get("lead_ends", NOT_SAID),
        "lead_gap_ticks": driver.get("lead_gap_ticks"),
        "length_ticks": driver.get("length_ticks"),
        "outputs": [_frozen_output(each) for each in wired["outputs"]],
        "spare_outputs": list(wired["spare_outputs"]),
    }


def _frozen_output(output: OutputTold) -> WiredOutput:
    bars: list[WiredBar] = [
        {"body": each["body"], "row": each["row"], "cavity": each["cavity"], "place": each["place"], "bar": each["bar"]}
        for each in output["bars"]
    ]
    return {"output": output["output"], "joined": output["joined"], "bars": bars}


def seen_from_neighbour(wiring: Iterable[DriverTold]) -> list[DriverTold]:
    """The wiring of a pair as the other body sees it: what is here for one is the neighbour's for the other."""

    def turned(bar: BarTold) -> BarTold:
        return {**bar, "body": "here" if bar["body"] == "neighbour" else "neighbour"}

    return [
        {
            **wired,
            "outputs": [{**output, "bars": [turned(bar) for bar in output["bars"]]} for output in wired["outputs"]],
        }
        for wired in wiring
    ]


def hold(fixing: Iterable[str], magnet_holds: str) -> str:
    """By what an item is held in a body: what its catalogue entry offers and the survey allows.

    Parameters
    ----------
    fixing : iterable of str
        Ways of the catalogue item.
    magnet_holds : str
        'yes', 'no' or 'not-seen'.

    >>> hold(["magnets", "screws"], "yes"), hold(["magnets", "screws"], "no"), hold(["magnets"], "not-seen"), hold([], "yes")
    ('magnets', 'screws', 'magnets, to be tried', 'not-said')
    """
    ways = set(fixing)
    if "magnets" in ways and magnet_holds == "yes":
        return "magnets"
    other = next((each for each in WITHOUT_MAGNETS if each in ways), None)
    return other or ("magnets, to be tried" if ways else NOT_SAID)


def hold_line(way: str) -> Line:
    """How an item is held, as a line."""
    if way == "magnets, to be tried":
        return line("hold-magnets-if")
    return line("hold-by-sheet") if way == NOT_SAID else line(f"hold-{way}")


def mount_steps(wiring: Sequence[WiredDriver], volts: str) -> list[Step]:
    """Each driver mounted and set, then each joined to the supply.

    Parameters
    ----------
    wiring : sequence of WiredDriver
        Drivers of the body.
    volts : str
        Supply as the survey says it.
    """
    return [*(_mount(each) for each in wiring), *(_supply(each, volts) for each in wiring)]


def _mount(wired: WiredDriver) -> Step:
    lines = [_setting(wired), hold_line(wired["hold"]), *_lead_ends(wired)]
    return step("mount-driver", *lines, driver=wired["driver"], number=wired["number"])


def _setting(wired: WiredDriver) -> Line:
    return line(SET_BY.get(wired["set_by"], "set-by-sheet"), setting_ma=wired["setting_ma"])


def _lead_ends(wired: WiredDriver) -> list[Line]:
    if wired["lead_ends"] == NOT_SAID:
        return []
    return [
        line(
            "leads-both-ends" if wired["lead_ends"] == "both-ends" else "leads-one-end",
            lead_gap_ticks=wired["lead_gap_ticks"],
        )
    ]


def _supply(wired: WiredDriver, volts: str) -> Step:
    facts = {"driver": wired["driver"], "number": wired["number"]}
    if volts == "dc":
        return step("connect-direct-current", **facts)
    return step("connect-supply", *([line("two-lines", volts=volts)] if volts in TWO_LINES_VOLTS else []), **facts)


def join_steps(wiring: Sequence[WiredDriver], cavities: int, emergency: EmergencyTold) -> list[Step]:
    """The outputs of each driver joined to their bars, spare ones capped.

    Parameters
    ----------
    wiring : sequence of WiredDriver
        Drivers of the body.
    cavities : int
        Cavities in a row [count].
    emergency : mapping
        `emergency` of the card: at its positions one bar hangs on the pack, not on its output.
    """
    return [_join(each, cavities, emergency) for each in wiring]


def _join(wired: WiredDriver, cavities: int, emergency: EmergencyTold) -> Step:
    lines = [*output_lines(wired["outputs"], cavities), *_through_pack(wired, emergency)]
    if any(bar["body"] == "neighbour" for output in wired["outputs"] for bar in output["bars"]):
        lines.append(line("to-neighbour"))
    if wired["spare_outputs"]:
        lines.append(line("spare", outputs=wired["spare_outputs"]))
    return step("connect-bars", *lines, driver=wired["driver"], number=wired["number"])


def _through_pack(wired: WiredDriver, emergency: EmergencyTold) -> list[Line]:
    pack = emergency.get("pack")
    if not pack or not any(_is_on_pack(bar, pack) for output in wired["outputs"] for bar in output["bars"]):
        return []
    return [
        {
            **line("through-pack", bar=pack["bar"], row=pack["row"], pack=pack["pack"]),
            "positions": list(emergency["positions"]),
        }
    ]


def _is_on_pack(bar: WiredBar, pack: PackTold) -> bool:
    """Whether it is the one bar that the pack lights: in its row and place, the first cavity of this body."""
    return (bar["body"], bar["row"], bar["cavity"], bar["place"]) == ("here", pack["row"], 1, pack["place"])


def output_lines(outputs: Iterable[WiredOutput], cavities: int) -> list[Line]:
    """Each output with its bars, in the order in which they are joined, and how.

    Parameters
    ----------
    outputs : iterable of WiredOutput
        Outputs in use.
    cavities : int
        Cavities in a row [count].
    """
    used = list(outputs)
    several = {_cavity(bar) for output in used for bar in output["bars"] if bar["place"] > 1}
    return [
        line(
            f"output-{output['joined']}",
            output=output["output"],
            bars=[_where(bar, cavities, _cavity(bar) in several) for bar in output["bars"]],
        )
        for output in used
    ]


def _cavity(bar: WiredBar) -> tuple[str, int, int]:
    return bar["body"], bar["row"], bar["cavity"]


def _where(bar: WiredBar, cavities: int, several: bool) -> Line:
    """A bar by its place: no more of row, cavity and place than it takes to find it."""
    name = "bar-at-row"
    if cavities > 1:
        name = "bar-at-place-in-cavity" if several else "bar-at-cavity"
    elif several:
        name = "bar-at-place"
    here = line(name, bar=bar["bar"], row=bar["row"], cavity=bar["cavity"], place=bar["place"])
    return here if bar["body"] == "here" else line("bar-of-neighbour", bar=here)


SENSED = ("daylight", "occupancy-and-daylight")
"""Controls whose signal comes from a sensor of their own."""


def control_step(wanted: str, pair: str, drives: bool, signal: str = "0-10-v") -> Step | None:
    """What becomes of the control leads; None where neither driver nor body has any.

    Parameters
    ----------
    wanted : str
        Control wanted: 'none', 'occupancy', 'daylight', 'dimming'.
    pair : str
        Whether the survey saw a control pair in the body: 'yes', 'no' or 'not-seen'.
    drives : bool
        Whether the driver has control leads.
    signal : str
        What the driver takes: one of `driver.SIGNALS`.

    >>> control_step("none", "no", False) is None
    True
    >>> [each["code"] for each in control_step("none", "yes", True)["lines"]]
    ['plan.line.control-cap', 'plan.line.control-pair-cap']
    """
    if signal in WITHOUT_A_PAIR and wanted in DIMS:
        return step(f"control-{signal}", *([line("control-pair-cap")] if pair == "yes" else []))
    if not drives:
        return step("control", line("control-pair-cap")) if pair == "yes" else None
    if signal == "dali-2" and wanted in DIMS:
        return step("control-dali-2", line("control-bus" if pair == "yes" else "control-bus-if"))
    if wanted in SENSED:
        return step("control", line("control-sensor"))
    if wanted in DIMS:
        return step("control", line("control-join" if pair == "yes" else "control-join-if"))
    found = {"yes": [line("control-pair-cap")], NOT_SEEN: [line("control-pair-cap-if")]}
    return step("control", line("control-cap"), *found.get(pair, []))
