"""A push as it came over the wire: JSON text to operations, each with its flaw if its form is wrong."""

from __future__ import annotations

import json
import re
import zlib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from hashlib import sha256
from operator import itemgetter
from typing import Any

import orjson

from spanwalk import records
from spanwalk.config import PUSH_BYTES_MOST, PUSH_OPERATIONS_MOST
from spanwalk.reference import tables
from spanwalk.rules.combinations import broken, rows_of
from spanwalk.services.refusals import TooLarge, WrongInput
from spanwalk.sync.canonical import tidy
from spanwalk.sync.model import IDENTITY, LIFE, REMOVE, RESTORE, SET, Flaw, Operation, Reference
from spanwalk.sync.nesting import NESTED_MOST, cut, nested_beyond

Json = Any
OPERATION_ID = re.compile(
    r"([0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12})\.[0-9a-f]{8}\.(?:0|[1-9][0-9]{0,14})"
)
EPOCH = re.compile(r"[0-9a-f]{8}")
FACET = re.compile(r"[a-z][a-z0-9_]{0,39}")
TIME_LETTERS_MOST = 40


@dataclass
class Push:
    """What a phone sent: who it is, what it takes the server to be, and its operations.

    `nameless` are the places and raw ids of operations that have no usable id.
    """

    device: str
    epoch: str
    incarnation: str | None
    scope: str | None
    unsent_operations: int
    unsent_photos: int
    operations: list[Operation] = field(default_factory=list)
    order: list[Operation | Json] = field(default_factory=list)


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
    raw = _of_type(body, "operations", list, [])
    if len(raw) > PUSH_OPERATIONS_MOST:
        raise TooLarge("push-too-many", value=len(raw), most=PUSH_OPERATIONS_MOST)
    push = _envelope(body)
    push.order = [_parse_one(each) for each in raw]
    push.operations = [each for each in push.order if isinstance(each, Operation)]
    check_values(push.operations)
    return push


def _json(data: bytes) -> Json:
    try:
        return orjson.loads(data)
    except orjson.JSONDecodeError:
        pass
    try:  # half a surrogate pair in one note must not hold back the other operations
        return json.loads(data, parse_constant=lambda name: None)
    except (ValueError, RecursionError):
        raise WrongInput("push-not-json") from None


def _parse_one(plain: Json) -> Operation | Json:
    """An operation, or what stands in the place of one that has no usable id. What is nested too deep is cut off there."""
    if not nested_beyond(plain):
        return parse_operation(plain) or plain
    shallow = cut(plain)
    operation = parse_operation(shallow)
    if operation is None:
        return shallow
    operation.flaw = Flaw("nested-too-deep", {"most": NESTED_MOST})
    return operation


def _envelope(body: dict[str, Json]) -> Push:
    for name, value in body.items():
        if name != "operations" and nested_beyond(value):
            right = f"nested {NESTED_MOST} deep at most"
            raise WrongInput("push-field-wrong", field=_short(name), value="nested deeper", right=right)
    device = body.get("device")
    if not records.is_record_id(device):
        raise WrongInput(
            "push-field-wrong", field="device", value=_short(device), right="a UUID in lower case"
        )
    epoch = _of_type(body, "epoch", str, "")
    if epoch and EPOCH.fullmatch(epoch) is None:
        right = "8 hexadecimal digits in lower case"
        raise WrongInput("push-field-wrong", field="epoch", value=_short(epoch), right=right)
    unsent = _of_type(body, "unsent", dict, {})
    return Push(
        device=str(device),
        epoch=epoch,
        incarnation=_of_type(body, "incarnation", str, None),
        scope=_of_type(body, "scope", str, None),
        unsent_operations=_count(unsent, "operations"),
        unsent_photos=_count(unsent, "photos"),
    )


RIGHT_OF: dict[type, str] = {list: "a list", dict: "an object", str: "text"}


def _of_type(body: dict[str, Json], name: str, kind: type, default: Json) -> Json:
    value = body.get(name)
    if value is None:
        return default
    if not isinstance(value, kind):
        right = RIGHT_OF[kind]
        raise WrongInput("push-field-wrong", field=name, value=_short(value), right=right)
    return value


def _count(unsent: dict[str, Json], name: str) -> int:
    value = unsent.get(name, 0)
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 10**9:
        raise WrongInput("push-field-wrong", field=f"unsent.{name}", value=_short(value), right="a count")
    return value


def parse_operation(plain: Json) -> Operation | None:
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
        return _plainly(plain, named[1], body, hashed)
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


def _plainly(plain: dict[str, Json], device: str, body: str, hashed: str) -> Operation:
    """An operation whose fixed fields are right beyond doubt, without asking again."""
    get = plain.get
    return Operation(
        plain["id"], device, plain["by"], plain["record"], plain["type"], plain["facet"], SET, get("seen"),
        plain["to"], (), None, _former(get("formerly")), plain["device_time"], hashed, body, plain["spec"],
    )  # fmt: skip


def _texts(plain: dict[str, Json]) -> tuple[str | None, str]:
    """The operation's text and its hash; no text if it holds what no store can keep."""
    bare = {key: value for key, value in plain.items() if key not in ("id", "formerly")}
    try:
        text = orjson.dumps(bare, option=orjson.OPT_SORT_KEYS)
        return orjson.dumps(plain, option=orjson.OPT_SORT_KEYS).decode(), sha256(text).hexdigest()
    except TypeError:  # half a surrogate pair, or an integer beyond 64 bits
        return None, sha256(json.dumps(bare, sort_keys=True).encode()).hexdigest()


def _text(value: Json) -> str:
    return value if isinstance(value, str) and records.storable(value) else ""


