"""The envelopes of push and pull for the OpenAPI document; `services.incoming` does the reading."""

from __future__ import annotations

from typing import Any

from marshmallow import Schema, fields, validate

RESULTS = ("applied", "same", "conflict", "refused", "held", "fork")


class UnsentSchema(Schema):
    """How much a phone has not sent."""

    operations = fields.Integer()
    photos = fields.Integer()


class FormerSchema(Schema):
    """What an operation was called before a copied phone took a new id."""

    id = fields.String(required=True)
    hash = fields.String(required=True)


class OperationSchema(Schema):
    """One change of one facet."""

    id = fields.String(required=True, metadata={"description": "device.epoch.counter"})
    by = fields.UUID(required=True)
    record = fields.UUID(required=True)
    type = fields.String(required=True)
    facet = fields.String(required=True)
    kind = fields.String(required=True, validate=validate.OneOf(["set", "remove", "restore"]))
    seen = fields.Raw(
        allow_none=True,
        metadata={"description": "Id of the operation whose value was seen; for a removal, by facet"},
    )
    to = fields.Dict(allow_none=True, metadata={"description": "The facet's value: schema {type}_{facet}"})
    settles = fields.List(fields.String())
    replaces = fields.String()
    formerly = fields.Nested(FormerSchema)
    device_time = fields.String(required=True)
    spec = fields.Integer(required=True)


class PushIn(Schema):
    """What a phone pushes."""

    device = fields.UUID(required=True)
    epoch = fields.String()
    incarnation = fields.String(allow_none=True)
    scope = fields.String(allow_none=True)
    unsent = fields.Nested(UnsentSchema)
    operations = fields.List(fields.Nested(OperationSchema), validate=validate.Length(max=1000))


class FacetStateSchema(Schema):
    """A facet as it stands: who wrote it, when, and its value."""

    op = fields.String(required=True)
    seq = fields.Integer(required=True)
    by = fields.UUID(required=True)
    at = fields.String(required=True)
    value = fields.Dict(metadata={"description": "Absent if the asking device wrote it last"})


class ConflictSchema(Schema):
    """A value that lost, and is kept until someone settles it."""

    id = fields.String(required=True)
    facet = fields.String(required=True)
    op = fields.String(required=True)
    by = fields.UUID(required=True)
    at = fields.String(required=True)
    seq = fields.Integer(required=True)
    value = fields.Dict(required=True)
    kind = fields.String(required=True, validate=validate.OneOf(["set", "remove", "restore", "child"]))
    device = fields.UUID(required=True)


class StateSchema(Schema):
    """A record as the server has it."""

    id = fields.UUID(required=True)
    type = fields.String(required=True)
    parent = fields.UUID(allow_none=True)
    seq = fields.Integer(required=True)
    removed = fields.Boolean(required=True)
    facets = fields.Dict(keys=fields.String(), values=fields.Nested(FacetStateSchema))
    conflicts = fields.List(fields.Nested(ConflictSchema))


class AnswerSchema(Schema):
    """What became of one operation."""

    id = fields.String(required=True)
    result = fields.String(required=True, validate=validate.OneOf(RESULTS))
    seq = fields.Integer()
    record = fields.Nested(StateSchema)
    code = fields.String()
    facts = fields.Dict()


class PushOut(Schema):
    """The answers to a push, in its order."""

    incarnation = fields.String(required=True)
    scope = fields.String(required=True)
    head = fields.Integer(required=True)
    backed_up = fields.Integer(metadata={"description": "Sequence up to which a backup holds the site"})
    answers = fields.List(fields.Nested(AnswerSchema), required=True)


class PullOut(Schema):
    """A page of records."""

    incarnation = fields.String(required=True)
    scope = fields.String(required=True)
    head = fields.Integer(required=True)
    next = fields.Integer(required=True, metadata={"description": "The next page's `since`"})
    more = fields.Boolean(required=True)
    records = fields.List(fields.Nested(StateSchema), required=True)
    count = fields.Integer(metadata={"description": "On the last page: records in the sum"})
    sum = fields.String(metadata={"description": "On the last page: sum of the records' hashes, 64 hexadecimal digits"})
    backed_up = fields.Integer()


class ProblemOut(Schema):
    """Problem details, RFC 9457."""

    type = fields.String(required=True)
    title = fields.String(required=True)
    status = fields.Integer(required=True)
    detail = fields.String(required=True)
    code = fields.String(required=True)


def pull_parameters() -> list[dict[str, Any]]:
    """The query of a pull."""
    told = {
        "since": ("integer", "Sequence that the phone has up to"),
        "limit": ("integer", "Records on a page, at most 2,000"),
        "device": ("string", "The asking device; left out in a full pull"),
        "incarnation": ("string", "As the phone knows it"),
        "scope": ("string", "As the phone knows it"),
        "unsent": ("integer", "Operations not sent yet"),
        "unsent_photos": ("integer", "Photos not sent yet"),
        "first_head": ("integer", "In a full pull, the head of its first page"),
    }
    return [
        {"in": "query", "name": name, "schema": {"type": kind}, "description": words}
        for name, (kind, words) in told.items()
    ]
