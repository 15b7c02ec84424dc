"""`spanwalk best-order`: the best order for a whole site, printed, and taken if that is said; `spanwalk what-if`: a scenario."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from flask import Flask

    from spanwalk.services.scenarios.asked import ScenarioAsked
    from spanwalk.services.site_order.asked import OrderAsked
    from spanwalk.services.site_order.ordering import OrderAnswer

Commands = Callable[[str, object], argparse.ArgumentParser]
"""Adds a command by its name and what runs it."""


WHAT_IF: dict[str, type] = {
    "tariff": float,
    "escalation": float,
    "discount": float,
    "labour": float,
    "hours": float,
    "keep-light": float,
    "policy": str,
    "budget": float,
}
FIELD_OF = {
    "tariff": "tariff_per_kwh",
    "escalation": "escalation_pct",
    "discount": "discount_pct",
    "labour": "labour_per_h",
    "hours": "hours_pct",
    "keep-light": "keep_light_pct",
    "policy": "light_policy",
    "budget": "budget",
}
FIGURES = {
    "cost": "cost",
    "rebate": "rebate",
    "npv": "npv",
    "simple_payback_years": "payback",
    "kwh_saved": "kwh",
    "items": "items",
    "days": "days",
    "light_pct": "light",
    "ready": "ready",
    "not_passing": "not_passing",
}
"""Figure of a scenario -> its words."""


def add_planning(command: Commands, opened: Callable[[argparse.Namespace], Flask]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    command : callable
        Adds one.
    opened : callable
        Opens the installation that the arguments name.
    """
    best = command("best-order", lambda told: run_best_order(opened(told), told))
    best.add_argument("site")
    best.add_argument("--each-item", type=float, default=0.0)
    best.add_argument("--budget", type=float)
    best.add_argument("--least-light", type=float, metavar="PCT")
    best.add_argument("--same-look", action="store_true")
    best.add_argument("--one-colour", action="store_true")
    best.add_argument("--no-dark-columns", action="store_true")
    best.add_argument(
        "--decide-anew",
        action="store_true",
    )
    best.add_argument("--seconds", type=int, default=60)
    best.add_argument("--take", metavar="PERSON")
    best.add_argument("--reason")
    scenario = command("what-if", lambda told: run_what_if(opened(told), told))
    scenario.add_argument("site")
    for name, kind in WHAT_IF.items():
        scenario.add_argument(f"--{name}", type=kind, dest=FIELD_OF[name])
    scenario.add_argument("--without", nargs="+", metavar="ITEM")


def run_best_order(app: Flask, told: argparse.Namespace) -> int:
    """Print what the best order changes, and take it if that is said; 1 where it cannot be."""
    from spanwalk.services.planning.figures import site_called
    from spanwalk.services.refusals import Refusal
    from spanwalk.services.site_order.ordering import begin, best_order
    from spanwalk.services.site_order.taking import decider_of, take
    from spanwalk.storage.database import reading, writing
    from spanwalk.terminal_words import say

    try:
        with app.app_context():
            with reading() as session:
                site = site_called(session, told.site)
                by = decider_of(session, site, told.take) if told.take else None
                begun = begin(session, site)
            answer = None
            for step in best_order(begun, _asked(told)):
                _say_step(step.get("step", ""), step.get("seconds"), step.get("saved"))
                answer = step.get("answer")
            if answer is None or not answer["found"]:
                print(say("site-order.not-found", {}))
                return 1
            _print(answer)
            if by is None:
                print(say("site-order.cli-not-taken", {}))
                return 0
            with writing() as session:
                number = take(session, site, answer, told.reason or say("site-order.reason-best", {}), by)
            print(say("site-order.cli-taken", {"number": number}))
    except Refusal as refused:
        print(f"spanwalk: {say(refused.code, refused.facts)}", file=sys.stderr)
        return 1
    return 0


