"""Who did what, as it is asked for and answered."""

from __future__ import annotations

from marshmallow import fields

from spanwalk.messages.forms import Flag, ListOf, Message, Text, Whole, WholeText, identifier

DAY = "[0-9]{4}-[0-9]{2}-[0-9]{2}"


class AuditQuery(Message):
    """Which entries are wanted."""

    before = WholeText("Entries before this number", required=False)
    what = Text("a code", "Only entries of this sort", most=60, required=False)
    person = identifier("a person's id", "Only what this person did or handed in", required=False)
    first_day = Text("a day", "Only what arrived on this day or later (UTC)", pattern=DAY, required=False)
    last_day = Text("a day", "Only what arrived on this day or earlier (UTC)", pattern=DAY, required=False)


class AuditEntryOut(Message):
    """Something that was done."""

    number = Whole("a number", "Its place in the chain, from 1")
    at = Text("a time", "When it arrived here")
    what = Text("a code", "What was done")
    person = Text("a person's id", "Who did it; null: several, nobody, or no longer said", allow_none=True)
    sender = Text("a person's id", "Who handed it in", allow_none=True)
    device = Text("a phone's id", "By which phone", allow_none=True)
    entered_first = Text("a time", "When the first of it was entered, by the phone's clock", allow_none=True)
    entered_last = Text("a time", "When the last of it was entered, by the phone's clock", allow_none=True)
    operations = Whole("a count", "Operations that it vouches for")
    facts = fields.Dict(keys=fields.String(), required=True, metadata={"description": "Further facts, by name"})
    hash = Text("a SHA-256", "Takes in the hash of the entry before")


class AuditOut(Message):
    """Entries of a chain."""

    entries = ListOf(fields.Nested(AuditEntryOut), "the entries, the newest first", "The entries, the newest first")
    people = fields.Dict(
        keys=fields.String(),
        values=fields.String(),
        required=True,
        metadata={"description": "Names of the people in them, by id"},
    )
    more = Flag(about="Whether there are older ones")
    number = Whole("a number", "Of the chain's last entry")
    hash = Text("a SHA-256", "Of the chain's last entry: worth writing down elsewhere")


class AuditOperationOut(Message):
    """An operation that an entry vouches for."""

    id = Text("an operation's id")
    person = Text("a person's id", "Who entered it")
    device = Text("a phone's id")
    entered = Text("a time", "When it was entered, by the phone's clock")
    type = Text("a type of record")
    facet = Text("a facet")
    kind = Text("set, remove or restore")
    result = Text("what became of it")


class AuditOperationsOut(Message):
    """The operations of an entry."""

    operations = ListOf(fields.Nested(AuditOperationOut), "the operations", "The operations, in their order")
