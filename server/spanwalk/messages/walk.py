"""What is asked about the walk, and what is answered: pace, what is to be read again, readings of a kind."""

from __future__ import annotations

from typing import TypedDict

from marshmallow import fields

from spanwalk.messages.forms import DecimalText, ListOf, Message, Text, Whole, identifier


class WalkQuery(Message):
    """What the plans of reading again are stated by."""

    good_pct = DecimalText(
        "Share of wrong readings that is still good [%]", least=0, most=20, load_default=1.0, required=False
    )
    bad_pct = DecimalText(
        "Share of wrong readings that is bad [%]", least=1, most=50, load_default=10.0, required=False
    )
    good_refused_pct = DecimalText(
        "Most chance that good ones are refused [%]", least=1, most=50, load_default=5.0, required=False
    )
    bad_accepted_pct = DecimalText(
        "Most chance that bad ones are accepted [%]", least=1, most=50, load_default=10.0, required=False
    )


class WalkAsked(TypedDict):
    """What the plans of reading again are stated by. As read."""

    good_pct: float
    bad_pct: float
    good_refused_pct: float
    bad_accepted_pct: float


class WalkOut(Message):
    """How the walk goes."""

    head = Whole("a sequence")
    pace = fields.Dict(required=True, metadata={"description": "Rooms, fixtures and readings an hour, and hours left"})
    lots = ListOf(fields.Dict(), "lots", "By person and tape: how many are read again, which, and what came of it")
    kinds = ListOf(
        fields.Dict(), "kinds", "Kinds with readings, and those never by this method: id, mark, how many, is_never"
    )


class StripQuery(Message):
    """Of which kind the readings are wanted."""

    kind = identifier("a kind's id")


class StripAsked(TypedDict):
    """Of which kind the readings are wanted. As read."""

    kind: str


class StripOut(Message):
    """Readings of a kind with their limits."""

    kind = identifier("a kind's id")
    mark = Text("a mark")
    readings = Whole("a count")
    lengths_ticks = ListOf(fields.Integer(), "lengths", "Ascending [1/320 mm]; of very many every so manieth")
    low_ticks = Whole("a length", "What its lamps make likely, least [1/320 mm]", allow_none=True)
    high_ticks = Whole("a length", "What its lamps make likely, most [1/320 mm]", allow_none=True)
    trusted_ticks = Whole("a length", "What every cavity is trusted to have [1/320 mm]", allow_none=True)
