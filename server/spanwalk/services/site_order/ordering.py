"""The best order for a site from beginning to end: plans, what may be chosen, the search, and what it would change."""

from __future__ import annotations

import time
from collections.abc import Generator, Iterator, Mapping
from typing import NamedTuple, TypedDict, cast

from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.plan_types import proposal_of
from spanwalk.rules.site_order.problem import LEFT, Choice
from spanwalk.rules.site_order.sums import is_kept, told_of
from spanwalk.rules.survey import mark_of, name_of_room
from spanwalk.services.planning.plans import SitePlan, site_plan
from spanwalk.services.site_order.asked import SECONDS, OrderAsked
from spanwalk.services.site_order.difference import AS_RECOMMENDED, DEFER, WITH_THIS, Decided, Difference, difference
from spanwalk.services.site_order.feasible import Gathered, gathering, refuse_without_money
from spanwalk.services.site_order.fixed import counted, fixed_groups
from spanwalk.services.site_order.running import searched

TOLD_EVERY = 25
"""After so many groups it is told how far the gathering has come."""


SEARCHED_SHARE = 0.5
"""Share of the time asked for that is searched for at least, however long the gathering took."""


class Step(TypedDict, total=False):
    """How far it has come.

    `step` is `gather` (with `done` groups `of` all), `first`, `search` or `ties` (with what is `saved` so far against today,
    the `gap` in money, number of `items`, `seconds`, and `decided` where there is something new to take), or `answer`.
    """

    step: str
    done: int
    of: int
    saved: float | None
    items: int | None
    gap: float | None
    proved: bool
    seconds: float
    decided: list[Decided]
    answer: OrderAnswer


class OrderAnswer(Difference):
    """The best order beside today's, with what keeps it from being better.

    `gap` is how much more a better one could save at most, None where not known; `stuck` names groups of which nothing keeps
    to the rules; `found` says whether anything does.
    """

    gap: float | None
    proved: bool
    seconds: float
    found: bool
    today_keeps: bool
    stuck: list[str]


class Begun(NamedTuple):
    """The plans that it starts from, and the groups that are left alone, each with why."""

    found: SitePlan
    fixed: Mapping[str, str]


def begin(session: Session, site_id: str) -> Begun:
    """What it starts from.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.

    Raises
    ------
    InTheWay
        See `feasible.refuse_without_money`.
    """
    found = site_plan(session, site_id)
    refuse_without_money(found)
    return Begun(found, fixed_groups(session, site_id, found))


def best_order(begun: Begun, asked: OrderAsked) -> Iterator[Step]:
    """Steps on the way, and at the end the answer; whoever stops listening stops the search.

    Parameters
    ----------
    begun : Begun
        What `begin` gave.
    asked : OrderAsked
        The rules.

    Raises
    ------
    Unavailable
        Another search is running in this server.
    """
    found, start = begun.found, time.monotonic()
    gathered = yield from _gathered(begun, asked)
    given = gathered.problem
    today = worth_of(gathered, given.today)
    last: list[int] | None = None
    seconds = float(asked.get("seconds", SECONDS))
    left = max(seconds - (time.monotonic() - start), seconds * SEARCHED_SHARE)
    for told in searched(given, left):
        step: Step = {
            "step": told["step"],
            "saved": None if told["worth"] is None else round(today - told["worth"], 2),
            "items": told["items"],
            "gap": told["gap"],
            "proved": told["proved"],
            "seconds": told["seconds"],
        }
        if told["choice"] is not None and told["choice"] != last:
            step["decided"] = decided_by(found, gathered, tuple(told["choice"]))
            last = told["choice"]
        yield step
    decided = [] if last is None else decided_by(found, gathered, tuple(last))
    answer: OrderAnswer = {
        **difference(found, decided, given.rules.each_item),
        "gap": told["gap"],
        "proved": told["proved"],
        "seconds": told["seconds"],
        "found": last is not None,
        "today_keeps": is_kept(given, given.today) and not any(u.alternatives[u.today].barred for u in given.units),
        "fixed": counted(gathered.fixed, gathered.fixed),
        "stuck": [_place(found, id) for id in gathered.stuck],
    }
    yield {"step": "answer", "answer": answer}


def _gathered(begun: Begun, asked: OrderAsked) -> Generator[Step, None, Gathered]:
    steps = gathering(begun.found, asked, begun.fixed)
    while True:
        try:
            done, of = next(steps)
        except StopIteration as end:
            return cast("Gathered", end.value)
        if done % TOLD_EVERY == 0:
            yield {"step": "gather", "done": done, "of": of}


def worth_of(gathered: Gathered, choice: Choice) -> float:
    """What a choice comes to, as it is made least."""
    return told_of(gathered.problem, choice).worth


def decided_by(found: SitePlan, gathered: Gathered, choice: Choice) -> list[Decided]:
    """What is to be decided for a choice: only of groups that it changes."""
    decided: list[Decided] = []
    for unit, place in zip(gathered.problem.units, choice, strict=True):
        for id, name in zip(unit.groups, unit.alternatives[place].names, strict=True):
            if name == proposal_of(found.plans[id])["arrangement"]:
                continue
            if name == LEFT:
                decided.append({"group": id, "decision": DEFER})
            elif gathered.recommended.get(id) == name:
                decided.append({"group": id, "decision": AS_RECOMMENDED})
            else:
                decided.append({"group": id, "decision": WITH_THIS, "arrangement": name})
    return decided


def _place(found: SitePlan, id: str) -> str:
    kind, room = found.inputs.places[id]
    return f"{name_of_room(room)} · {mark_of(kind)}"


__all__ = ["Begun", "OrderAnswer", "Step", "begin", "best_order", "decided_by"]
