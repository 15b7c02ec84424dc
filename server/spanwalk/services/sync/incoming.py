"""A push as it came over the wire: JSON text to operations, each with its flaw if its form is wrong."""

from __future__ import annotations

import json
import zlib
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from hashlib import sha256
from operator import itemgetter
from typing import TypedDict, cast

import orjson
from marshmallow import ValidationError

from spanwalk import records, spec_1
from spanwalk.config import PUSH_BYTES_MOST, PUSH_OPERATIONS_MOST
from spanwalk.messages.forms import WHOLE_MOST, first_wrong
from spanwalk.messages.sync import BY_KIND, OPERATION_ID, TIME_LETTERS_MOST, OperationBase, PushIn
from spanwalk.reference import tables
from spanwalk.rules.combinations import broken, rows_of
from spanwalk.rules.record_view import Row
from spanwalk.services.days import is_known_zone
from spanwalk.services.refusals import TooLarge, WrongInput
from spanwalk.sync.canonical import tidy
from spanwalk.sync.model import IDENTITY, LIFE, SET, Flaw, Operation, Reference
from spanwalk.sync.nesting import NESTED_MOST, cut, nested_beyond

ZONE = "zone"
"""The field type of time zones."""
PUSH_IN = PushIn()
OPERATIONS = {kind: message() for kind, message in BY_KIND.items()}
ANY_KIND = OperationBase()


@dataclass
class Push:
    """What a phone sent: who it is, what it takes the server to be, and its operations.

    `order` has each in its place; one without a usable id stands there as it came.
    """

    device: str
    incarnation: str | None
    unsent_operations: int
    unsent_photos: int
    operations: list[Operation] = field(default_factory=list)
    order: list[Operation | object] = field(default_factory=list)


def unpack(data: bytes, encoding: str | None) -> bytes:
    """The body of a request, unzipped if it says that it is zipped, never more than the limit.

    Raises
    ------
    TooLarge
        More than 4 MB.
    WrongInput
        Not gzip though it says so, or another encoding.
    """
    if encoding in (None, "", "identity"):
        if len(data) > PUSH_BYTES_MOST:
            raise TooLarge("push-too-large", most=PUSH_BYTES_MOST)
        return data
    if encoding != "gzip":
        raise WrongInput("encoding-unknown", value=encoding)
    unzip = zlib.decompressobj(31)
    try:
        plain = unzip.decompress(data, PUSH_BYTES_MOST + 1)
    except zlib.error:
        raise WrongInput("push-not-gzip") from None
    if len(plain) > PUSH_BYTES_MOST:
        raise TooLarge("push-too-large", most=PUSH_BYTES_MOST)
    if not unzip.eof:
        raise WrongInput("push-not-gzip")
    return plain


def parse_push(data: bytes) -> Push:
    """Read a push.

    Parameters
    ----------
    data : bytes
        JSON text.

    Returns
    -------
    Push
        Its operations in order; those with a wrong form carry a flaw.

    Raises
    ------
    WrongInput
        Not JSON, or an envelope in which a field is missing or wrong.
    TooLarge
        More than 1,000 operations.
    """
    body = _json(data)
    if not isinstance(body, dict):
        raise WrongInput("push-not-object")
    raw = body.get("operations", [])
    if isinstance(raw, list) and len(raw) > PUSH_OPERATIONS_MOST:
        raise TooLarge("push-too-many", value=len(raw), most=PUSH_OPERATIONS_MOST)
    push = _envelope(body)
    push.order = [_parse_one(each) for each in raw]
    push.operations = [each for each in push.order if isinstance(each, Operation)]
    check_values(push.operations)
    return push


def _json(data: bytes) -> object:
    try:
        return orjson.loads(data)
    except orjson.JSONDecodeError:
        pass
    try:  # half a surrogate pair in one note must not hold back the other operations
        return json.loads(data, parse_constant=lambda name: None)
    except (ValueError, RecursionError):
        raise WrongInput("push-not-json") from None


def _parse_one(plain: object) -> Operation | object:
    """An operation, or what stands in the place of one that has no usable id. What is nested too deep is cut off there."""
    if not nested_beyond(plain):
        return parse_operation(plain) or plain
    shallow = cut(plain)
    operation = parse_operation(shallow)
    if operation is None:
        return shallow
    operation.flaw = Flaw("nested-too-deep", {"most": NESTED_MOST})
    return operation


