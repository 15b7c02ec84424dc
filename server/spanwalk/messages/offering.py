"""Messages of offers and change orders."""

from __future__ import annotations

from typing import TypedDict

from marshmallow import fields

from spanwalk.messages.forms import ListOf, Message, Text, Whole, identifier
from spanwalk.messages.papers import language_of_paper

DAYS_MOST = 365
NOTE_MOST = 500


class OfferIn(Message):
    """How long an offer is valid, what else the customer is told, and in which language."""

    days = Whole(f"whole days, 1 to {DAYS_MOST}", "Valid for so many days", least=1, most=DAYS_MOST)
    note = Text(f"text of at most {NOTE_MOST} letters", most=NOTE_MOST, load_default="", required=False)
    language = language_of_paper()


class OfferAsked(TypedDict):
    """How long an offer is valid [days], what else the customer is told, and in which language. As read."""

    days: int
    note: str
    language: str


class ChangeIn(Message):
    """Between which releases, why, which offer it changes, and in which language."""

    one = Text("the number of a release", "The earlier one", most=10, data_key="from")
    other = Text("the number of a release", "The later one", most=10, data_key="to")
    reason = Text(f"text of at most {NOTE_MOST} letters", "Why", most=NOTE_MOST, load_default="", required=False)
    changes = identifier(
        "an offer's id, or null", "The offer that it changes", load_default=None, allow_none=True, required=False
    )
    language = language_of_paper()


class ChangeAsked(TypedDict):
    """Between which releases, why, which offer it changes, and in which language. As read."""

    one: str
    other: str
    reason: str
    changes: str | None
    language: str


class OfferMade(Message):
    """An offer or a change order that was made."""

    offer = identifier("an offer's id")
    number = Whole("a number")


class OptionOut(Message):
    """One way for the whole site."""

    name = Text("a name", "today, planned, leanest or released")
    groups = Whole("groups")
    fixtures = Whole("fixtures")
    items = Whole("different items")
    kwh_now = fields.Float(allow_none=True)
    kwh_then = fields.Float(allow_none=True)
    money = fields.Dict(
        metadata={"description": "Figures by name, tax the part of the cost that is tax; null where one cannot be told"}
    )


class OfferOut(Message):
    """What an offer would set side by side now."""

    currency = Text("a currency", "Empty where nobody said")
    options = ListOf(fields.Nested(OptionOut), "options")
