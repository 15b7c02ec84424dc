"""A schedule as a calendar file (RFC 5545, iCalendar): an event a shift, in the building's own time.

A calendar that takes it in keeps days of an older one that are none any more: each event says on which day it was planned.
Each event goes by its site, crew and day (RFC 5545, 3.8.4.7: a name for good that nothing else has): the same crew's
schedule of a later day takes the place of the earlier one, another crew's stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from hashlib import sha256

from spanwalk.services.scheduling.weeks import RoomOfShift, Schedule, ShiftTold
from spanwalk.words import counted, say

OCTETS_MOST = 75
"""Of a line, without its end (RFC 5545, 3.1)."""
MARK_DIGITS = 16
PRODUCT = "-//Spanwalk//Schedule//EN"


def calendar(schedule: Schedule, site_id: str, stamp: str, crew: str = "") -> bytes:
    """The schedule as a calendar.

    Parameters
    ----------
    schedule : Schedule
        The shifts.
    site_id : str
        The site.
    stamp : str
        When it was made, in UTC, as services read the clock.
    crew : str
        What the crew is called; of those that are called nothing, crews that begin at another hour are others.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN"]
    made = datetime.fromisoformat(stamp)
    for shift in schedule["shifts"]:
        lines += _event(schedule, shift, crew_mark(site_id, crew, schedule["begins"]), made, crew.strip())
    lines.append("END:VCALENDAR")
    return b"".join(folded(line) for line in lines)


def crew_mark(site_id: str, crew: str, begins: str) -> str:
    """What no other crew of any site has, the same however often its calendar is taken away.

    >>> crew_mark("b12a", "Night  crew", "22:00") == crew_mark("b12a", "night crew ", "21:00")
    True
    >>> crew_mark("b12a", "", "22:00") == crew_mark("b12a", "", "07:00")
    False
    """
    called = " ".join(crew.casefold().split())
    told = f"called {called}" if called else f"begins {begins}"
    return f"{site_id}-{sha256(told.encode()).hexdigest()[:MARK_DIGITS]}"


def _event(schedule: Schedule, shift: ShiftTold, mark: str, made: datetime, crew: str) -> Iterator[str]:
    opening = datetime.fromisoformat(f"{shift['day']}T{schedule['begins']}")
    last = shift["rooms"][-1]
    begins = opening + timedelta(minutes=shift["rooms"][0]["at"])
    ends = opening + timedelta(minutes=last["at"] + last["minutes"])
    rooms = ", ".join(each["room_name"] for each in shift["rooms"])
    yield "BEGIN:VEVENT"
    yield f"UID:{mark}-{shift['day']}@spanwalk"
    yield f"DTSTAMP:{made:%Y%m%dT%H%M%SZ}"
    yield f"DTSTART:{begins:%Y%m%dT%H%M%S}"
    yield f"DTEND:{ends:%Y%m%dT%H%M%S}"
    code = "schedule.event-of-crew" if crew else "schedule.event"
    yield f"SUMMARY:{escaped(say(code, {'site': schedule['site_name'], 'rooms': rooms, 'crew': crew}))}"
    told = [*_told(shift), say("schedule.event-made", {"day": f"{made:%Y-%m-%d}"})]
    yield f"DESCRIPTION:{escaped(chr(10).join(told))}"
    yield "END:VEVENT"


def _told(shift: ShiftTold) -> Iterator[str]:
    for each in shift["rooms"]:
        yield say("schedule.event-room", _facts(each))
        if each["stopped"]:
            yield say("schedule.event-stopped", {"fixtures": counted(each["stopped"], "counted.fixture")})
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
        "fixtures": counted(each["fixtures"], "counted.fixture"),
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


__all__ = ["calendar", "crew_mark", "escaped", "folded"]
