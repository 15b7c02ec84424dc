"""The wiring of a proposal in sentences: codes and facts for screen and text, made from its JSON alone."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.arrangements.plan_types import BarTold, DriverTold, Wired
from spanwalk.rules.said import Said


def wiring_sentences(proposal: Wired) -> list[Said]:
    """Each driver, its outputs with their bars, and what stays unused, in the order of the list.

    Parameters
    ----------
    proposal : mapping
        A candidate as `telling.in_short` tells it.

    Examples
    --------
    >>> bar = {"body": "here", "row": 1, "cavity": 1, "place": 1, "bar": "B", "item": "b", "ma": 350}
    >>> one = {"driver": "D", "item": "d", "number": 1, "setting_ma": 350, "set_by": "dip-switches", "current": "for-each-output",
    ...        "outputs": [{"output": 1, "joined": "alone", "bars": [bar]}], "spare_outputs": [2], "bars_w": 12.6, "mains_w": 14.3}
    >>> [each["code"].removeprefix("plan.wiring.") for each in wiring_sentences({"wired_by": "here", "wiring": [one]})]
    ['driver', 'output', 'spare']
    """
    fed = proposal["wired_by"] == "neighbour"
    drivers = proposal["neighbour_wiring"] if fed else proposal["wiring"]
    bars = [bar for driver in drivers for output in driver["outputs"] for bar in output["bars"]]
    where = (
        "-in-cavity"
        if any(bar["cavity"] > 1 for bar in bars)
        else "-in-place"
        if any(bar["place"] > 1 for bar in bars)
        else ""
    )
    found = [_said("by-neighbour")] if fed else []
    for driver in drivers:
        found += _driver(driver, where, "here" if fed else "neighbour")
    return found


def _driver(driver: DriverTold, where: str, other: str) -> Iterator[Said]:
    yield _said(
        "driver-set" if driver["set_by"] == "not-said" else "driver",
        number=driver["number"],
        driver=driver["driver"],
        setting_ma=driver["setting_ma"],
        set_by=driver["set_by"],
        bars_w=round(driver["bars_w"], 1),
        mains_w=round(driver["mains_w"], 1),
    )
    for output in driver["outputs"]:
        bars = [_bar(bar, where, other) for bar in output["bars"]]
        yield _said(
            "output" if len(bars) == 1 else "output-joined", output=output["output"], joined=output["joined"], bars=bars
        )
    if driver["spare_outputs"]:
        yield _said("spare", outputs=driver["spare_outputs"])


def _bar(bar: BarTold, where: str, other: str) -> Said:
    there = "-there" if bar["body"] == other else ""
    at = {"row": bar["row"], "cavity": bar["cavity"], "place": bar["place"]}
    return _said(f"bar{where}{there}", bar=bar["bar"], **at, ma=round(bar["ma"], 1))


def _said(name: str, /, **facts: object) -> Said:
    return {"code": f"plan.wiring.{name}", "facts": facts}