def _former(value: Json) -> tuple[str, str] | None:
    if not isinstance(value, dict):
        return None
    former, hashed = _text(value.get("id")), _text(value.get("hash"))
    return (former, hashed) if former and hashed else None


def _well_formed(plain: dict[str, Json]) -> bool:
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
        and plain.get("settles") in (None, [])
        and plain.get("replaces") is None
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


def _form_flaw(plain: dict[str, Json]) -> Flaw | None:
    """The first fixed field that is wrong."""
    for name, right, good in FIXED:
        if not good(plain.get(name)):
            return Flaw(
                "operation-field-wrong", {"field": name, "value": _short(plain.get(name)), "right": right}
            )
    return _kind_flaw(plain) or _spec_flaw(plain)


def _kind_flaw(plain: dict[str, Json]) -> Flaw | None:
    kind, facet, seen = plain["kind"], plain["facet"], plain.get("seen")
    if (kind == SET) == (facet == LIFE):
        right = "life for remove and restore, another facet for set"
        return Flaw("operation-field-wrong", {"field": "facet", "value": facet, "right": right})
    if kind == REMOVE and not _ids_by_facet(seen):
        right = "for a removal, the operation seen of each facet"
        return Flaw("operation-field-wrong", {"field": "seen", "value": _short(seen), "right": right})
    if kind != REMOVE and not (seen is None or isinstance(seen, str)):
        right = "the id of the operation whose value was seen, or null"
        return Flaw("operation-field-wrong", {"field": "seen", "value": _short(seen), "right": right})
    if kind == SET and not isinstance(plain.get("to"), dict):
        right = "the value to be set, an object"
        return Flaw(
            "operation-field-wrong", {"field": "to", "value": _short(plain.get("to")), "right": right}
        )
    return None


def _spec_flaw(plain: dict[str, Json]) -> Flaw | None:
    known = records.spec()
    if plain["type"] not in known.types:
        return Flaw(
            "record-type-unknown", {"type": plain["type"], "spec": plain["spec"], "ours": known.number}
        )
    if plain["facet"] != LIFE and plain["facet"] not in known.types[plain["type"]].facets:
        if plain["spec"] > known.number:
            return None
        right = sorted(known.types[plain["type"]].facets)
        return Flaw("facet-unknown", {"type": plain["type"], "facet": plain["facet"], "right": right})
    return None


def _ids_by_facet(seen: Json) -> bool:
    return isinstance(seen, dict) and all(value is None or isinstance(value, str) for value in seen.values())


def _is_texts(value: Json) -> bool:
    return value is None or (isinstance(value, list) and all(isinstance(item, str) for item in value))


FIXED = (
    ("by", "the id of a person", records.is_record_id),
    ("record", "a UUID in lower case", records.is_record_id),
    ("type", "a record type", lambda v: isinstance(v, str) and bool(FACET.fullmatch(v))),
    ("facet", "a facet's name", lambda v: isinstance(v, str) and bool(FACET.fullmatch(v))),
    ("kind", "set, remove or restore", lambda v: v in (SET, REMOVE, RESTORE)),
    ("settles", "a list of ids of conflicts", _is_texts),
    ("replaces", "the id of a refused operation", lambda v: v is None or isinstance(v, str)),
    ("device_time", "a time as text", lambda v: isinstance(v, str) and len(v) <= TIME_LETTERS_MOST),
    ("spec", "a whole number", lambda v: isinstance(v, int) and not isinstance(v, bool)),
)


def check_values(operations: Iterable[Operation]) -> None:
    """Check the values of a batch, all those of one facet at once, and find what they refer to."""
    groups: dict[tuple[str, str, bool], list[Operation]] = defaultdict(list)
    for operation in operations:
        if operation.flaw is None and operation.kind == SET:
            groups[operation.type, operation.facet, _newer(operation)].append(operation)
    for (type_name, facet, newer), group in groups.items():
        _check_group(type_name, facet, newer, group)
        for operation in group:
            if operation.flaw is None:
                operation.references = _references(operation)


def _check_group(type_name: str, facet: str, newer: bool, group: list[Operation]) -> None:
    """Only what is not right beyond doubt goes through its schema, its numbers made whole where they are."""
    doubtful = [each for each in group if not records.plainly_right(type_name, facet, each.to)]
    for operation in doubtful:
        operation.to = tidy(operation.to)
    wrong = records.check_values(type_name, facet, [each.to for each in doubtful], newer)
    for place, found in wrong.items():
        doubtful[place].flaw = Flaw(found.code, found.facts)
    rows = rows_of(type_name, facet, tables())
    for operation in group if rows else ():
        if operation.flaw is None:
            operation.flaw = _combination_flaw(type_name, facet, operation.to or {}, rows)


def _combination_flaw(type_name: str, facet: str, value: Json, rows: list[Mapping[str, Json]]) -> Flaw | None:
    """The first of its values that do not go together."""
    found = broken(value, rows, records.told_fields(type_name, facet))
    if not found:
        return None
    where = {"type": type_name, "facet": facet, "where": records.where(type_name, facet), "field": found[0]["field"]}
    return Flaw(found[0]["code"], where | found[0]["facts"])


def _newer(operation: Operation) -> bool:
    return operation.spec > records.spec().number


def _references(operation: Operation) -> tuple[Reference, ...]:
    found = records.references(operation.type, operation.facet, operation.to or {})
    return tuple(Reference(*each) for each in found)


def _short(value: Json) -> Json:
    return records._short(value)


__all__ = ["IDENTITY", "Push", "check_values", "parse_operation", "parse_push", "unpack"]