def _envelope(body: dict[str, object]) -> Push:
    """The envelope, read by the message that is documented."""
    for name, value in body.items():
        if name != "operations" and nested_beyond(value):
            right = f"nested {NESTED_MOST} deep at most"
            raise WrongInput("push-field-wrong", field=records.short(name), value="nested deeper", right=right)
    try:
        told = PUSH_IN.load(body)
    except ValidationError as wrong:
        raise WrongInput("push-field-wrong", **first_wrong(PUSH_IN, wrong.messages_dict, body).facts) from None
    unsent = told.get("unsent", {})
    return Push(
        device=told["device"],
        incarnation=told.get("incarnation"),
        unsent_operations=unsent.get("operations", 0),
        unsent_photos=unsent.get("photos", 0),
    )


def parse_operation(plain: object) -> Operation | None:
    """One operation, its fixed fields checked; None if it has no usable id to answer to."""
    if not isinstance(plain, dict) or not isinstance(plain.get("id"), str):
        return None
    named = OPERATION_ID.fullmatch(plain["id"])
    if named is None:
        return None
    well_formed = _well_formed(plain)
    flaw = None if well_formed else _form_flaw(plain)
    body, hashed = _texts(plain)
    if body is not None and well_formed:
        return _plainly(cast("SetOnWire", plain), named[1], body, hashed)
    if body is None:
        flaw, body = Flaw("text-not-storable", {"where": "", "title": "Text"}), json.dumps(plain)
    to = plain.get("to")
    return Operation(
        id=plain["id"],
        device=named[1],
        by=_text(plain.get("by")),
        record=_text(plain.get("record")),
        type=_text(plain.get("type")),
        facet=_text(plain.get("facet")),
        kind=_text(plain.get("kind")),
        seen=plain.get("seen") if flaw is None else None,
        to=to if isinstance(to, dict) else None,
        settles=tuple(plain.get("settles") or ()) if flaw is None else (),
        replaces=plain.get("replaces") if flaw is None else None,
        formerly=_former(plain.get("formerly")),
        device_time=_text(plain.get("device_time"))[:TIME_LETTERS_MOST],
        hash=hashed,
        body=body,
        spec=plain["spec"] if flaw is None else 0,
        flaw=flaw,
    )


class SetOnWire(TypedDict):
    """A `set` operation whose fixed fields are right, as it came."""

    id: str
    by: str
    record: str
    type: str
    facet: str
    seen: str | None
    to: dict[str, object]
    device_time: str
    spec: int


def _plainly(plain: SetOnWire, device: str, body: str, hashed: str) -> Operation:
    """An operation whose fixed fields are right beyond doubt, without asking again."""
    return Operation(
        plain["id"], device, plain["by"], plain["record"], plain["type"], plain["facet"], SET, plain["seen"],
        plain["to"], (), None, None, plain["device_time"], hashed, body, plain["spec"],
    )  # fmt: skip


def _texts(plain: dict[str, object]) -> tuple[str | None, str]:
    """The operation's text and its hash; no text if it holds what no store can keep."""
    bare = {key: value for key, value in plain.items() if key not in ("id", "formerly")}
    try:
        text = orjson.dumps(bare, option=orjson.OPT_SORT_KEYS)
        return orjson.dumps(plain, option=orjson.OPT_SORT_KEYS).decode(), sha256(text).hexdigest()
    except TypeError:  # half a surrogate pair, or an integer beyond 64 bits
        return None, sha256(json.dumps(bare, sort_keys=True).encode()).hexdigest()


def _text(value: object) -> str:
    return value if isinstance(value, str) and records.storable(value) else ""


def _former(value: object) -> tuple[str, str] | None:
    if not isinstance(value, dict):
        return None
    former, hashed = _text(value.get("id")), _text(value.get("hash"))
    return (former, hashed) if former and hashed else None


def _well_formed(plain: dict[str, object]) -> bool:
    """Whether all fixed fields are right beyond doubt: one look at what nearly all operations are."""
    try:
        by, record, type_, facet, kind, to, spec, at, seen = _ALWAYS(plain)
    except KeyError:
        return False
    return (
        kind == SET
        and type(to) is dict
        and (seen is None or type(seen) is str)
        and type(spec) is int
        and 0 <= spec <= WHOLE_MOST
        and plain.get("settles") in (None, [])
        and plain.get("replaces") is None
        and plain.get("formerly") is None
        and ((was := plain.get("from")) is None or type(was) is dict)
        and type(at) is str
        and len(at) <= TIME_LETTERS_MOST
        and records.storable(at)
        and records.is_record_id(by)
        and records.is_record_id(record)
        and type(type_) is str
        and type(facet) is str
        and (type_, facet) in _facets()
    )


_ALWAYS = itemgetter("by", "record", "type", "facet", "kind", "to", "spec", "device_time", "seen")


