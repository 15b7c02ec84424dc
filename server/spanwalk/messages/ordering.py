"""Messages of orders."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from marshmallow import fields, validate

from spanwalk.messages.forms import ListOf, Message, Text, Whole, identifier

DAY = r"|[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"
DAY_RIGHT = "a day as 2026-03-01, or nothing"
NOTE_MOST = 2000
FLOORS_MOST = 400
STOPPED = (
    "Of those that are ordered for, groups that must not be converted for now, for what the survey says since stops them: "
    "group, room, room_name, floor_name, mark, fixtures that are left, and changes, which is what does. "
    "They are ordered for all the same; settle them first"
)


class FloorWanted(Message):
    """The day on which things for a floor are wanted."""

    floor = Text("a floor's name", most=80)
    on = Text(DAY_RIGHT, pattern=DAY)


class FloorDay(TypedDict):
    """The day on which things for a floor are wanted. As read."""

    floor: str
    on: str


class DraftIn(Message):
    """When things are wanted."""

    wanted_on = Text(
        DAY_RIGHT, "When what has no day of its own is wanted", pattern=DAY, load_default="", required=False
    )
    floors = ListOf(
        fields.Nested(FloorWanted),
        f"at most {FLOORS_MOST} floors with days",
        validate=validate.Length(max=FLOORS_MOST),
        load_default=list,
        required=False,
    )


class DraftAsked(TypedDict):
    """When things are wanted. As read."""

    wanted_on: str
    floors: list[FloorDay]


class OrdersIn(DraftIn):
    """What is ordered: the draft that was seen."""

    content = Text("the draft's fingerprint", "Of the draft that was seen", pattern="[0-9a-f]{64}")
    note = Text(
        f"text of at most {NOTE_MOST} letters", "For suppliers", most=NOTE_MOST, required=False, allow_none=True
    )


class OrdersAsked(DraftAsked):
    """What is ordered. As read."""

    content: str
    note: NotRequired[str | None]


class DraftOut(Message):
    """What is to be ordered for the newest release."""

    release = Whole("a number of a release")
    floors = ListOf(Text("a floor's name"), "floors")
    orders = ListOf(
        fields.Dict(),
        "orders",
        "One for each supplier: supplier, sort, against, lines, figures; fewer are below nought",
    )
    over = ListOf(fields.Dict(), "items", "Of which more is ordered than is needed, and cannot be called off")
    cautions = ListOf(fields.Dict(), "reasons", "What to know before one orders: code and facts")
    stopped = ListOf(fields.Dict(), "groups", STOPPED)
    content = Text("a fingerprint", "Of what would be ordered")


class OrderMade(Message):
    """An order that was made."""

    order = identifier("an order's id")
    number = Whole("a number")
    supplier = Text("a name", "Empty: not said in the catalogue")


class OrdersOut(Message):
    """The orders that were made."""

    orders = ListOf(fields.Nested(OrderMade), "orders")
    stopped = ListOf(fields.Dict(), "groups", STOPPED)
