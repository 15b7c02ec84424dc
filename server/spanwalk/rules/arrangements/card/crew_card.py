"""What a crew needs to carry out one conversion, with no signal and nothing left to judge. No money in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import cast

from spanwalk.rules.arrangements.card import cautions
from spanwalk.rules.arrangements.card.card_types import (
    Accessory,
    CardBar,
    CardDriver,
    CardFacts,
    CardRow,
    Control,
    CrewCard,
    Remove,
    Supply,
)
from spanwalk.rules.arrangements.card.crew_step import Step, line, step
from spanwalk.rules.arrangements.card.crew_wiring import (
    control_step,
    frozen_wiring,
    hold,
    hold_line,
    join_steps,
    mount_steps,
    output_lines,
    seen_from_neighbour,
)
from spanwalk.rules.arrangements.card.emergency_steps import cautions_at, checks_at, with_emergency
from spanwalk.rules.arrangements.plan_types import (
    DriverTold,
    EmergencyTold,
    PlanInShort,
    Proposal,
    proposal_of,
)
from spanwalk.rules.fit.not_converted import LED_TUBES
from spanwalk.rules.gear.driver_in_body import DIMS, IN_THE_SUPPLY, NOT_SEEN, WITH_LEADS
from spanwalk.rules.gear.emergency import DUTIES, SECOND_SOURCE
from spanwalk.rules.record_types import CatalogueItemView, GroupView, KindView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

SUPPLY = ("volts", "panel", "circuit", "switching")
CHECKS = ["leads-removed-or-capped", "sockets-proved-dead", "earth-checked", "label-on"]
"""Checks without which a fixture is not done; the choices of `installation.checks` in the spec."""
PACK = "emergency-pack"


def crew_card(plan: PlanInShort, group: GroupView, kind: KindView, items: Mapping[str, CatalogueItemView]) -> CrewCard:
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
        ``wiring`` (each driver with its outputs and the bars on them, see `crew_wiring.WiredDriver`),
        ``supply`` (volts, panel, circuit), ``control`` (wanted, pair in the body, leads of the driver), ``emergency`` (see
        `telling.emergency_told`), ``accessories``, ``cautions`` (codes), ``steps`` (in order, each with its lines and
        cautions; with ``positions`` where they are for some fixtures only), ``stops`` (what makes the work stop, codes
        and facts), ``checks`` (checks that block 'done'), ``checks_at`` and ``cautions_at`` (what is for some fixtures
        only), and, where there are any, ``partner``
        (group, room and mark of the body that shares the ballast) and ``site_values``: the figures
        set for the site on which the choice rests (codes and facts).
    """
    proposal = proposal_of(plan)
    emergency: EmergencyTold = proposal["emergency"] or {"duty": "none", "positions": []}
    lamps, supply, duty = facet(kind, "lamps"), facet(group, "supply"), facet(group, "duty")
    wired, magnet_holds = facet(kind, "wiring"), str(facet(kind, "housing").get("magnet_holds", NOT_SEEN))
    cavities = int(lamps.get("lamps_end_to_end", 1))
    bars = [items[each] for each in proposal["fill_items"]]
    driver = _driver(proposal, items)
    card: CardFacts = {
        "arrangement": proposal["arrangement"],
        "kind": proposal["kind"],
        "remove": _remove(plan, kind),
        "cavity_ticks": proposal["cavity_ticks"],
        "rows": [
            _row(row, [_bar(each) for each in bars], cavities, proposal) for row in range(1, int(lamps["rows"]) + 1)
        ],
        "bars_each": proposal["bars_each"],
        "bars_held": _held(bars, magnet_holds),
        "fit": proposal["fit"],
        "driver": driver,
        "wiring": frozen_wiring(_wiring(proposal), items, magnet_holds),
        "fed_from_neighbour": proposal["feeds"] == 0,
        "feeds_neighbour": proposal["feeds"] > 1,
        "feeds": wired.get("feeds", NOT_SEEN),
        "supply": cast("Supply", {name: cast("Facet", supply)[name] for name in SUPPLY if name in supply}),
        "control": _control(proposal, items, duty, wired),
        "emergency": emergency.copy(),
        "accessories": _accessories(proposal, items),
        "cautions": list(plan["cautions"]),
        "cautions_at": cautions_at(plan["cautions"], emergency, str(supply.get("volts", ""))),
        "checks": list(CHECKS),
        "checks_at": checks_at(emergency),
    }
    if partner := plan.get("partner"):
        card["partner"] = partner.copy()
    if plan["site_values"]:
        card["site_values"] = list(plan["site_values"])
    return {**card, "steps": steps(card), "stops": stops(card)}


