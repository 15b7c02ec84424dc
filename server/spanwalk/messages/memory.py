"""Messages of what a building remembers."""

from __future__ import annotations

from typing import TypedDict

from spanwalk.messages.forms import Flag, ListOf, Message, Object, Text, Whole, identifier
from spanwalk.messages.ordering import DAY, DAY_RIGHT

LETTERS_MOST = 200


class RememberedOut(Message):
    """One fixture: what is in it, since when, under which warranty; things, days and the firm, never people."""

    group = identifier("the id of a group")
    position = Whole("a number", "The fixture")
    code = Text("a code", "The label's")
    floor_name = Text("a floor's name")
    room_name = Text("a room's name")
    mark = Text("a mark", "The kind's")
    access = Text("a choice", "How it is reached")
    state = Text("a state", "done, or not-noted")
    fitted_on = Text("a day", "When it was converted; '' if that is not known")
    firm = Text("a name", "The firm's")
    call = Text("a telephone number")
    release = Whole("a number", "The release that it was done under", allow_none=True)
    items = ListOf(
        Object("an item"), "items with warranty, spares and what replaces them; null: not noted", allow_none=True
    )
    takes_no_lamps = Flag("whether it takes fluorescent lamps no more")
    wiring = ListOf(Object("an output"), "outputs of the drivers, and what hangs on each")
    wired_as_released = Flag("whether bars and drivers in it are those released; else its wiring is not known")
    emergency = Flag("whether it has an emergency duty")
    hours_year = Whole("hours", "Hours lit a year", allow_none=True)
    failures = ListOf(Object("a failure"), "failures that were reported, the newest first")
    cautions = ListOf(Text("a code"), "what to heed, as codes of sentences")
    removed = Flag("whether it is gone, or its group or room was removed: it is told as it was last")


class RecallQuery(Message):
    """An item's code, or a batch or serial number, or both; and between which days it was fitted."""

    item = Text(f"up to {LETTERS_MOST} letters", "Code of an item", most=LETTERS_MOST, required=False, load_default="")
    serial = Text(
        f"up to {LETTERS_MOST} letters", "Batch or serial number", most=LETTERS_MOST, required=False, load_default=""
    )
    fitted_from = Text(
        DAY_RIGHT, "Fitted on this day or later, or on a day not noted", pattern=DAY, required=False, load_default=""
    )
    fitted_to = Text(
        DAY_RIGHT, "Fitted on this day or earlier, or on a day not noted", pattern=DAY, required=False, load_default=""
    )


class RecallAsked(TypedDict):
    """An item's code, or a batch or serial number, or both. As read."""

    item: str
    serial: str
    fitted_from: str
    fitted_to: str


class RecallOut(Message):
    """The fixtures that it is in as it was noted, and those that it may be in, as its number was not noted there."""

    heads = ListOf(Text("a head"), "heads of both tables")
    rows = ListOf(ListOf(Text("a cell"), "cells"), "a row for each fixture")
    fixtures = ListOf(Object("a fixture"), "group and position of each row")
    unsure_rows = ListOf(ListOf(Text("a cell"), "cells"), "a row for each fixture that it may be in")
    unsure_fixtures = ListOf(Object("a fixture"), "group and position of each of these rows")
    spares = Text("text", "Which of the spares may be of it too; '': none")


class UpkeepOut(Message):
    """What is due, and how parts hold."""

    tests = ListOf(Object("a test"), "emergency tests, the next one first")
    failed = ListOf(Object("an item"), "items: how many are fitted, how many failed, life by the catalogue, spares")


class ClaimsOut(Message):
    """Failures that were reported, each with its claim."""

    claims = ListOf(Object("a claim"), "claims, those that are open first")