def run_what_if(app: Flask, told: argparse.Namespace) -> int:
    """Print what a scenario comes to beside today; 1 where it cannot be told."""
    from marshmallow import ValidationError

    from spanwalk.messages.scenarios import ScenarioIn
    from spanwalk.rules.survey import facet
    from spanwalk.services.planning.figures import site_called
    from spanwalk.services.planning.plans import site_plan
    from spanwalk.services.refusals import Refusal
    from spanwalk.services.scenarios.told import scenario_of
    from spanwalk.storage.database import reading
    from spanwalk.words import say

    said = {name: value for name in FIELD_OF.values() if (value := getattr(told, name)) is not None}
    try:
        asked = ScenarioIn().load(said)
        with app.app_context(), reading() as session:
            site = site_called(session, told.site)
            survey = site_plan(session, site).survey
            by_code = {
                str(facet(each, "identity").get("code")): each["id"] for each in survey.of_type("catalogue_item")
            }
            unknown = [code for code in told.without or () if code not in by_code]
            if unknown:
                print(f"spanwalk: {say('scenarios.cli-no-item', {'value': unknown[0]})}", file=sys.stderr)
                return 1
            without = [by_code[code] for code in told.without or ()]
            answer = scenario_of(session, site, cast("ScenarioAsked", {**asked, "without": without}))
    except ValidationError as wrong:
        field, rights = next(iter(cast("dict[str, list[str]]", wrong.messages).items()))
        option = next(name for name, of in FIELD_OF.items() if of == field)
        facts = {"option": f"--{option}", "value": said[field], "right": ", ".join(map(str, rights))}
        print(f"spanwalk: {say('scenarios.cli-wrong', facts)}", file=sys.stderr)
        return 1
    except Refusal as refused:
        print(f"spanwalk: {say(refused.code, refused.facts)}", file=sys.stderr)
        return 1
    for name, word in FIGURES.items():
        today, then = answer["today"], answer["then"]
        figure = say(f"scenarios.{word}", {"currency": answer["currency"]})
        facts = {"figure": figure, "today": today[name], "then": then[name]}  # type: ignore[literal-required]
        print(say("scenarios.cli-figure", facts))
    print(say("scenarios.cli-changed", {"number": answer["changed"], "deferred": len(answer["decided"])}))
    return 0


def _asked(told: argparse.Namespace) -> OrderAsked:
    return {
        "each_item": told.each_item,
        "budget": told.budget,
        "least_light_pct": told.least_light,
        "same_look": told.same_look,
        "one_colour": told.one_colour,
        "no_dark_columns": told.no_dark_columns,
        "keep_decided": not told.decide_anew,
        "seconds": told.seconds,
    }


def _say_step(step: str, seconds: float | None, saved: float | None) -> None:
    """How far it is, on the error output, so that what is printed can be kept."""
    if seconds is not None and sys.stderr.isatty():
        print(f"\r{seconds:6.1f} s  {step:8} {'' if saved is None else f'{saved:.2f}'}", end="", file=sys.stderr)


def _print(answer: OrderAnswer) -> None:
    from spanwalk.terminal_words import say

    for name in ("today", "best"):
        sums = answer["today"] if name == "today" else answer["best"]
        facts = {each: sums[each] for each in ("cost", "items", "days", "lcc")}
        print(say("site-order.cli-today" if name == "today" else "site-order.cli-then", facts))
    code = "site-order.cli-proved" if answer["proved"] else "site-order.cli-saved"
    counted = "-counted" if answer["each_item"] else ""
    print(say(f"{code}{counted}", {"saved": answer["saved"], "gap": answer["gap"]}))
    if answer["fixed"]:
        whys = {"fitted": "fitted", "released": "released", "by_hand": "by-hand"}
        print(say("site-order.cli-fixed", {name: answer["fixed"].get(why, 0) for name, why in whys.items()}))
    for change in answer["changes"]:
        place = f"{change['room_name']} · {change['mark']} × {change['fixtures']}"
        then = change["best"] if change["best_state"] == "ready" else change["best_state"]
        print(say("site-order.cli-change", {"place": place, "today": change["today"], "after": then}))