def _bar(item: CatalogueItemView) -> CardBar:
    identity, bar = facet(item, "identity"), facet(item, "bar")
    return {
        "name": identity["code"],
        "length_ticks": bar["length_ticks"],
        "lit_ticks": bar["lit_ticks"],
    }


def _held(bars: Sequence[CatalogueItemView], magnet_holds: str) -> str:
    """By what the bars are held: a way that all of them have."""
    ways = [set(facet(each, "bar").get("fixing", ())) for each in bars]
    return hold(set.intersection(*ways) if ways else (), magnet_holds)


def _row(row: int, bars: list[CardBar], cavities: int, proposal: Proposal) -> CardRow:
    dark = row not in proposal["rows"]
    return {
        "row": row,
        "cavities": cavities,
        "bars": [] if dark else [bar.copy() for bar in bars],
        "gap_each_end_ticks": None if dark else proposal["gap_each_end_ticks"],
        "dark": dark,
    }


def _driver(proposal: Proposal, items: Mapping[str, CatalogueItemView]) -> CardDriver | None:
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


def _wiring(proposal: Proposal) -> Sequence[DriverTold]:
    """The drivers that feed this body's bars, told as it is seen from this body."""
    if proposal["feeds"] == 0:
        return seen_from_neighbour(proposal.get("neighbour_wiring", ()))
    return proposal.get("wiring", ())


def _control(proposal: Proposal, items: Mapping[str, CatalogueItemView], duty: Facet, wired: Facet) -> Control:
    """Control wanted, the pair in the body, whether the driver has leads for it, and by which kind of signal where it is not 0–10 V.

    A dimmer in the supply stays in it whether dimming is wanted or not, so its step and caution do too.
    """
    takes = facet(items[proposal["driver_item"]], "driver").get("dimming", "none") if proposal["feeds"] else "none"
    found: Control = {
        "wanted": duty.get("control_wanted", "none"),
        "pair": wired.get("control_pair", NOT_SEEN),
        "driver": takes in WITH_LEADS,
    }
    if takes not in ("none", "0-10-v"):
        found["signal"] = str(takes)
    if takes in IN_THE_SUPPLY and duty.get("dimming") == takes and found["wanted"] not in DIMS:
        found["wanted"] = "dimming"
    return found


def _remove(plan: PlanInShort, kind: KindView) -> Remove:
    """What comes out of one fixture."""
    waste, fixtures = plan["waste"], plan["fixtures"]
    found: Remove = {
        "lamps": waste["lamps"] // fixtures,
        "lamp": waste["lamp"],
        "ballasts": waste["ballasts"] // fixtures,
        "ballast": facet(kind, "ballast").get("ballast", "not-seen"),
        "pcb": waste["suspicion"],
    }
    lamps = facet(kind, "lamps")
    if (fitted := str(lamps.get("fitted", NOT_SEEN))) in LED_TUBES:
        found["fitted"] = fitted
    if waste["starters"]:
        found["starters"] = waste["starters"] // fixtures
    if "plan.caution.capacitor" in plan["cautions"]:
        found["capacitor"] = str(facet(kind, "ballast").get("capacitor", NOT_SEEN))
    return found


def _accessories(proposal: Proposal, items: Mapping[str, CatalogueItemView]) -> list[Accessory]:
    found: list[Accessory] = []
    for part in proposal["parts"]:
        item = items[part["item"]]
        if item["facets"].get("accessory"):
            purpose = facet(item, "accessory")["purpose"]
            accessory: Accessory = {"name": part["code"], "purpose": purpose, "in_the_group": part["count"]}
            if purpose == PACK:
                accessory["positions"] = list(cast("EmergencyTold", proposal["emergency"])["positions"])
            found.append(accessory)
    return found


