"""What is due in a building that was converted: emergency tests, failures against the life that the catalogue says, spares.

Emergency lighting is commonly tested for function each month and for its full duration each year: EN 50172 (clause 7) and NFPA
101 (7.9.3), both from memory. What the local authority wants goes first.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import TypedDict, cast

from sqlalchemy.orm import Session

from spanwalk.rules.installing.last_word import place_of
from spanwalk.rules.installing.punch_list import PASSED, test_state
from spanwalk.rules.money.warranty import later_by_months
from spanwalk.rules.record_types import ConversionView, EmergencyTestView, FunctionTestView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.survey import facet, newest_conversions
from spanwalk.services.days import day_of
from spanwalk.services.memory.curves import Curve, curve_of, curves_of, failed_item
from spanwalk.services.memory.remembering import Memory, memory_of
from spanwalk.services.memory.told import Remembered
from spanwalk.services.people.members import incarnation
from spanwalk.services.sync.state import site_head
from spanwalk.services.text.neutral import csv_text, plain_text
from spanwalk.words import choice_text, say

FUNCTION, DURATION = "function", "duration"
MONTHS = {FUNCTION: 1, DURATION: 12}
RULES = {FUNCTION: "FREQ=MONTHLY", DURATION: "FREQ=YEARLY"}
DAYS_A_YEAR = 365.25
STILL_DUE = "still-due"
KEPT_SITES = 8
LINE_OCTETS = 75
"""So long a line of a calendar is at most (RFC 5545, 3.1)."""


Fixture = tuple[str, int]
"""A group's id and a position in it."""


class Due(TypedDict):
    """A test of one emergency fixture: `last` is when it was done, '' never; `state` what came of it."""

    test: str
    group: str
    position: int
    floor_name: str
    room_name: str
    mark: str
    access: str
    last: str
    state: str
    due: str


class Failed(TypedDict):
    """How often an item failed: of how many that are fitted, after how many hours by the rooms' hours a year."""

    code: str
    kind: str
    fitted: int
    failed: int
    failed_pct: float
    hours_burned: int | None
    life_h: int | None
    spares: int | None
    warranty_ends: str | None
    curve: Curve


class Upkeep(TypedDict):
    """What is due."""

    tests: list[Due]
    failed: list[Failed]


class TestDone(TypedDict):
    """A test that was done, or noted as due on the day `due_on` [as 2026-03-01]."""

    on: str
    state: str
    due_on: str


_kept: OrderedDict[str, tuple[tuple[str, int, date], Upkeep]] = OrderedDict()


def upkeep_today(session: Session, site_id: str, today: date) -> Upkeep:
    """All that is due on a day, and how parts hold: kept for as long as nothing of the site changes.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    today : date
        The day.
    """
    holds_for = (incarnation(session), site_head(session, site_id), today)
    kept = _kept.pop(site_id, None)
    if kept is None or kept[0] != holds_for:
        kept = holds_for, upkeep_of(memory_of(session, site_id, today, seen_on_it=False))
    _kept[site_id] = kept
    while len(_kept) > KEPT_SITES:
        _kept.popitem(last=False)
    return kept[1]


def upkeep_of(memory: Memory) -> Upkeep:
    """All that is due, and how parts hold."""
    fixtures = list(memory.fixtures())
    return {"tests": sorted(_due(memory, fixtures), key=_order), "failed": _failed(memory, fixtures)}


def _order(due: Due) -> tuple[str, str, str, int, str]:
    return due["due"], due["floor_name"], due["room_name"], due["position"], due["test"]


def _due(memory: Memory, fixtures: Iterable[Remembered]) -> Iterator[Due]:
    done = {FUNCTION: _function_tests(memory), DURATION: _duration_tests(memory)}
    for each in fixtures:
        if not each["emergency"] or each["state"] != "done":
            continue
        for test, months in MONTHS.items():
            last = done[test].get((each["group"], each["position"]))
            yield {
                "test": test,
                "group": each["group"],
                "position": each["position"],
                "floor_name": each["floor_name"],
                "room_name": each["room_name"],
                "mark": each["mark"],
                "access": each["access"],
                "last": last["on"] if last else "",
                "state": last["state"] if last else "",
                "due": _due_on(last, each["fitted_on"], months, memory.today).isoformat(),
            }


