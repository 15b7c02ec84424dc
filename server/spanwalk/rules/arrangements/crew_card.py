"""What a crew needs to carry out one conversion, with no signal and nothing left to judge. No money in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from spanwalk.rules.arrangements.body import Record
from spanwalk.rules.arrangements.emergency_steps import cautions_at, checks_at, with_emergency
from spanwalk.rules.survey import facet

Json = Any
CHECKS = ["leads removed or capped", "sockets proved dead", "earth checked", "label on"]
"""Ticks without which a fixture is not done; the choices of `installation.checks` in the spec."""
PACK = "emergency pack"


def crew_card(plan: Mapping[str, Json], group: Record, kind: Record, items: Mapping[str, Record]) -> dict[str, Json]:
    """The frozen figures of a conversion.

    Parameters
    ----------
    plan : mapping
        A ready plan of `plan_group`.
    group, kind : view record
        The group and its kind as they are now.
    items : mapping
        Catalogue items by id.

    Returns
    -------
    dict
        ``remove`` (lamps, ballasts, what they may hold), ``cavity_ticks``, ``rows`` (to scale, each with its bars
        in order, the gap at each end and whether it stays dark; lengths in ticks of 1/320 mm), ``fit`` (the
        verdict on one cavity with its terms), ``driver``
        (name, code, number, setting in mA, outputs used) or None where the neighbour feeds the bars,
        ``supply`` (volts, panel, circuit), ``emergency`` (see `telling.emergency_told`), ``accessories``, ``cautions``
        (codes), ``steps`` (codes and facts, in order; with ``positions`` where they are for some fixtures only), ``checks``
        (ticks that block 'done'), ``checks_at`` and ``cautions_at`` (what is for some fixtures only), and, where there are any, ``site_values``: the figures
        set for the site on which the choice rests (codes and facts).
    """
    proposal = plan["proposal"]
    lamps, supply = facet(kind, "lamps"), facet(group, "supply")
    emergency = proposal["emergency"] or {"duty": "none", "positions": []}
    cavities = int(lamps.get("lamps_end_to_end", 1))
    bars = [_bar(items[each]) for each in proposal["fill_items"]]
    rows = [_row(row, bars, cavities, proposal) for row in range(1, int(lamps["rows"]) + 1)]
    driver = _driver(proposal, items)
    card = {
        "arrangement": proposal["arrangement"],
        "kind": proposal["kind"],
        "remove": _remove(plan, kind),
        "cavity_ticks": proposal["cavity_ticks"],
        "rows": rows,
        "bars_each": proposal["bars_each"],
        "fit": proposal["fit"],
        "driver": driver,
        "fed_from_neighbour": proposal["feeds"] == 0,
        "feeds_neighbour": proposal["feeds"] > 1,
        "supply": {name: supply[name] for name in ("volts", "panel", "circuit", "switching") if name in supply},
        "emergency": dict(emergency),
        "accessories": _accessories(proposal, items),
        "cautions": list(plan["cautions"]),
        "cautions_at": cautions_at(plan["cautions"], emergency, str(supply.get("volts", ""))),
        "checks": list(CHECKS),
        "checks_at": checks_at(emergency),
    }
    own = {"site_values": list(plan["site_values"])} if plan["site_values"] else {}
    return card | own | {"steps": steps(card)}


def _bar(item: Record) -> dict[str, Json]:
    identity, bar = facet(item, "identity"), facet(item, "bar")
    return {
        "name": identity["code"],
        "title": identity.get("name", ""),
        "length_ticks": bar["length_ticks"],
        "lit_ticks": bar["lit_ticks"],
    }


def _row(row: int, bars: list[dict[str, Json]], cavities: int, proposal: Mapping[str, Json]) -> dict[str, Json]:
    dark = row not in proposal["rows"]
    return {
        "row": row,
        "cavities": cavities,
        "bars": [] if dark else [{"name": bar["name"], "length_ticks": bar["length_ticks"], "lit_ticks": bar["lit_ticks"]} for bar in bars],
        "gap_each_end_ticks": None if dark else proposal["gap_each_end_ticks"],
        "dark": dark,
    }


def _driver(proposal: Mapping[str, Json], items: Mapping[str, Record]) -> dict[str, Json] | None:
    if proposal["feeds"] == 0:
        return None
    identity = facet(items[proposal["driver_item"]], "identity")
    return {
        "name": identity["code"],
        "title": identity.get("name", ""),
        "number": proposal["drivers_each"],
        "setting_ma": proposal["setting_ma"],
        "bars_on_each": proposal["bars_on_one"],
    }


def _remove(plan: Mapping[str, Json], kind: Record) -> dict[str, Json]:
    """What comes out of one fixture."""
    waste, fixtures = plan["waste"], plan["fixtures"]
    return {
        "lamps": waste["lamps"] // fixtures,
        "lamp": waste["lamp"],
        "ballasts": waste["ballasts"] // fixtures,
        "ballast": facet(kind, "ballast").get("ballast", "not seen"),
        "pcb": waste["suspicion"],
    }


def _accessories(proposal: Mapping[str, Json], items: Mapping[str, Record]) -> list[dict[str, Json]]:
    found = []
    for part in proposal["parts"]:
        item = items[part["item"]]
        if item["facets"].get("accessory"):
            purpose = facet(item, "accessory")["purpose"]
            only = {"positions": list(proposal["emergency"]["positions"])} if purpose == PACK else {}
            found.append({"name": part["code"], "purpose": purpose, "in_the_group": part["count"]} | only)
    return found


def steps(card: Mapping[str, Json]) -> list[dict[str, Json]]:
    """What to do, in order: codes of sentences and their facts. Cautions stand beside them by the same names.

    >>> card = {"remove": {"lamps": 2, "lamp": "T8 4 ft", "ballasts": 0, "ballast": "none", "pcb": "not suspect"},
    ...         "rows": [{"row": 1, "dark": False, "bars": [{"name": "B"}], "gap_each_end_ticks": 640}],
    ...         "driver": None, "fed_from_neighbour": True, "feeds_neighbour": False, "supply": {"volts": "277"},
    ...         "emergency": {"duty": "none", "positions": []}, "accessories": []}
    >>> [step["code"].removeprefix("plan.step.") for step in steps(card)]
    ['isolate', 'prove-dead', 'take-lamps', 'cap-leads', 'lay-bars', 'connect-neighbour', 'check-earth', 'label', 'restore']
    """
    remove, supply, driver = card["remove"], card["supply"], card["driver"]
    found = [_step("isolate", **supply), _step("prove-dead")]
    found.append(_step("take-lamps", lamps=remove["lamps"], lamp=remove["lamp"]))
    if remove["ballasts"]:
        found.append(_step("take-ballast", ballasts=remove["ballasts"], ballast=remove["ballast"], pcb=remove["pcb"]))
    found.append(_step("cap-leads"))
    if driver is not None:
        found.append(_step("fit-driver", driver=driver["name"], number=driver["number"], setting_ma=driver["setting_ma"]))
    for row in card["rows"]:
        if not row["dark"]:
            names = " + ".join(bar["name"] for bar in row["bars"])
            found.append(_step("lay-bars", row=row["row"], bars=names, gap_each_end_ticks=row["gap_each_end_ticks"]))
    empty = [row["row"] for row in card["rows"] if row["dark"]]
    if empty:
        found.append(_step("leave-empty", rows=", ".join(map(str, empty))))
    found += [_step("fit-accessory", name=each["name"], purpose=each["purpose"]) for each in card["accessories"] if each["purpose"] != PACK]
    if card["feeds_neighbour"]:
        found.append(_step("feed-neighbour"))
    if card["fed_from_neighbour"]:
        found.append(_step("connect-neighbour"))
    return with_emergency([*found, _step("check-earth"), _step("label"), _step("restore")], card["emergency"])


def _step(name: str, /, **facts: Json) -> dict[str, Json]:
    return {"code": f"plan.step.{name}", "facts": facts}