def steps(card: CardFacts) -> list[Step]:
    """What to do, in the order of safe work, each step with the cautions that are read there.

    >>> card = {"remove": {"lamps": 2, "lamp": "T8 4 ft", "ballasts": 0, "ballast": "none", "pcb": "not suspect"},
    ...         "rows": [{"row": 1, "cavities": 1, "dark": False, "bars": [{"name": "B"}], "gap_each_end_ticks": 640}],
    ...         "driver": None, "wiring": [], "bars_held": "magnets", "fed_from_neighbour": True, "feeds_neighbour": False,
    ...         "feeds": "one", "supply": {"volts": "277"}, "control": {"wanted": "none", "pair": "no", "driver": False},
    ...         "emergency": {"duty": "none", "positions": []}, "accessories": [], "cautions": ["plan.caution.isolate"]}
    >>> [step["code"].removeprefix("plan.step.") for step in steps(card)]  # doctest: +NORMALIZE_WHITESPACE
    ['isolate', 'prove-dead', 'take-lamps', 'cap-leads', 'lay-bars', 'connect-neighbour', 'check-earth',
     'label-and-notice', 'close-and-restore', 'prove-sockets', 'look']
    """
    return _with_cautions(with_emergency([*_dead_steps(card), *_LIVE_STEPS], card["emergency"]), card["cautions"])


_LIVE_STEPS = (step("close-and-restore"), step("prove-sockets"), step("look"))
"""What is done with power on: the sockets are proved before anything is tried."""


def _dead_steps(card: CardFacts) -> list[Step]:
    """All that is done isolated, locked out and proved dead."""
    remove, supply, wiring = card["remove"], card["supply"], card["wiring"]
    found = [_isolate(card), step("prove-dead"), *_take_lamps(remove), *_take_capacitor(remove), *_take_feed(remove)]
    if remove["ballasts"]:
        also = [line("starters", starters=remove["starters"])] if remove.get("starters") else []
        facts = {"ballasts": remove["ballasts"], "ballast": remove["ballast"], "pcb": remove["pcb"]}
        found.append(step("take-ballast", *also, **facts))
    found.append(step("cap-leads"))
    if not card["fed_from_neighbour"]:
        found += mount_steps(wiring, str(supply.get("volts", NOT_SEEN)))
    found += _lay(card)
    empty = [row["row"] for row in card["rows"] if row["dark"]]
    if empty:
        found.append(step("leave-empty", rows=empty))
    cavities = card["rows"][0]["cavities"]
    if card["fed_from_neighbour"]:
        found.append(_connect_neighbour(card, cavities))
    else:
        found += join_steps(wiring, cavities, card["emergency"])
    control = control_step(
        wanted=card["control"]["wanted"],
        pair=card["control"]["pair"],
        drives=card["control"]["driver"],
        signal=card["control"].get("signal", "0-10-v"),
    )
    if control is not None:
        found.append(control)
    found += [
        step("fit-accessory", name=each["name"], purpose=each["purpose"])
        for each in card["accessories"]
        if each["purpose"] != PACK
    ]
    return [*found, step("check-earth"), step("label-and-notice")]


TAKE_CAPACITOR = {"seen": "take-capacitor", NOT_SEEN: "look-for-capacitor"}
"""The step for a capacitor that was seen, and for one that may be there."""
OF_LED_TUBES = {"led-tube-on-mains": "take-mains-leads", "led-tube-on-own-driver": "take-old-driver"}
"""What comes out besides LED tubes, by how they are fed; on the ballast nothing else does."""


def _take_lamps(remove: Remove) -> list[Step]:
    """Lamps out, or LED tubes."""
    facts = {"lamps": remove["lamps"], "lamp": remove["lamp"]}
    return [step("take-lamps" if remove.get("fitted") is None else "take-tubes", **facts)]


