"""`spanwalk best-order`: the best order for a whole site, printed, and taken if that is said."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from spanwalk.services.site_order.asked import OrderAsked
    from spanwalk.services.site_order.ordering import OrderAnswer

Commands = Callable[[str, object, str], argparse.ArgumentParser]
"""Adds a command by name, what runs it and its words."""


def add_planning(command: Commands, opened: Callable[[argparse.Namespace], Flask]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    command : callable
        Adds one.
    opened : callable
        Opens the installation that the arguments name.
    """
    best = command(
        "best-order",
        lambda told: run_best_order(opened(told), told),
        "choose for all ready groups of a site together, so that the job costs least",
    )
    best.add_argument("site", help="its id or name")
    best.add_argument("--each-item", type=float, default=0.0, help="what each different item costs beside its price")
    best.add_argument("--budget", type=float, help="most that the job may cost; groups may then be left for later")
    best.add_argument("--least-light", type=float, metavar="PCT", help="no group gets less of today's light [%%]")
    best.add_argument("--same-look", action="store_true", help="the same look in one room")
    best.add_argument("--one-colour", action="store_true", help="one colour temperature on the whole site")
    best.add_argument("--no-dark-columns", action="store_true", help="no empty row under a louvre")
    best.add_argument("--decide-anew", action="store_true", help="also where a person decided for one group")
    best.add_argument("--seconds", type=int, default=60, help="how long to look (60)")
    best.add_argument("--take", metavar="PERSON", help="decide so, in the name of this manager or owner of the site")
    best.add_argument("--reason", help="why; stands with each decision")


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
                found = begin(session, site)
            answer = None
            for step in best_order(found, _asked(told)):
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
    print(say(code, {"saved": answer["saved"], "gap": answer["gap"]}))
    for change in answer["changes"]:
        place = f"{change['room_name']} · {change['mark']} × {change['fixtures']}"
        then = change["best"] if change["best_state"] == "ready" else change["best_state"]
        print(say("site-order.cli-change", {"place": place, "today": change["today"], "after": then}))
