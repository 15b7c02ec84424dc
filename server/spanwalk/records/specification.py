"""What a record is, read from spec/records.json: types of record, facets, fields, and the table of field types."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import NotRequired, TypedDict, cast

IDENTITY, LIFE, PARENT = "identity", "life", "parent"
REF = "ref"
"""The field type of the parent, which each record but the root has in its identity."""


class FieldTypeRow(TypedDict, total=False):
    """A row of `field_types` as it stands in the file; see `FieldType`."""

    json: str
    letters: int
    pattern: str
    format: str
    chosen: bool
    decimals: int
    items: str
    ticks: bool
    points: bool
    wrong: str
    example: str
    input: str


class _Said(TypedDict):
    type: str
    title: str
    help: NotRequired[str]
    unit: NotRequired[str]
    min: NotRequired[float]
    max: NotRequired[float]
    required: NotRequired[bool]
    since: NotRequired[int]


class FieldRow(_Said):
    """A field as it stands in the file; see `Field`."""

    choices: NotRequired[list[str]]


class FacetRow(TypedDict):
    """A facet as it stands in the file; see `Facet`."""

    title: str
    write: list[str]
    fields: dict[str, FieldRow]
    since: NotRequired[int]
    read: NotRequired[list[str]]


class RecordRow(TypedDict):
    """A type of record as it stands in the file; see `RecordType`."""

    title: str
    parent: str | None
    read: list[str]
    facets: dict[str, FacetRow]
    since: NotRequired[int]


class SpecDocument(TypedDict):
    """The file."""

    spec: int
    field_types: dict[str, FieldTypeRow]
    records: dict[str, RecordRow]


@dataclass(frozen=True)
class FieldType:
    """A row of the table `field_types`: all that checks, documents and forms know of a type of field.

    `json` is `string`, `integer`, `number`, `boolean`, `array` or `any`. The rest narrows it: `letters`, the most
    where the field says no `max`; `pattern`, which a text matches as a whole (a regular expression that Python,
    JavaScript and JSON Schema read alike), and its `format` in JSON Schema; `chosen`, one of the field's choices;
    `decimals`, places at most; `items`, the field type of what a list holds; `ticks`, a length of 1/320 mm, told in
    millimetres; `points`, the id of a record. `wrong` is the one reason of whatever is not right, where one is
    enough; `example` shows what would be right; `input` is how the page asks for it (nothing: it cannot be typed).
    """

    name: str
    json: str
    letters: int | None = None
    pattern: str = ""
    format: str = ""
    chosen: bool = False
    decimals: int | None = None
    items: str = ""
    ticks: bool = False
    points: bool = False
    wrong: str = ""
    example: str = ""
    input: str = ""


@dataclass(frozen=True)
class Field:
    """One field of a facet, as the spec says it; `of` is the row of its type, `since` the spec number that brought it."""

    name: str
    type: str
    title: str
    of: FieldType
    help: str = ""
    unit: str = ""
    min: float | None = None
    max: float | None = None
    choices: tuple[str, ...] = ()
    required: bool = False
    since: int = 1


@dataclass(frozen=True)
class Facet:
    """What is saved, merged and put in conflict as a whole; `since` is the spec number that brought it.

    `read`: the roles that read it, where it is fewer than read its record.
    """

    name: str
    title: str
    write: frozenset[str]
    fields: dict[str, Field]
    since: int = 1
    read: frozenset[str] | None = None


@dataclass(frozen=True)
class RecordType:
    """A sort of record: what it stands under, who reads it, what it is made of, which spec number brought it."""

    name: str
    title: str
    parent: str | None
    read: frozenset[str]
    facets: dict[str, Facet]
    since: int = 1


@dataclass(frozen=True)
class Spec:
    """All sorts of record and of field, and the number of this version of the spec."""

    number: int
    types: dict[str, RecordType]
    field_types: dict[str, FieldType]


def spec_text() -> bytes:
    """The spec as it stands on disk, for the page."""
    return files("spanwalk").joinpath("spec/records.json").read_bytes()


@cache
def spec() -> Spec:
    """The spec of this version."""
    return parse_spec(json.loads(spec_text()))


def parse_spec(document: SpecDocument) -> Spec:
    """A spec from its JSON document; an attribute that nobody reads is an error."""
    kinds = {name: _field_type(name, body) for name, body in document["field_types"].items()}
    types = {name: _record_type(name, body, kinds) for name, body in document["records"].items()}
    return Spec(document["spec"], types, kinds)


def _field_type(name: str, body: FieldTypeRow) -> FieldType:
    _only(body, set(FieldType.__dataclass_fields__) - {"name"}, f"field type {name}")
    if body["json"] not in ("string", "integer", "number", "boolean", "array", "any"):
        raise ValueError(f"spec: field type {name} is {body['json']}, which is no JSON type")
    return FieldType(name=name, **body)


def _record_type(name: str, body: RecordRow, kinds: dict[str, FieldType]) -> RecordType:
    _only(body, {"title", "parent", "read", "facets", "since"}, name)
    facets = {facet: _facet(f"{name}.{facet}", facet, inner, kinds) for facet, inner in body["facets"].items()}
    since = body.get("since", 1)
    return RecordType(name, body["title"], body["parent"], frozenset(body["read"]), facets, since)


def _facet(path: str, name: str, body: FacetRow, kinds: dict[str, FieldType]) -> Facet:
    _only(body, {"title", "write", "fields", "since", "read"}, path)
    inner = {}
    for field, told in body["fields"].items():
        _only(told, set(Field.__dataclass_fields__) - {"name", "of"}, f"{path}.{field}")
        if told["type"] not in kinds:
            raise ValueError(f"spec: {path}.{field} has type {told['type']}, which is not in field_types")
        choices = tuple(told.get("choices", ()))
        said = cast("_Said", {name: value for name, value in told.items() if name != "choices"})
        inner[field] = Field(name=field, of=kinds[told["type"]], choices=choices, **said)
    read = frozenset(body["read"]) if "read" in body else None
    return Facet(name, body["title"], frozenset(body["write"]), inner, body.get("since", 1), read)


def _only(body: Mapping[str, object], allowed: set[str], path: str) -> None:
    extra = set(body) - allowed
    if extra:
        raise ValueError(f"spec: {path} has {sorted(extra)}, which nothing reads")


@cache
def fields_of(type_name: str, facet: str) -> dict[str, Field]:
    """All fields of a facet by name: those of the spec, and in an identity the parent."""
    known = spec()
    record = known.types[type_name]
    found = dict(record.facets[facet].fields)
    if facet == IDENTITY and record.parent is not None:
        found[PARENT] = Field(PARENT, REF, "Parent", known.field_types[REF], choices=(record.parent,), required=True)
    return found


@cache
def known_at(type_name: str, facet: str, number: int) -> frozenset[str] | None:
    """The fields of a facet that whoever has a spec of that number knows; None: all that we know, and maybe more."""
    if number > spec().number or facet not in spec().types[type_name].facets:
        return None
    return frozenset(name for name, field in fields_of(type_name, facet).items() if field.since <= number)


def where(type_name: str, facet: str) -> str:
    """A facet as people call it: `Room, Size`."""
    record = spec().types[type_name]
    return f"{record.title}, {record.facets[facet].title if facet in record.facets else facet}"


@cache
def told_fields(type_name: str, facet: str) -> dict[str, dict[str, str]]:
    """Type, title and unit of each field of a facet, by name."""
    known = spec().types[type_name].facets[facet].fields
    return {name: {"type": field.type, "title": field.title, "unit": field.unit} for name, field in known.items()}