def _take_capacitor(remove: Remove) -> list[Step]:
    """A capacitor out before any lead or ballast is touched: it can hold a charge in what was proved dead."""
    return [step(TAKE_CAPACITOR[remove["capacitor"]])] if "capacitor" in remove else []


def _take_feed(remove: Remove) -> list[Step]:
    """What feeds the sockets of LED tubes."""
    fitted = remove.get("fitted")
    left_behind = not remove["ballasts"] and remove["ballast"] == NOT_SEEN
    lines = [line("look-for-ballast")] if left_behind else []
    return [step(OF_LED_TUBES[fitted], *lines)] if fitted in OF_LED_TUBES else []


def _isolate(card: CardFacts) -> Step:
    """The lock point, and what else comes into the body as far as the survey knows."""
    supply, partner = card["supply"], card.get("partner")
    lines = []
    if not (supply.get("panel") and supply.get("circuit")):
        lines.append(line("lock-point-not-seen"))
    if card["feeds"] == "one" and not card["fed_from_neighbour"]:
        lines.append(line("one-feed-and-source" if card["emergency"]["duty"] in SECOND_SOURCE else "one-feed"))
    if partner:
        lines.append(line("partner", room=partner["room"], mark=partner["mark"]))
    facts = {name: supply.get(name, NOT_SEEN) for name in ("panel", "circuit", "volts")}
    return step("isolate", *lines, **facts)


def _lay(card: CardFacts) -> list[Step]:
    """The bars row by row; rows that take the same bars are one step."""
    alike: dict[tuple[str, int | None], list[CardRow]] = {}
    for row in card["rows"]:
        if not row["dark"]:
            names = " + ".join(bar["name"] for bar in row["bars"])
            alike.setdefault((names, row["gap_each_end_ticks"]), []).append(row)
    return [_lay_rows(rows, names, gap, card) for (names, gap), rows in alike.items()]


def _lay_rows(rows: Sequence[CardRow], names: str, gap: int | None, card: CardFacts) -> Step:
    cavities = rows[0]["cavities"]
    lines = [line("each-cavity", cavities=cavities)] if cavities > 1 else []
    facts = {"row": [row["row"] for row in rows], "bars": names, "gap_each_end_ticks": gap}
    lead_end = line("lead-end-neighbour" if card["fed_from_neighbour"] else "lead-end")
    return step("lay-bars", *lines, hold_line(card["bars_held"]), lead_end, **facts)


def _connect_neighbour(card: CardFacts, cavities: int) -> Step:
    """The bars of a body without a driver: which output over there feeds which bar here."""
    outputs = [
        output
        for wired in card["wiring"]
        for output in wired["outputs"]
        if any(bar["body"] == "here" for bar in output["bars"])
    ]
    return step("connect-neighbour", *output_lines(outputs, cavities))


def _with_cautions(found: list[Step], codes: Sequence[str]) -> list[Step]:
    """Each caution at the first step that has its code."""
    placed = cautions.by_step(codes, [each["code"] for each in found])
    return [{**each, "cautions": here} if (here := placed.pop(each["code"], None)) else each for each in found]


def stops(card: CardFacts) -> list[Said]:
    """What makes a crew stop and say so: whatever the survey, and so the plan, did not know of.

    The same eight on each card, with what this one expects to be found (common practice, no source).
    """
    remove, volts = card["remove"], str(card["supply"].get("volts", NOT_SEEN))
    found = [
        _stop("lamps", lamps=remove["lamps"], lamp=remove["lamp"]),
        # An emergency fixture's own source is live with the circuit off, as the survey says.
        _stop("unnamed-feed" if card["emergency"]["duty"] in DUTIES else "second-feed"),
        _stop("no-earth"),
        _stop("volts-not-seen") if volts == NOT_SEEN else _stop("volts", volts=volts),
    ]
    return [*found, *map(_stop, ("sockets", "insulation", "leak", "broken-lamp"))]


def _stop(name: str, **facts: object) -> Said:
    return {"code": f"plan.stop.{name}", "facts": facts}
