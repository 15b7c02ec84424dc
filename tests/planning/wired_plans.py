"""Crew cards of some body, with the wiring laid out as an arrangement carries it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tests.planning import some_body
from tests.planning.some_body import BARS_AND_DRIVER, GROUP, KIND, over, record

from spanwalk.rules.arrangements.card.crew_card import crew_card
from spanwalk.words import say

Json = Any
PARTNER = {"group": "other", "room": "102 Store", "mark": "K7"}


def bar(row: int = 1, cavity: int = 1, place: int = 1, body: str = "here", code: str = "BAR") -> dict[str, Json]:
    """A bar on an output, as an arrangement's wiring names it."""
    return {"body": body, "row": row, "cavity": cavity, "place": place, "bar": code, "item": code.lower(), "ma": 350}


def output(number: int, *bars: Mapping[str, Json], joined: str = "alone") -> dict[str, Json]:
    return {"output": number, "joined": joined, "bars": list(bars)}


def driver(
    *outputs: Mapping[str, Json], number: int = 1, spare: Sequence[int] = (), set_by: str = "dip-switches"
) -> dict[str, Json]:
    return {
        "driver": "DRIVER", "item": "driver", "number": number, "setting_ma": 700, "set_by": set_by,
        "outputs": list(outputs), "spare_outputs": list(spare), "bars_w": 25.2, "mains_w": 28.6,
    }  # fmt: skip


ONE_DRIVER = (driver(output(1, bar(1)), output(2, bar(2))),)


def card(
    wiring: Sequence[Mapping[str, Json]] = ONE_DRIVER,
    proposal: Mapping[str, Json] | None = None,
    catalogue_driver: Mapping[str, Json] | None = None,
    **changes: Json,
) -> dict[str, Json]:
    """The card of some body: what is proposed stays as without `changes`, so that one thing is looked at alone.

    `proposal` lays values over the plan's own, `catalogue_driver` over the driver's.
    """
    items = [each if each["id"] != "driver" else over_item(each, catalogue_driver) for each in BARS_AND_DRIVER]
    plan = some_body.plan(**changes)
    proposed = {**some_body.plan()["proposal"], "wiring": list(wiring), **(proposal or {})}
    if proposed["feeds"] != 1:
        plan["partner"] = PARTNER
    plan["proposal"] = proposed
    group = record("group", "group", **over(GROUP, changes.get("group")))
    kind = record("kind", "kind", **over(KIND, changes.get("kind")))
    return crew_card(plan, group, kind, {each["id"]: each for each in items})


def over_item(item: Mapping[str, Json], changes: Mapping[str, Json] | None) -> dict[str, Json]:
    return {**item, "facets": over(item["facets"], {"driver": dict(changes or {})})}


def sentences(card: Mapping[str, Json]) -> list[str]:
    """Every step with its lines, as they are read."""
    return [
        " ".join(say(each["code"], each["facts"]) for each in (step, *step.get("lines", ()))) for step in card["steps"]
    ]


def names(card: Mapping[str, Json]) -> list[str]:
    return [step["code"].removeprefix("plan.step.") for step in card["steps"]]


def step(card: Mapping[str, Json], name: str) -> str:
    """The sentences of one step; of all of that name where there are several."""
    found = [said for known, said in zip(names(card), sentences(card), strict=True) if known == name]
    assert found, f"no step {name} in {names(card)}"
    return " ".join(found)


def cautions(card: Mapping[str, Json], name: str) -> list[str]:
    """Names of the cautions at a step."""
    return [
        code.removeprefix("plan.caution.")
        for step in card["steps"]
        if step["code"] == f"plan.step.{name}"
        for code in step.get("cautions", ())
    ]
