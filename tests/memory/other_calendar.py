"""A reader of calendars written from RFC 5545 alone: lines unfolded (3.1), values unescaped (3.3.11), events checked (3.6.1)."""

from __future__ import annotations

import re

UNESCAPED = {"n": "\n", "N": "\n"}


def events_of(text: str) -> list[dict[str, str]]:
    """The events of a calendar, by property without its parameters; raises where the standard is broken."""
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    lines = re.sub("\r\n[ \t]", "", text).split("\r\n")[:-1]
    assert (lines[0], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    head = lines[1 : lines.index("BEGIN:VEVENT")] if "BEGIN:VEVENT" in lines else lines[1:-1]
    assert "VERSION:2.0" in head
    assert [each for each in head if each.startswith("PRODID:")]
    events: list[dict[str, str]] = []
    open_event: dict[str, str] | None = None
    for line in lines[1 + len(head) : -1]:
        name, value = line.split(":", 1)
        name = name.split(";", 1)[0]
        if (name, value) == ("BEGIN", "VEVENT"):
            assert open_event is None
            open_event = {}
        elif (name, value) == ("END", "VEVENT"):
            assert open_event is not None
            assert {"UID", "DTSTAMP", "DTSTART"} <= set(open_event)
            assert re.fullmatch(r"\d{8}T\d{6}Z", open_event["DTSTAMP"])
            assert re.fullmatch(r"\d{8}", open_event["DTSTART"])
            events.append(open_event)
            open_event = None
        else:
            assert open_event is not None
            assert name not in open_event
            open_event[name] = re.sub(r"\\(.)", lambda found: UNESCAPED.get(found[1], found[1]), value)
    assert open_event is None
    return events