@cache
def _facets() -> frozenset[tuple[str, str]]:
    """Type and name of every facet of the spec."""
    return frozenset((type_, facet) for type_, record in records.spec().types.items() for facet in record.facets)


def _form_flaw(plain: dict[str, object]) -> Flaw | None:
    """The first fixed field that is wrong, by the message of its kind."""
    kind = plain.get("kind")
    message = OPERATIONS.get(kind, ANY_KIND) if isinstance(kind, str) else ANY_KIND
    errors = message.validate(plain)
    if errors:
        return Flaw("operation-field-wrong", first_wrong(message, errors, plain).facts)
    return _spec_flaw(cast("SetOnWire", plain))


def _spec_flaw(plain: SetOnWire) -> Flaw | None:
    known = records.spec()
    if plain["type"] not in known.types:
        return Flaw("record-type-unknown", {"type": plain["type"], "spec": plain["spec"], "ours": known.number})
    if plain["facet"] != LIFE and plain["facet"] not in known.types[plain["type"]].facets:
        if plain["spec"] > known.number:
            return None
        right = sorted(known.types[plain["type"]].facets)
        return Flaw("facet-unknown", {"type": plain["type"], "facet": plain["facet"], "right": right})
    return None


def check_values(operations: Iterable[Operation], newer: bool = False) -> None:
    """Check the values of a batch, all those of one facet at once, and find what they refer to.

    What was entered by spec 1 is read in codes first; the operation's own text, and its hash, stay as they came.
    What a newer spec brought is passed where the sender has one, or all of them are to be taken so.
    """
    groups: dict[tuple[str, str, bool], list[Operation]] = defaultdict(list)
    for operation in operations:
        if operation.flaw is None and operation.kind == SET:
            if operation.spec <= spec_1.LAST:
                operation.to = spec_1.in_codes(operation.type, operation.facet, operation.to or {})
            groups[operation.type, operation.facet, newer or _newer(operation)].append(operation)
    for (type_name, facet, newer), group in groups.items():
        _check_group(type_name, facet, newer, group)
        for operation in group:
            if operation.flaw is None:
                operation.references = _references(operation)


def _check_group(type_name: str, facet: str, newer: bool, group: list[Operation]) -> None:
    """Only what is not right beyond doubt goes through its schema, its numbers made whole where they are."""
    doubtful = [each for each in group if not records.plainly_right(type_name, facet, each.to)]
    for operation in doubtful:
        operation.to = cast("dict[str, object] | None", tidy(operation.to))
    wrong = records.check_values(type_name, facet, [each.to for each in doubtful], newer)
    for place, found in wrong.items():
        doubtful[place].flaw = Flaw(found.code, found.facts)
    zones = _zone_fields(type_name, facet)
    for operation in group if zones else ():
        operation.flaw = operation.flaw or _zone_flaw(type_name, facet, operation.to or {}, zones)
    rows = rows_of(type_name, facet, tables())
    for operation in group if rows else ():
        if operation.flaw is None:
            operation.flaw = _combination_flaw(type_name, facet, operation.to or {}, rows)


@cache
def _zone_fields(type_name: str, facet: str) -> tuple[str, ...]:
    if facet not in records.spec().types[type_name].facets:
        return ()
    return tuple(name for name, field in records.fields_of(type_name, facet).items() if field.type == ZONE)


def _zone_flaw(type_name: str, facet: str, value: dict[str, object], fields: Iterable[str]) -> Flaw | None:
    """A time zone that nobody knows: days would be told in UTC, and nobody would notice."""
    for name in fields:
        if name in value and not is_known_zone(str(value[name])):
            wrong = records.wrong_field(type_name, facet, name, value[name], "text-unlike")
            return Flaw(wrong.code, wrong.facts)
    return None


def _combination_flaw(type_name: str, facet: str, value: dict[str, object], rows: list[Row]) -> Flaw | None:
    """The first of its values that do not go together."""
    found = broken(value, rows, records.told_fields(type_name, facet))
    if not found:
        return None
    where: dict[str, object] = {
        "type": type_name,
        "facet": facet,
        "where": records.where(type_name, facet),
        "field": found[0]["field"],
    }
    return Flaw(found[0]["code"], where | found[0]["facts"])


def _newer(operation: Operation) -> bool:
    return operation.spec > records.spec().number


def _references(operation: Operation) -> tuple[Reference, ...]:
    found = records.references(operation.type, operation.facet, operation.to or {})
    return tuple(Reference(*each) for each in found)


__all__ = ["IDENTITY", "OPERATION_ID", "Push", "check_values", "parse_operation", "parse_push", "unpack"]
