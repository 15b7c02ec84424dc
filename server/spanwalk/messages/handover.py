"""Messages of the hand-over report."""

from __future__ import annotations

from typing import TypedDict

from marshmallow import fields

from spanwalk.messages.forms import Flag, ListOf, Message, Text, Whole, identifier


class HandoverQuery(Message):
    """What of the report is wanted."""

    asked = identifier(about="A word under which its progress can be asked for", load_default="", required=False)
    money = Text("yes or no", "Whether money is in it", among=("yes", "no"), load_default="no", required=False)


class ProofQuery(Message):
    """Which proof pack is wanted."""

    asked = identifier(about="A word under which its progress can be asked for", load_default="", required=False)
    pack = Text(
        "all, rebate, recycler, density or carbon",
        "Which pack",
        among=("all", "rebate", "recycler", "density", "carbon"),
        load_default="all",
        required=False,
    )


class ProofAsked(TypedDict):
    """Which proof pack is wanted. As read."""

    asked: str
    pack: str


class HandoverAsked(TypedDict):
    """What of the report is wanted. As read."""

    asked: str
    money: str


class ProgressQuery(Message):
    """Of which report the progress is wanted."""

    asked = identifier(about="The word that was given with the report")


class ProgressAsked(TypedDict):
    """Of which report the progress is wanted. As read."""

    asked: str


class ProgressOut(Message):
    """How far a report is that is being made."""

    done = Whole("a count", "Steps that are done: rooms that are drawn, sheets or files that are written")
    of = Whole("a count", "Of so many; 0: nothing is known of it")


class OpenOut(Message):
    """Something that is open in a room."""

    floor_name = Text("a floor's name")
    room_name = Text("a room's name")
    what = Text("a sort")
    text = Text("a sentence")


class SignatureOut(Message):
    """A signature, and whether anything has changed since."""

    id = Text("a record's id")
    covers = Text("the site, a floor or a room")
    name = Text("a name")
    day = Text("day and minute, UTC")
    how = Text("drawn or typed")
    content = Text("64 hexadecimal digits")
    whole = Flag("whether the lines that are kept are those that were signed")
    fixtures = Whole("a count", "Fixtures that it covers")
    done = Whole("a count", "Those that were done then")
    open = Whole("a count", "Points that were open then")
    holds = Flag("whether nothing has changed since")
    changes = Whole("a count", "Lines that are gone or have come since")


class HandoverOut(Message):
    """What a hand-over report would tell now, in short."""

    fixtures = Whole("a count", "Fixtures that are released, or in which something was noted")
    done = Whole("a count", "Those that are noted as done")
    left_out = Whole("a count", "Fixtures that are no part of it")
    photos = Whole("a count", "Photos before and after")
    releases = Whole("a count", "Releases")
    tests_open = Whole("a count", "Emergency fixtures without a passed test")
    open = ListOf(fields.Nested(OpenOut), "what is open, in the order of the walk")
    open_in_all = Whole("a count", "What is open; the first 300 are told")
    closed = Whole("a count", "Points that were closed on the walk")
    accepted = ListOf(fields.Nested(SignatureOut), "signatures, the oldest first")
