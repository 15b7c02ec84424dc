"""Messages of offers and change orders."""

from __future__ import annotations

from typing import TypedDict

from marshmallow import fields

from spanwalk.messages.forms import ListOf, Message, Text, Whole, WholeText

DAYS_MOST = 365
NOTE_MOST = 500


class OfferQuery(Message):
    """How long an offer is valid, and what else the customer is told."""

    days = WholeText("Valid for so many days", most=DAYS_MOST, load_default=30, required=False)
    note = Text(f"text of at most {NOTE_MOST} letters", most=NOTE_MOST, load_default="", required=False)


class OfferAsked(TypedDict):
    """How long an offer is valid [days], and what else the customer is told. As read."""

    days: int
    note: str


class ChangeQuery(Message):
    """Between which releases."""

    one = Text("the number of a release", "The earlier one", most=10, data_key="from")
    other = Text("the number of a release", "The later one", most=10, data_key="to")
    reason = Text(f"text of at most {NOTE_MOST} letters", "Why", most=NOTE_MOST, load_default="", required=False)


class ChangeAsked(TypedDict):
    """Between which releases, and why. As read."""

    one: str
    other: str
    reason: str


class OptionOut(Message):
    """One way for the whole site."""

    name = Text("a name", "today, planned, leanest or released")
    groups = Whole("groups")
    fixtures = Whole("fixtures")
    items = Whole("different items")
    kwh_now = fields.Float(allow_none=True)
    kwh_then = fields.Float(allow_none=True)
    money = fields.Dict(metadata={"description": "Figures by name; null where one cannot be told"})


class OfferOut(Message):
    """What an offer would set side by side now."""

    currency = Text("a currency", "Empty where nobody said")
    options = ListOf(fields.Nested(OptionOut), "options")