def _due_on(last: TestDone | None, fitted_on: str, months: int, today: date) -> date:
    """A month or a year after the last that passed, the day that was noted as due; at once where it failed, or none was done
    for a duration since it was fitted.
    """
    if last is not None and last["state"] != PASSED:
        return _day(last["due_on"]) or today
    began = _day(last["on"] if last else fitted_on)
    if began is None:
        return today
    if last is None and months == MONTHS[DURATION]:
        return began
    return later_by_months(began, months)


def _day(text: str) -> date | None:
    """A day as it is written in a record; None where it is none."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _function_tests(memory: Memory) -> dict[Fixture, TestDone]:
    """The newest test of each fixture: by the day that was noted, and on one day by what the server took last."""
    tests = memory.survey.of_type("function_test")
    found: dict[Fixture, TestDone] = {}
    for each in sorted(
        tests, key=lambda each: (str(facet(each, "identity").get("on", "")), place_of(each), each["id"])
    ):
        said = facet(each, "identity")
        found[_fixture(each, said)] = {"on": said.get("on", ""), "state": said.get("result", ""), "due_on": ""}
    return found


def _duration_tests(memory: Memory) -> dict[Fixture, TestDone]:
    """The newest test of each fixture, the one that the server took last, told as hand-over tells it."""
    wanted_min = {group: _wanted_min(each) for group, each in newest_conversions(memory.survey).items()}
    found: dict[Fixture, TestDone] = {}
    for each in sorted(memory.survey.of_type("emergency_test"), key=lambda each: (place_of(each), each["id"])):
        said = facet(each, "identity")
        found[_fixture(each, said)] = {
            "on": day_of(said.get("noted_at"), memory.zone),
            "state": test_state(said, wanted_min.get(str(each["parent"]))),
            "due_on": str(said.get("due_on") or "") if said.get("result") == STILL_DUE else "",
        }
    return found


def _wanted_min(conversion: ConversionView) -> int | None:
    frozen = cast("Facet", facet(conversion, "identity").get("frozen") or {})
    return cast("int | None", (frozen.get("emergency") or {}).get("wanted_min"))


def _fixture(test: EmergencyTestView | FunctionTestView, said: Mapping[str, object]) -> Fixture:
    return str(test["parent"]), int(str(said.get("position", 0)))


def _failed(memory: Memory, fixtures: Iterable[Remembered]) -> list[Failed]:
    fitted: dict[str, int] = {}
    failed: dict[str, int] = {}
    kinds: dict[str, str] = {}
    burned: dict[str, list[int]] = {}
    ends: dict[str, str] = {}
    fixtures = list(fixtures)
    held = curves_of(fixtures, memory.today)
    for each in fixtures:
        for item in each["items"] or ():
            code = item["code"]
            fitted[code] = fitted.get(code, 0) + item["number"]
            kinds[code] = item["kind"]
            hours = _burned(each, memory.today)
            burned.setdefault(code, []).extend([] if hours is None else [hours])
            if item["warranty_ends"]:
                ends[code] = min(item["warranty_ends"], ends.get(code, item["warranty_ends"]))
        for failure in each["failures"]:
            if code := failed_item(each, failure):
                failed[code] = failed.get(code, 0) + 1
    return [
        {
            "code": code,
            "kind": kinds[code],
            "fitted": fitted[code],
            "failed": failed.get(code, 0),
            "failed_pct": round(100 * failed.get(code, 0) / fitted[code], 2) if fitted[code] else 0.0,
            "hours_burned": max(burned[code]) if burned[code] else None,
            "life_h": _life(memory, code),
            "spares": memory.spares.get(code),
            "warranty_ends": ends.get(code),
            "curve": curve_of(held[code], _life(memory, code), _failed_by_life(memory, code)),
        }
        for code in sorted(fitted)
    ]


def _burned(fixture: Remembered, today: date) -> int | None:
    """Hours by the room's hours a year since it was fitted."""
    try:
        days = (today - date.fromisoformat(fixture["fitted_on"])).days
    except ValueError:
        return None
    return None if fixture["hours_year"] is None else round(fixture["hours_year"] * days / DAYS_A_YEAR)


