"""A schedule as a calendar file (RFC 5545, iCalendar): an event a shift, in the building's own time.

A calendar that takes it in keeps days of an older one that are none any more: each event says on which day it was planned.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from spanwalk.services.scheduling.weeks import RoomOfShift, Schedule, ShiftTold
from spanwalk.words import say

OCTETS_MOST = 75
"""Of a line, without its end (RFC 5545, 3.1)."""
PRODUCT = "-//Spanwalk//Schedule//EN"


def calendar(schedule: Schedule, site_id: str, stamp: str) -> bytes:
    """The schedule as a calendar.

    Parameters
    ----------
    schedule : Schedule
        The shifts.
    site_id : str
        The site.
    stamp : str
        When it was made, in UTC, as services read the clock.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN"]
    made = datetime.fromisoformat(stamp)
    for shift in schedule["shifts"]:
        lines += _event(schedule, shift, site_id, made)
    lines.append("END:VCALENDAR")
    return b"".join(folded(line) for line in lines)


def _event(schedule: Schedule, shift: ShiftTold, site_id: str, made: datetime) -> Iterator[str]:
    opening = datetime.fromisoformat(f"{shift['day']}T{schedule['begins']}")
    last = shift["rooms"][-1]
    begins = opening + timedelta(minutes=shift["rooms"][0]["at"])
    ends = opening + timedelta(minutes=last["at"] + last["minutes"])
    rooms = ", ".join(each["room_name"] for each in shift["rooms"])
    yield "BEGIN:VEVENT"
    yield f"UID:{site_id}-{shift['day']}@spanwalk"
    yield f"DTSTAMP:{made:%Y%m%dT%H%M%SZ}"
    yield f"DTSTART:{begins:%Y%m%dT%H%M%S}"
    yield f"DTEND:{ends:%Y%m%dT%H%M%S}"
    yield f"SUMMARY:{escaped(say('schedule.event', {'site': schedule['site_name'], 'rooms': rooms}))}"
    told = [*_told(shift), say("schedule.event-made", {"day": f"{made:%Y-%m-%d}"})]
    yield f"DESCRIPTION:{escaped(chr(10).join(told))}"
    yield "END:VEVENT"


def _told(shift: ShiftTold) -> Iterator[str]:
    for each in shift["rooms"]:
        yield say("schedule.event-room", _facts(each))
    if shift["platforms"]:
        yield say("schedule.event-platforms", {"floors": ", ".join(shift["platforms"])})
    if shift["circuits"]:
        yield say("schedule.event-circuits", {"circuits": ", ".join(shift["circuits"])})


def _facts(each: RoomOfShift) -> dict[str, object]:
    part = say("schedule.event-part", {"part": each["part"], "parts": each["parts"]}) if each["parts"] > 1 else ""
    return {
        "at": each["begins"],
        "floor": each["floor_name"],
        "room": each["room_name"],
        "fixtures": say(f"counted.fixture.{'one' if each['fixtures'] == 1 else 'other'}", {"count": each["fixtures"]}),
        "minutes": each["minutes"],
        "part": part,
    }


def escaped(text: str) -> str:
    """A text as the value of a property (RFC 5545, 3.3.11).

    >>> escaped("a, b; c")
    'a\\\\, b\\\\; c'
    """
    return text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\r", "").replace("\n", "\\n")


def folded(line: str) -> bytes:
    """A line in parts of at most 75 octets, letters whole, each but the first behind a blank.

    >>> [len(each) for each in folded("é" * 60).split(b"\\r\\n")]
    [74, 47, 0]
    """
    parts: list[bytes] = [b""]
    for letter in line:
        octets = letter.encode()
        if len(parts[-1]) + len(octets) > OCTETS_MOST - (len(parts) > 1):
            parts.append(b"")
        parts[-1] += octets
    return b"\r\n ".join(parts) + b"\r\n"


__all__ = ["calendar", "escaped", "folded"]
