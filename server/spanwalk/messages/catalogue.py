"""What travels about the firm's catalogue: how a site stands to it, what taking does, what was taken, what uses an item."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from marshmallow import fields

from spanwalk.config import PUSH_OPERATIONS_MOST
from spanwalk.messages.forms import Flag, ListOf, Message, Object, Text, Whole, identifier
from spanwalk.records import RECORD_ID


def _nested(message: type[Message], allow_none: bool = False) -> fields.Nested:
    about = {"description": str(message.__doc__)}
    return fields.Nested(message, required=True, allow_none=allow_none, metadata=about)


def _list(message: type[Message], about: str) -> ListOf:
    return ListOf(fields.Nested(message), about, about)


def _sum(about: str) -> fields.Float:
    return fields.Float(required=True, allow_none=True, metadata={"description": about})


ITEMS = ListOf(
    fields.String(metadata={"pattern": f"^{RECORD_ID.pattern}$"}),
    "a list of items' ids",
    metadata={
        "maxItems": PUSH_OPERATIONS_MOST,
        "description": "Items that are chosen; not given: all that the firm changed",
    },
    required=False,
    allow_none=True,
)


class CatalogueIn(Message):
    """The firm's catalogue, if it is not there yet."""

    name = Text(
        "text of 1 to 80 letters",
        "What it is called when it is made",
        least=1,
        most=80,
        required=False,
        allow_none=True,
    )


class CatalogueKept(TypedDict):
    """The firm's catalogue, if it is not there yet. As read."""

    name: NotRequired[str | None]


class EffectsIn(Message):
    """Which items would be taken."""

    items = ITEMS


class EffectsAsked(TypedDict):
    """Which items would be taken. As read."""

    items: NotRequired[list[str] | None]


class TakeIn(Message):
    """Which items are taken."""

    items = ITEMS
    head = Whole(
        "a whole number",
        "Sequence of the firm's catalogue whose differences were looked at; refused if it has moved",
        required=False,
        allow_none=True,
    )


class TakeAsked(TypedDict):
    """Which items are taken. As read."""

    items: NotRequired[list[str] | None]
    head: NotRequired[int | None]


class CatalogueOut(Message):
    """The site that holds the firm's catalogue."""

    id = identifier("a site's id")
    name = Text("a name")


class VersionOut(Message):
    """A version of the firm's catalogue that a site took."""

    catalogue = identifier("a site's id", "The site that holds it")
    sequence = Whole("a sequence", "Of that site when it was taken")
    name = Text("a name")
    left = Whole("a count", "Changed items that were not taken then")


class FirmOut(Message):
    """The firm's catalogue as it is now."""

    id = identifier("a site's id")
    head = Whole("a sequence")
    items = Whole("a count", "Items in it")


class FieldChangeOut(Message):
    """A field that differs."""

    type = Text("a type of record", "The item, or its price")
    facet = Text("a facet")
    field = Text("a field")
    here = fields.Raw(required=True, allow_none=True, metadata={"description": "What the site has; null: nothing"})
    firm = fields.Raw(required=True, allow_none=True, metadata={"description": "What the firm has; null: nothing"})


class ItemDifferenceOut(Message):
    """An item that differs."""

    item = identifier("an item's id")
    sort = Text("a sort of item")
    code = Text("a code")
    name = Text("a name")
    change = Text("what differs", among=("new", "changed", "removed", "removed-here"))
    whose = Text("whose change", "The firm's since it was taken, or the site's own", among=("firm", "own"))
    same_code = Flag(about="Whether the site has another item of that code")
    fields_ = ListOf(fields.Nested(FieldChangeOut), "fields", "Fields that differ", data_key="fields")


class ChangedSinceOut(Message):
    """How a site stands to the firm's catalogue."""

    taken = _nested(VersionOut, allow_none=True)
    firm = _nested(FirmOut, allow_none=True)
    items = Whole("a count", "Items of the site")
    own_items = Whole("a count", "Of these, items that the firm's catalogue has not got")
    differences = _list(ItemDifferenceOut, "items that differ")


class TakenOut(Message):
    """What was taken."""

    items = Whole("a count", "Items")
    operations = Whole("a count", "Operations that it took")
    version = _nested(VersionOut)


class UsingOut(Message):
    """Groups of a kind that are planned with a changed item now."""

    kind = identifier("a kind's id")
    mark = Text("a mark")
    groups = Whole("a count")


class OtherwiseOut(Message):
    """A group that would be planned otherwise."""

    group = identifier("a group's id")
    room_name = Text("a name")
    floor_name = Text("a name")
    mark = Text("a kind's mark")
    fixtures = Whole("a count", allow_none=True)
    state_from = Text("a state")
    state_to = Text("a state")
    arrangement_from = Text("an arrangement", allow_none=True)
    arrangement_to = Text("an arrangement", allow_none=True)
    cost_from = _sum("What it costs now; null: not known")
    cost_to = _sum("What it would cost; null: not known")


class EffectsOut(Message):
    """What taking would do to the plan."""

    groups = Whole("a count", "Groups that are planned")
    using = _list(UsingOut, "kinds that use the items now")
    otherwise = Whole(
        "a count", "Groups that would be planned otherwise; null: too many to plan again", allow_none=True
    )
    told = _list(OtherwiseOut, "the first of them")


class UseOut(Message):
    """What uses an item."""

    item = identifier("an item's id")
    groups = Whole("a count", "Groups planned with it")
    fixtures = Whole("a count", "Their fixtures")
    decided = Whole("a count", "Of these groups, those whose arrangement a manager decided")
    trial_bars = Whole("a count")
    releases = ListOf(Whole("a number"), "numbers", "Releases that freeze it")
    sites = ListOf(Object("a site"), "sites", "Of the firm's catalogue: buildings of who asks that have the item")


class UsesOut(Message):
    """What uses each item; those that nothing uses are left out."""

    uses = _list(UseOut, "uses")