def _life(memory: Memory, code: str) -> int | None:
    row = memory.catalogue.get(code)
    return facet(row, "driver").get("life_h") or facet(row, "bar").get("l70_h")


def _failed_by_life(memory: Memory, code: str) -> float | None:
    """Share that has failed when the life is over [%]; a bar's life is one of light, of which no failures follow."""
    return facet(memory.catalogue.get(code), "driver").get("life_failed_pct")


# -- to be taken away


def upkeep_csv(upkeep: Upkeep) -> str:
    """Tests that are due, as CSV."""
    names = ("due", "test", "floor", "room", "fixture", "access", "last", "state")
    rows = [
        [
            each["due"],
            say(f"memory.test.{each['test']}"),
            each["floor_name"],
            each["room_name"],
            say("memory.fixture", {"mark": each["mark"], "position": each["position"]}),
            choice_text(each["access"]),
            each["last"],
            choice_text(each["state"]) if each["state"] else "",
        ]
        for each in upkeep["tests"]
    ]
    return csv_text([[say(f"memory.upkeep.{name}") for name in names], *rows])


def calendar(site_name: str, site_id: str, upkeep: Upkeep, stamp: str) -> str:
    """The tests as a calendar (RFC 5545): an event for each room and test on the day that the first of it is due, then again each month or year.

    Parameters
    ----------
    site_name, site_id : str
        The building.
    upkeep : Upkeep
        What is due.
    stamp : str
        When it is made, ``20260401T080000Z``.
    """
    rooms: dict[tuple[str, str, str], list[Due]] = {}
    for each in upkeep["tests"]:
        rooms.setdefault((each["floor_name"], each["room_name"], each["test"]), []).append(each)
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Spanwalk//Upkeep//EN", "CALSCALE:GREGORIAN"]
    for (floor, room, test), due in sorted(rooms.items()):
        lines += _event(site_name, site_id, floor, room, test, due, stamp)
    lines.append("END:VCALENDAR")
    return "".join(f"{folded}\r\n" for line in lines for folded in _folded(line))


def _event(
    site_name: str, site_id: str, floor: str, room: str, test: str, due: Sequence[Due], stamp: str
) -> Iterator[str]:
    place = ", ".join(each for each in (site_name, floor, room) if each)
    first = min(each["due"] for each in due)
    fixtures = ", ".join(say("memory.fixture", {"mark": each["mark"], "position": each["position"]}) for each in due)
    told = {"test": say(f"memory.test.{test}"), "room": room, "count": len(due), "fixtures": fixtures}
    yield "BEGIN:VEVENT"
    yield f"UID:{min(each['group'] for each in due)}-{test}@{site_id}"
    yield f"DTSTAMP:{stamp}"
    yield f"DTSTART;VALUE=DATE:{first.replace('-', '')}"
    yield f"DTEND;VALUE=DATE:{(date.fromisoformat(first) + timedelta(days=1)).isoformat().replace('-', '')}"
    yield f"RRULE:{RULES[test]}"
    yield f"SUMMARY:{_escaped(say('memory.calendar.summary', told))}"
    yield f"LOCATION:{_escaped(place)}"
    yield f"DESCRIPTION:{_escaped(say('memory.calendar.about', told))}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _escaped(text: str) -> str:
    """A text as a value of a calendar has it (RFC 5545, 3.3.11), without letters that end a line or are obeyed."""
    text = plain_text(text)
    for plain, escaped in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        text = text.replace(plain, escaped)
    return text


def _folded(line: str) -> Iterator[str]:
    """A line in pieces of at most 75 octets, each but the first behind a space; no letter is cut."""
    piece = ""
    for letter in line:
        if len((piece + letter).encode()) > LINE_OCTETS:
            yield piece
            piece = " "
        piece += letter
    yield piece
