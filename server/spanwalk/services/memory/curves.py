"""How the items of a building hold over the hours that they burned, beside what their data sheets make one expect."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TypedDict

from spanwalk.rules.installing.replaced import PUT_IN
from spanwalk.rules.money.failure_curve import Expected, Step, Unit, against_expected, failure_curve
from spanwalk.services.memory.told import FailureTold, ItemNow, Remembered

DAYS_A_YEAR = 365.25
NOTHING_WRONG = "nothing-wrong"


class Curve(TypedDict):
    """The curve of an item: its steps, of how many items; `left_out` are those whose hours nobody knows.

    `failed_pct_by_life`: what the data sheet says; None: nothing, and then nothing is expected by number.
    """

    steps: list[Step]
    units: int
    left_out: int
    longest_h: int
    failed_pct_by_life: float | None
    expected: Expected | None


class Held:
    """The items of one code: hours at work of each, and those whose hours are not known."""

    def __init__(self) -> None:
        self.units: list[Unit] = []
        self.left_out = 0

    def take(self, hours: int | None, failed: bool, number: int = 1) -> None:
        """Take in so many items that were at work for so long."""
        if hours is None:
            self.left_out += number
        else:
            self.units += [Unit(hours, failed)] * number


def curves_of(fixtures: Iterable[Remembered], today: date) -> dict[str, Held]:
    """Items by code, each with its hours at work until it failed or until today.

    Parameters
    ----------
    fixtures : iterable of Remembered
        All fixtures that are done.
    today : date
        Until when what holds was seen at work.
    """
    held: dict[str, Held] = {}
    for fixture in fixtures:
        failures = _by_item(fixture)
        for item in fixture["items"] or ():
            mine = held.setdefault(item["code"], Held())
            failed = failures.get(item["code"], [])
            ours, failures[item["code"]] = failed[: item["number"]], failed[item["number"] :]
            for failure in ours:
                mine.take(_hours_until(fixture, item, failure), failed=True)
            mine.take(_hours(fixture, item["fitted_on"], today.isoformat()), False, item["number"] - len(ours))
    return held


def _by_item(fixture: Remembered) -> dict[str, list[FailureTold]]:
    """Failures by the item that failed, the first one first: each is of one item."""
    found: dict[str, list[FailureTold]] = {}
    for failure in sorted(fixture["failures"], key=lambda each: each["on"]):
        if code := failed_item(fixture, failure):
            found.setdefault(code, []).append(failure)
    return found


def failed_item(fixture: Remembered, failure: FailureTold) -> str:
    """Code of the item that failed: as it was said, else the one that was put in anew, or in whose place another was; '' unknown."""
    if failure["replaced"] == NOTHING_WRONG:
        return ""
    if failure["item"] or failure["replaced"] not in PUT_IN:
        return failure["item"]
    first = [each for each in fixture["items"] or () if each["fitted_on"] == fixture["fitted_on"]]
    new = failure["replaced_item"]
    return next((each["code"] for each in first if new and new in (each["code"], each["replaced_by"])), "")


def _hours_until(fixture: Remembered, item: ItemNow, failure: FailureTold) -> int | None:
    """Hours at work until it failed: as they were noted, else by the room's hours a year."""
    return failure["hours"] if failure["hours"] is not None else _hours(fixture, item["fitted_on"], failure["on"])


def _hours(fixture: Remembered, since: str, until: str) -> int | None:
    if fixture["hours_year"] is None:
        return None
    try:
        days = (date.fromisoformat(until) - date.fromisoformat(since)).days
    except ValueError:
        return None
    return round(fixture["hours_year"] * max(0, days) / DAYS_A_YEAR)


def curve_of(held: Held, life_h: int | None, life_failed_pct: float | None) -> Curve:
    """The curve of one code, and what was to be expected of it where its data sheet says so."""
    expected = None
    if held.units and life_h is not None and life_failed_pct is not None:
        expected = against_expected(held.units, life_h, life_failed_pct)
    return {
        "steps": failure_curve(held.units),
        "units": len(held.units),
        "left_out": held.left_out,
        "longest_h": max((unit.hours for unit in held.units), default=0),
        "failed_pct_by_life": life_failed_pct,
        "expected": expected,
    }


__all__ = ["Curve", "Held", "curve_of", "curves_of", "failed_item"]
