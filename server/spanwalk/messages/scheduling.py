"""Messages of schedules."""

from __future__ import annotations

from typing import TypedDict

from marshmallow import fields

from spanwalk.messages.forms import ListOf, Message, Text, Whole, WholeText

DAY = r"20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"


CREW_LETTERS_MOST = 60


class ScheduleQuery(Message):
    """How a crew works."""

    first = Text("a day as 2026-03-01", "The first day", pattern=DAY, data_key="from")
    people = WholeText("People in the crew; 0 counts as one", most=50, load_default=2, required=False)
    begins = Text(
        "a time as 07:00",
        "When a shift begins",
        pattern="([01][0-9]|2[0-3]):[0-5][0-9]",
        load_default="07:00",
        required=False,
    )
    minutes = WholeText(
        "How long a shift is [min]; less than 30 counts as 30", most=1440, load_default=480, required=False
    )
    weekdays = Text(
        "days of the week from 1 (Monday) to 7, each once",
        "Days on which is worked",
        pattern="[1-7]{1,7}",
        load_default="12345",
        required=False,
    )
    crew = Text("text", "What the crew is called", most=CREW_LETTERS_MOST, load_default="", required=False)


class ScheduleAsked(TypedDict):
    """How a crew works. As read."""

    first: str
    people: int
    begins: str
    minutes: int
    weekdays: str
    crew: str


class ScheduleOut(Message):
    """The work that is released and left, in shifts."""

    site_name = Text("a site's name")
    begins = Text("a time")
    minutes = Whole("minutes")
    people = Whole("people")
    shifts = ListOf(fields.Dict(), "shifts", "A day each: rooms with their time, platforms, circuits")
    closed = ListOf(fields.Dict(), "rooms", "Those that no shift finds open, with the hours at which work is allowed")
    stopped = ListOf(
        fields.Dict(), "groups", "Those in no shift, for what the survey says since stops them, with what does"
    )
    cost = fields.Dict(metadata={"description": "Days, idle ones, days of platforms, circuits switched off"})
    in_order = fields.Dict(metadata={"description": "The same of room after room"})
    pace = fields.Dict(
        metadata={"description": "How long a fixture takes against what was planned, and how that is known"}
    )
    without_minutes = Whole("fixtures of which no minutes are known; they are in no shift")
