"""Push and pull: operations, states of records, answers and pages. Their meaning: sync/README.md."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NotRequired, TypedDict

from marshmallow import fields, validate

from spanwalk.config import PUSH_OPERATIONS_MOST
from spanwalk.messages.forms import Flag, ListOf, Message, Object, Text, Whole, WholeText, identifier
from spanwalk.records import RECORD_ID
from spanwalk.sync.model import (
    APPLIED,
    CHILD,
    CONFLICT,
    FORK,
    HELD,
    LIFE,
    REFUSED,
    REMOVE,
    RESTORE,
    SAME,
    SET,
)

OPERATION_ID = re.compile(rf"({RECORD_ID.pattern})\.[0-9a-f]{{8}}\.(?:0|[1-9][0-9]{{0,14}})")
FACET = "[a-z][a-z0-9_]{0,39}"
COUNT_MOST = 10**9 - 1
TIME_LETTERS_MOST = 40
FACET_RIGHT = "the name of a facet: life for remove and restore, another for set"
SEEN_RIGHT = "the id of the operation whose value was seen, or null"
RESULTS = (APPLIED, SAME, CONFLICT, REFUSED, HELD, FORK)


# -- what a phone sends


class Former(Message):
    """What an operation was called before a copied phone took a new id."""

    id = Text("the first id it had")
    hash = Text("the hash of what was stored at save")


class OperationBase(Message):
    """What all three kinds of operation have; an operation of no kind is wrong by it."""

    id = Text("device.epoch.counter", pattern=OPERATION_ID.pattern)
    by = identifier("the id of a person")
    record = identifier()
    type = Text("a record type", pattern=FACET)
    facet = Text("a facet's name", pattern=FACET)
    kind = Text("set, remove or restore", among=(SET, REMOVE, RESTORE))
    settles = ListOf(Text("an id"), "a list of ids of conflicts", required=False, allow_none=True)
    replaces = Text("the id of a refused operation", required=False, allow_none=True)
    formerly = fields.Nested(Former, allow_none=True)
    device_time = Text("a time as text", "As the phone's clock says, for people", most=TIME_LETTERS_MOST)
    spec = Whole("a whole number", "Number of the spec it was made under")


class SetOperation(OperationBase):
    """A new value of a facet."""

    facet = Text(FACET_RIGHT, pattern=rf"(?!{LIFE}$){FACET}")
    kind = Text("set", among=(SET,))
    seen = Text(
        SEEN_RIGHT,
        "Id of the operation whose value the form showed; null: it showed nothing",
        required=False,
        allow_none=True,
    )
    # What was replaced is for people; it is called by a word that Python keeps for itself.
    from_ = Object(
        "the value replaced, an object, or null",
        "The value replaced, for people",
        data_key="from",
        required=False,
        allow_none=True,
    )
    to = Object("the value to be set, an object", "The facet's value, by the schema {type}_{facet}; {} empties it")


class RemoveOperation(OperationBase):
    """The removal of a record."""

    facet = Text(FACET_RIGHT, among=(LIFE,))
    kind = Text("remove", among=(REMOVE,))
    seen = Object(
        "for a removal, the operation seen of each facet",
        "By facet that was seen, the id of the operation whose value it was; by id of a record that stays below it, null",
        keys=fields.String(),
        values=fields.String(allow_none=True),
    )


class RestoreOperation(OperationBase):
    """The return of a removed record."""

    facet = Text(FACET_RIGHT, among=(LIFE,))
    kind = Text("restore", among=(RESTORE,))
    seen = Text(SEEN_RIGHT, "Id of the operation that removed it", required=False, allow_none=True)


BY_KIND: dict[str, type[OperationBase]] = {SET: SetOperation, REMOVE: RemoveOperation, RESTORE: RestoreOperation}


class AnyOperation(fields.Field[object]):
    """One of the three kinds: a wrong one is a flaw of that operation, not of the push (`services.incoming`)."""

    def _deserialize(
        self, value: object, attr: str | None, data: Mapping[str, object] | None, **more: object
    ) -> object:
        return value


class Unsent(Message):
    """How much a phone has not sent."""

    operations = Whole("a count", most=COUNT_MOST, required=False)
    photos = Whole("a count", most=COUNT_MOST, required=False)


class PushIn(Message):
    """What a phone pushes."""

    device = identifier(about="The phone's id for this site")
    epoch = Text(
        "8 hexadecimal digits in lower case",
        "As in the ids of its operations; new with each device id",
        pattern="(?:[0-9a-f]{8})?",
        required=False,
        allow_none=True,
    )
    incarnation = Text("text", "As the phone knows it", required=False, allow_none=True)
    scope = Text("text", "As the phone knows it", required=False, allow_none=True)
    unsent = fields.Nested(Unsent)
    operations = ListOf(
        AnyOperation(),
        "a list",
        "Answered in this order",
        required=False,
        validate=validate.Length(max=PUSH_OPERATIONS_MOST, error="a list of at most 1,000"),
    )


class PullQuery(Message):
    """What a phone asks for."""

    since = WholeText("Sequence that the phone has up to", load_default=0, required=False)
    limit = WholeText("Records on a page; 2,000 are the most", load_default=1000, required=False)
    device = identifier(
        about="The asking phone, whose own values are left out; not given in a full pull", required=False
    )
    incarnation = Text("text", "As the phone knows it", required=False)
    scope = Text("text", "As the phone knows it", required=False)
    unsent = WholeText("Operations not sent yet", most=COUNT_MOST, required=False)
    unsent_photos = WholeText("Photos not sent yet", most=COUNT_MOST, load_default=0, required=False)
    first_head = WholeText("In a full pull, the head of its first page", load_default=0, required=False)


class PullAsked(TypedDict):
    """What a phone asks for. As read."""

    since: int
    limit: int
    device: NotRequired[str]
    incarnation: NotRequired[str]
    scope: NotRequired[str]
    unsent: NotRequired[int]
    unsent_photos: int
    first_head: int


# -- what the server answers


class FacetState(Message):
    """A facet as it stands: who wrote it, when, and its value."""

    op = Text("an operation's id", "The operation that wrote it")
    seq = Whole("a sequence")
    by = identifier("the id of a person")
    at = Text("a time", "Device time of that operation, for people")
    via = identifier("the id of a person", "Who handed it in, where that is another", required=False)
    value = Object("a value", "Absent where the asking phone wrote it last; of `life`: {removed}", required=False)


class Conflict(Message):
    """A value that lost, and is kept until someone settles it."""

    id = Text("an operation's id")
    facet = Text("a facet's name")
    op = Text("an operation's id", "The operation that lost: the same as `id`")
    by = identifier("the id of a person")
    at = Text("a time", "Device time of that operation, for people")
    seq = Whole("a sequence")
    value = Object("a value", "What it would have set; of `life`: {removed}")
    kind = Text("a kind", among=(SET, REMOVE, RESTORE, CHILD))
    device = identifier("a phone's id")
    via = identifier("the id of a person", "Who handed it in, where that is another", required=False)
    child = identifier(
        "a record's id", "Of kind `child` only: the record that lives under this removed one", required=False
    )


class State(Message):
    """A record as the server has it."""

    id = identifier("a record's id")
    type = Text("a record type")
    parent = identifier("a record's id", "The record it stands under; null of the site", allow_none=True)
    seq = Whole("a sequence", "The newest that changed it")
    removed = Flag()
    facets = Object("facets by name", keys=fields.String(), values=fields.Nested(FacetState))
    conflicts = ListOf(fields.Nested(Conflict), "conflicts", "The open ones")


class Answer(Message):
    """What became of one operation."""

    id = Text("an operation's id", "As it was sent; null where that was no text", allow_none=True)
    result = Text("a result", among=RESULTS)
    seq = Whole("a sequence", "Of applied, same and conflict", required=False)
    record = fields.Nested(
        State, metadata={"description": "Of same and conflict: the record now, if the role reads it"}
    )
    code = Text("a code", "Of refused: why", required=False)
    facts = Object("facts", "Of refused: field, value, what would be right", required=False)


class PushOut(Message):
    """The answers to a push, in its order."""

    incarnation = Text("text", "Which life of the database this is")
    scope = Text("text", "What a copy of who asks covers")
    head = Whole("a sequence", "The last one given out")
    backed_up = Whole("a sequence", "Up to which a backup holds the site")
    answers = ListOf(fields.Nested(Answer), "answers", "In the order of the operations")


class PullOut(Message):
    """A page of records."""

    incarnation = Text("text", "Which life of the database this is")
    scope = Text("text", "What a copy of who asks covers")
    head = Whole("a sequence", "The last one given out")
    next = Whole("a sequence", "The next page's `since`")
    more = Flag(about="Whether another page follows")
    records = ListOf(fields.Nested(State), "records", "In the order of their sequences")
    count = Whole("a count", "On the last page: records in the sum", required=False)
    sum = Text(
        "64 hexadecimal digits", "On the last page: sum of the records' hashes", pattern="[0-9a-f]{64}", required=False
    )
    backed_up = Whole("a sequence", "Up to which a backup holds the site")
