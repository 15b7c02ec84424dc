"""Messages of the hand-over report."""

from __future__ import annotations

from typing import TypedDict, Unpack

from marshmallow import fields

from spanwalk.messages.forms import Attributes, Flag, ListOf, Message, Object, Text, Whole


class HandoverFileIn(Message):
    """Which file is to be made."""

    form = Text("pdf or xlsx", "The report, or its workbook", among=("pdf", "xlsx"))
    money = Flag(about="Whether money is in it", load_default=False, required=False)


class HandoverFileAsked(TypedDict):
    """Which file is to be made. As read."""

    form: str
    money: bool


class HandoverQuery(Message):
    """Which file is taken away."""

    money = Text("yes or no", "Whether money is in it", among=("yes", "no"), load_default="no", required=False)


class HandoverAsked(TypedDict):
    """Which file is taken away. As read."""

    money: str


def _pack(**more: Unpack[Attributes]) -> Text:
    packs = ("all", "rebate", "recycler", "density", "carbon")
    return Text("all, rebate, recycler, density or carbon", "Which pack", among=packs, **more)


class ProofFileIn(Message):
    """Which proof pack is to be made."""

    pack = _pack()


class ProofQuery(Message):
    """Which proof pack is taken away."""

    pack = _pack(load_default="all", required=False)


class ProofAsked(TypedDict):
    """Which proof pack. As read."""

    pack: str


class KeptFileOut(Message):
    """A file that lies ready to be taken away."""

    made_at = Text("a time", "When it was begun")
    bytes = Whole("a count", "Its length")
    sha256 = Text("a hash", "Of the whole file")
    changes = Whole("a count", "Changes of the site, photos and attachments that have come since its records were read")


class HandoverFileOut(Message):
    """How a file of the hand-over stands: the newest that was asked for, and the newest that lies ready."""

    what = Text("a file", "pdf, xlsx, or the name of a proof pack")
    with_money = Flag(about="Whether money is in it")
    state = Text("a state", "making, made or wrong", among=("making", "made", "wrong"))
    done = Whole("a count", "Steps that are done: rooms that are drawn, sheets or files that are written")
    total = Whole("a count", "Of so many; 0: it waits its turn, or its records are being read")
    why = Object("a sentence", "Code and facts of why it could not be made", allow_none=True)
    kept = fields.Nested(KeptFileOut, allow_none=True, metadata={"description": "What can be taken away now"})


class HandoverFilesOut(Message):
    """The files that somebody has had made, as who asks may read them."""

    files = ListOf(fields.Nested(HandoverFileOut), "files, each once; one that nobody asked for is not among them")


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
