"""What is asked of the best order for a whole site, and how its answer comes: line by line, as it is found."""

from __future__ import annotations

from marshmallow import fields, validate

from spanwalk.messages.forms import Amount, Flag, ListOf, Message, Text, Whole, identifier

DECISIONS = ("convert-as-recommended", "convert-with-this-arrangement", "leave-as-is", "defer")
GROUPS_MOST = 40_000
ITEMS_MOST = 5_000
SECONDS_MOST = 300


def _id(about: str) -> Text:
    return identifier(about=about, required=False, allow_none=True)


class ScopeIn(Message):
    """Of which groups something is asked: all that is said must hold."""

    floor = _id("Only of this floor")
    room = _id("Only of this room")
    kind = _id("Only of this kind")
    space_type = Text(
        "the code of a space", "Only of rooms of this use", least=1, most=80, required=False, allow_none=True
    )


class DecidedIn(Message):
    """What would be decided for a group."""

    group = identifier("a group's id")
    decision = Text(f"one of {', '.join(DECISIONS)}", "The decision", among=DECISIONS)
    arrangement = Text("text of 1 to 200 letters", "The arrangement by name", least=1, most=200, required=False)


class DecisionsIn(Message):
    """Decisions of which it is asked what they would change."""

    decided = ListOf(
        fields.Nested(DecidedIn),
        "a list of decisions",
        "What would be decided",
        validate=validate.Length(max=GROUPS_MOST),
    )
    each_item = Amount("What each different item costs beside its price [currency]", required=False)
    keep_decided = Flag(about="Groups that a person decided for themselves stay", required=False)


class OrderIn(Message):
    """Rules that the best order has to keep to; without any, the least cost is looked for among all that passes."""

    each_item = Amount("What each different item costs beside its price [currency]", required=False)
    budget = Amount(
        "Most that the job may cost before rebates [currency]; groups may then be left for later",
        required=False,
        allow_none=True,
    )
    least_light_pct = Amount("No group gets less of today's light [%]", most=1000, required=False, allow_none=True)
    same_look = Flag(about="The same look in one room", required=False)
    one_colour = Flag(about="One colour temperature on the whole site", required=False)
    no_dark_columns = Flag(about="No empty row under a louvre", required=False)
    items = ListOf(
        identifier("a catalogue item's id"),
        "a list of catalogue items' ids",
        "Only these bars and drivers",
        validate=validate.Length(max=ITEMS_MOST),
        required=False,
        allow_none=True,
    )
    keep_decided = Flag(
        about="Groups that a person decided for themselves stay; released and fitted ones stay always", required=False
    )
    bars_each = Whole(
        "a whole number from 1 to 24", "So many bars in each fixture", least=1, most=24, required=False, allow_none=True
    )
    scope = fields.Nested(ScopeIn, required=False, metadata={"description": "Of which groups; all others stay"})
    seconds = Whole("a whole number from 1 to 300", "How long to look [s]", least=1, most=SECONDS_MOST, required=False)


class DifferenceOut(Message):
    """Other decisions beside today's."""

    head = Whole("a sequence", "What was planned from")
    currency = Text("a currency", "Empty where nobody said")
    today = fields.Dict(required=True, metadata={"description": "What the ready groups come to today"})
    best = fields.Dict(required=True, metadata={"description": "What they come to with the decisions"})
    saved = fields.Float(
        required=True, allow_none=True, metadata={"description": "What the life-cycle cost falls by; null: not known"}
    )
    each_item = fields.Float(
        required=True, metadata={"description": "What each different item costs beside its price, as it was asked"}
    )
    items = ListOf(fields.Dict(), "items", "Items of which another number is bought: code, today, best")
    changes = ListOf(fields.Dict(), "groups", "Each group with what it would become, and what it is today")
    fixed = fields.Dict(
        required=True,
        metadata={"description": "How many groups are left alone, by why: fitted, released, by-hand"},
    )


class NotPayingOut(Message):
    """Ready groups that cost the job more than they save."""

    head = Whole("a sequence", "What was planned from")
    currency = Text("a currency", "Empty where nobody said")
    groups = ListOf(
        fields.Dict(), "groups", "Those that nobody has decided on: room, mark, fixtures, part of the value"
    )
    kept = ListOf(fields.Dict(), "groups", "Those that somebody decided to convert all the same")
    gain = fields.Float(
        required=True,
        allow_none=True,
        metadata={"description": "What the life-cycle cost falls by if those undecided are left; null: not known"},
    )
