"""The lines of what a job costs, as they are read: their names, and where each comes from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from spanwalk.rules.money.job_charges import CONTAINERS, CREW_DAY, CostLine, LineFacts
from spanwalk.services.text.read_as import marked
from spanwalk.words import choice_text, say

WORK = ("goods", "labour", "hire", "disposal")
"""Lines that a customer reads as one: what a firm pays for items and hours is its own."""


def has_charges(lines: Iterable[CostLine]) -> bool:
    """Whether a job is charged anything beside items, work, hire and disposal."""
    return any(each["what"] not in WORK for each in lines)


def for_customers(lines: Iterable[CostLine]) -> list[CostLine]:
    """The same with items, work, hire and disposal in one line, and days of travel without a crew's hours.

    They still add up to what the job costs, to the cent.

    >>> for_customers([{"what": "goods", "amount": 10.1}, {"what": "labour", "amount": 5.2}, {"what": "tax", "amount": 1.0}])
    [{'what': 'work', 'amount': 15.3}, {'what': 'tax', 'amount': 1.0}]
    """
    lines = list(lines)
    work = round(sum(each["amount"] for each in lines if each["what"] in WORK), 2)
    return [*_work(work), *(_without_hours(each) for each in lines if each["what"] not in WORK)]


def _work(amount: float) -> Iterator[CostLine]:
    if amount:
        yield {"what": "work", "amount": amount}


def _without_hours(line: CostLine) -> CostLine:
    facts = line.get("facts")
    if line["what"] != CREW_DAY or facts is None:
        return line
    return {**line, "facts": {"number": facts["number"], "each": facts["each"]}}


def name_of(line: CostLine) -> str:
    """What a line is called."""
    return say(f"job.line.{line['what']}")


def where_from(line: CostLine) -> str:
    """Where an amount comes from: how many at what price, or a share of which sum."""
    what, facts = line["what"], line.get("facts", {})
    if what in CONTAINERS:
        return say("job.from.container", _shown(facts))
    if what == CREW_DAY and "amount" not in facts:
        return say("job.from.days", _shown(facts))
    if what == CREW_DAY:
        minutes = {"amount": facts.get("amount", 0.0), "holds": facts.get("holds", 0.0)}
        hours = {name: marked(f"{each / 60:,.1f}") for name, each in minutes.items()}
        return say("job.from.crew-day", {**_shown(facts), **hours})
    if what == "permit":
        return say(f"job.from.permit{_parts_of(facts)}", _shown(facts))
    return say(f"job.from.{what}", _shown(facts))


def _parts_of(facts: LineFacts) -> str:
    """Whether a permit is a sum, a share of the cost, or both."""
    if not facts.get("pct"):
        return "-sum"
    return "" if facts.get("sum") else "-pct"


def _shown(facts: LineFacts) -> dict[str, object]:
    found: dict[str, object] = {}
    for name, value in facts.items():
        if isinstance(value, str):
            found[name] = choice_text(value)
        elif name in ("each", "sum", "of"):
            found[name] = marked(f"{value:,.2f}")
        else:
            found[name] = marked(f"{value:,g}")
    return found


__all__ = ["for_customers", "has_charges", "name_of", "where_from"]
