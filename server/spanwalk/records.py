"""What a record is, from spec/records.json: schemas, rights, OpenAPI, export columns and documentation."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import orjson
from marshmallow import INCLUDE, RAISE, Schema, ValidationError, fields, validate

Json = Any
ROLES = ("surveyor", "crew", "manager", "owner")
SERVER = "server"
IDENTITY, LIFE, PARENT = "identity", "life", "parent"
TICKS_PER_MM = 320
DECIMALS_MOST = 4
DATA_BYTES_MOST = 200_000
LETTERS_OF_A_BYTE = 6
"""Of JSON text in UTF-8, when it is written with all but plain letters escaped."""
DEPTH_MOST = 12
NUMBER_LEAST, NUMBER_MOST = 1e-4, 1e15


@dataclass(frozen=True)
class Field:
    """One field of a facet, as the spec says it."""

    name: str
    type: str
    title: str
    help: str = ""
    unit: str = ""
    min: float | None = None
    max: float | None = None
    choices: tuple[str, ...] = ()
    required: bool = False


@dataclass(frozen=True)
class Facet:
    """What is saved, merged and put in conflict as a whole."""

    name: str
    title: str
    write: frozenset[str]
    fields: dict[str, Field]


@dataclass(frozen=True)
class RecordType:
    """A sort of record: what it stands under, who reads it, what it is made of."""

    name: str
    title: str
    parent: str | None
    read: frozenset[str]
    facets: dict[str, Facet]


@dataclass(frozen=True)
class Spec:
    """All sorts of record, and the number of this version of the spec."""

    number: int
    types: dict[str, RecordType]


@dataclass(frozen=True)
class Wrong:
    """What is wrong with a value: code and facts (field, value and what would be right)."""

    code: str
    facts: dict[str, Json]


def spec_text() -> bytes:
    """The spec as it stands on disk, for the page."""
    return files("spanwalk").joinpath("spec/records.json").read_bytes()


@cache
def spec() -> Spec:
    """The spec of this version."""
    return parse_spec(json.loads(spec_text()))


def parse_spec(document: dict[str, Json]) -> Spec:
    """A spec from its JSON document; an attribute that nobody reads is an error."""
    types = {name: _record_type(name, body) for name, body in document["records"].items()}
    return Spec(document["spec"], types)


def _record_type(name: str, body: dict[str, Json]) -> RecordType:
    _only(body, {"title", "parent", "read", "facets"}, name)
    facets = {facet: _facet(f"{name}.{facet}", facet, inner) for facet, inner in body["facets"].items()}
    return RecordType(name, body["title"], body["parent"], frozenset(body["read"]), facets)


def _facet(path: str, name: str, body: dict[str, Json]) -> Facet:
    _only(body, {"title", "write", "fields"}, path)
    inner = {}
    for field, told in body["fields"].items():
        _only(told, {"type", "title", "help", "unit", "min", "max", "choices", "required"}, f"{path}.{field}")
        inner[field] = Field(name=field, **(told | {"choices": tuple(told.get("choices", ()))}))
    return Facet(name, body["title"], frozenset(body["write"]), inner)


def _only(body: dict[str, Json], allowed: set[str], path: str) -> None:
    extra = set(body) - allowed
    if extra:
        raise ValueError(f"spec: {path} has {sorted(extra)}, which nothing reads")


# -- rights


def may_read(role: str, type_name: str) -> bool:
    """Whether a role reads records of a type."""
    known = spec().types.get(type_name)
    return known is not None and (role in known.read or role == SERVER)


def may_write(role: str, type_name: str, facet: str) -> bool:
    """Whether a role writes a facet. Life goes with identity; a facet from a newer spec with any writer."""
    return role == SERVER or role in writers(type_name, facet)


def writers(type_name: str, facet: str) -> frozenset[str]:
    """The roles that write a facet."""
    known = spec().types.get(type_name)
    if known is None:
        return frozenset()
    held = known.facets.get(IDENTITY if facet == LIFE else facet)
    if held is not None:
        return held.write
    return frozenset().union(*(each.write for each in known.facets.values())) - {SERVER}


@cache
def readable_types(role: str) -> tuple[str, ...]:
    """The types that a role reads, in the spec's order."""
    return tuple(name for name in spec().types if may_read(role, name))


# -- values


class Number(fields.Field[Any]):
    """A whole number or a decimal, never text, never true or false."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            raise ValidationError("number-wrong")
        if round(value, DECIMALS_MOST) != value:
            raise ValidationError("decimals-many")
        return value


class Whole(fields.Field[Any]):
    """A whole number: integer in JSON, never text, never true or false."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValidationError("whole-wrong")
        return value


class Yes(fields.Field[Any]):
    """True or false themselves."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, bool):
            raise ValidationError("yes-wrong")
        return value


class Words(fields.Field[Any]):
    """Text that is not empty and that every store can keep."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str) or not value or not storable(value):
            raise ValidationError("text-wrong")
        return value


class RecordId(Words):
    """The id of a record: a UUID in lower case."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not is_record_id(value):
            raise ValidationError("id-wrong")
        return value


class Data(fields.Field[Any]):
    """Any JSON whose numbers all sides write alike."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if value is None or not plain_json(value) or len(json.dumps(value)) > DATA_BYTES_MOST:
            raise ValidationError("data-wrong")
        return value


UNSTORABLE = re.compile("[\0\ud800-\udfff]")
RECORD_ID = re.compile("[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")


def storable(text: str) -> bool:
    """Whether a text can be kept: no NUL, no half of a surrogate pair."""
    return UNSTORABLE.search(text) is None


def is_record_id(value: Json) -> bool:
    """Whether a value is a UUID in lower case with hyphens."""
    return isinstance(value, str) and RECORD_ID.fullmatch(value) is not None


def plain_json(value: Json, depth: int = 0) -> bool:
    """Whether a JSON value is written alike by all sides: ASCII keys, numbers from 0.0001 to 1e15."""
    if depth > DEPTH_MOST:
        return False
    if isinstance(value, dict):
        keys = all(isinstance(key, str) and key.isascii() and storable(key) for key in value)
        return keys and all(plain_json(item, depth + 1) for item in value.values())
    if isinstance(value, list):
        return all(plain_json(item, depth + 1) for item in value)
    if isinstance(value, float):
        return value == 0 or NUMBER_LEAST <= abs(value) < NUMBER_MOST
    if isinstance(value, int):
        return abs(value) < NUMBER_MOST
    return value is None or (isinstance(value, str) and storable(value))


def _range(field: Field) -> list[validate.Validator]:
    return [validate.Range(min=field.min, max=field.max)]


def _marshmallow_field(field: Field) -> fields.Field[Any]:
    told: dict[str, Any] = {"required": field.required}
    match field.type:
        case "text" | "note":
            return Words(validate=validate.Length(max=int(field.max or 2000)), **told)
        case "integer" | "length":
            return Whole(validate=_range(field), **told)
        case "decimal":
            return Number(validate=_range(field), **told)
        case "choice":
            return Words(validate=validate.OneOf(field.choices), **told)
        case "choices":
            return fields.List(Words(validate=validate.OneOf(field.choices)), validate=_different, **told)
        case "integers":
            return fields.List(Whole(validate=_range(field)), validate=_different, **told)
        case "yes":
            return Yes(**told)
        case "ref":
            return RecordId(**told)
        case "sha256":
            return Words(validate=validate.Regexp(r"[0-9a-f]{64}\Z"), **told)
        case "data":
            return Data(**told)
    raise ValueError(f"spec: field {field.name} has type {field.type}, which nothing reads")


def _different(values: list[Any]) -> None:
    if len({json.dumps(value) for value in values}) < len(values):
        raise ValidationError("twice")


@cache
def schema(type_name: str, facet: str, newer: bool = False) -> Schema:
    """The marshmallow schema of a facet's value, built once.

    Parameters
    ----------
    type_name, facet : str
        As in the spec.
    newer : bool
        For values written under a newer spec: fields that this one does not know are kept.
    """
    record = spec().types[type_name]
    inner = {name: _marshmallow_field(field) for name, field in record.facets[facet].fields.items()}
    if facet == IDENTITY and record.parent is not None:
        inner[PARENT] = RecordId(required=True)
    made = Schema.from_dict(inner, name=f"{type_name}_{facet}")
    return made(unknown=INCLUDE if newer else RAISE, many=True)


def _quick(field: Field) -> Callable[[Json], bool]:
    """The same limits as the field's schema as one plain test: most values are right, and there are many."""
    low = -math.inf if field.min is None else field.min
    high = math.inf if field.max is None else field.max
    choices, letters = frozenset(field.choices), int(field.max or 2000)
    match field.type:
        case "text" | "note":
            return lambda v: type(v) is str and 0 < len(v) <= letters and storable(v)
        case "integer" | "length":
            return lambda v: type(v) is int and low <= v <= high
        case "decimal":
            return lambda v: low <= v <= high and round(v, DECIMALS_MOST) == v if _number(v) else False
        case "choice":
            return lambda v: type(v) is str and v in choices
        case "yes":
            return lambda v: type(v) is bool
        case "ref":
            return is_record_id
        case "data":
            return _plainly_data
    return lambda v: False  # rare and long: left to the schema


def _plainly_data(value: Json) -> bool:
    """Whether a value is such data beyond doubt: short, storable, its keys and numbers as all sides write them."""
    try:
        text = orjson.dumps(value)  # refuses half a surrogate pair, and keys that are not text
    except TypeError:
        return False
    short = len(text) * LETTERS_OF_A_BYTE <= DATA_BYTES_MOST
    return short and b"\\u0000" not in text and _plainly_inside(value, 1)


def _plainly_inside(value: Json, depth: int) -> bool:
    """Whether a value is an object or a list, not too deep, of which all keys and numbers are right beyond doubt."""
    kind = type(value)
    if depth == DEPTH_MOST or (kind is not dict and kind is not list):
        return False
    if kind is dict and not all(map(str.isascii, value)):
        return False
    for item in value.values() if kind is dict else value:
        kind = type(item)
        if kind is str or kind is bool or item is None:
            continue
        if kind is int or kind is float:
            if not _number(item) or (item and not NUMBER_LEAST <= abs(item) < NUMBER_MOST):
                return False
        elif not _plainly_inside(item, depth + 1):
            return False
    return True


def _number(value: Json) -> bool:
    """Whether a value is a number as all sides write it; a whole one has no point."""
    return type(value) is int or (type(value) is float and not value.is_integer())


@cache
def _quick_facet(type_name: str, facet: str) -> tuple[dict[str, Callable[[Json], bool]], frozenset[str]]:
    """By field its quick test, and the fields that must be there."""
    record = spec().types[type_name]
    tests = {name: _quick(field) for name, field in record.facets[facet].fields.items()}
    needed = {name for name, field in record.facets[facet].fields.items() if field.required}
    if facet == IDENTITY and record.parent is not None:
        tests[PARENT] = is_record_id
        needed.add(PARENT)
    return tests, frozenset(needed)


def plainly_right(type_name: str, facet: str, value: Json) -> bool:
    """Whether a value is right beyond doubt, without asking its schema; tested to agree with it."""
    if facet not in spec().types[type_name].facets:
        return False
    if emptied(facet, value):
        return True
    tests, needed = _quick_facet(type_name, facet)
    if type(value) is not dict or not needed <= value.keys():
        return False
    for name, item in value.items():
        test = tests.get(name)
        if test is None or not test(item):
            return False
    return True


def emptied(facet: str, value: Json) -> bool:
    """Whether a facet is emptied: it says nothing again, as before it was first written. Identity never is."""
    return bool(facet != IDENTITY and value == {})


def check_values(type_name: str, facet: str, values: list[Json], newer: bool = False) -> dict[int, Wrong]:
    """What is wrong with the values of one facet; nothing for those that are right.

    Parameters
    ----------
    type_name, facet : str
        As in the spec.
    values : list
        Values of that facet, from one batch.
    newer : bool
        They were written under a newer spec.

    Returns
    -------
    dict of int to Wrong
        By place in `values`: the first thing that is wrong.
    """
    if newer and facet not in spec().types[type_name].facets:
        return {i: _odd(type_name, facet, v) for i, v in enumerate(values) if not _plain_object(v)}
    faulty = schema(type_name, facet, newer).validate(values, many=True) if values else {}
    places = [int(i) for i in faulty if not emptied(facet, values[int(i)])]
    wrong = {i: explain(type_name, facet, values[i], newer) for i in places}
    if newer:
        odd = (i for i, value in enumerate(values) if i not in wrong and not _plain_object(value))
        wrong |= {i: _odd(type_name, facet, values[i]) for i in odd}
    return wrong


def _plain_object(value: Json) -> bool:
    return isinstance(value, dict) and plain_json(value) and None not in value.values()


def _odd(type_name: str, facet: str, value: Json) -> Wrong:
    return Wrong("value-not-plain", _facts(type_name, facet, None, value))


def explain(type_name: str, facet: str, value: Json, newer: bool = False) -> Wrong:
    """The first thing that is wrong with a value that its schema refused."""
    if not isinstance(value, dict):
        return Wrong("value-not-object", _facts(type_name, facet, None, value))
    known = dict(spec().types[type_name].facets[facet].fields)
    if facet == IDENTITY and spec().types[type_name].parent is not None:
        known[PARENT] = Field(PARENT, "ref", "Parent", required=True)
    for name, item in value.items():
        if name not in known and not newer:
            right = {"right": sorted(known)}
            return Wrong("field-unknown", _facts(type_name, facet, Field(name, "", name), item) | right)
    for field in known.values():
        if field.name not in value:
            if field.required:
                return Wrong("field-missing", _facts(type_name, facet, field, None))
            continue
        code = _wrong_code(field, value[field.name])
        if code is not None:
            return Wrong(code, _facts(type_name, facet, field, value[field.name]))
    return Wrong("value-wrong", _facts(type_name, facet, None, value))


def _wrong_code(field: Field, value: Json) -> str | None:
    """Why a field's value is wrong, or None."""
    try:
        _marshmallow_field(field).deserialize(value)
    except ValidationError:
        return _reason(field, value)
    return None


def _reason(field: Field, value: Json) -> str:
    match field.type:
        case "text" | "note":
            if not isinstance(value, str):
                return "text-wrong"
            if not value:
                return "text-empty"
            return "text-long" if storable(value) else "text-not-storable"
        case "integer" | "length" | "decimal":
            if isinstance(value, bool) or not isinstance(value, (int, float)):
                return "number-wrong"
            if field.type != "decimal" and not isinstance(value, int):
                return "whole-wrong"
            if field.type == "decimal" and round(value, DECIMALS_MOST) != value:
                return "decimals-many"
            return _out_of_range(field)
        case "choice" | "choices":
            return "choice-wrong"
        case "integers":
            return "integers-wrong"
    return {"yes": "yes-wrong", "ref": "id-wrong", "sha256": "sha256-wrong", "data": "data-wrong"}[field.type]


def _out_of_range(field: Field) -> str:
    if field.min is None:
        return "number-large"
    return "number-small" if field.max is None else "number-outside"


def where(type_name: str, facet: str) -> str:
    """A facet as people call it: `Room, Size`."""
    record = spec().types[type_name]
    return f"{record.title}, {record.facets[facet].title if facet in record.facets else facet}"


@cache
def told_fields(type_name: str, facet: str) -> dict[str, dict[str, str]]:
    """Type, title and unit of each field of a facet, by name."""
    known = spec().types[type_name].facets[facet].fields
    return {name: {"type": field.type, "title": field.title, "unit": field.unit} for name, field in known.items()}


def _facts(type_name: str, facet: str, field: Field | None, value: Json) -> dict[str, Json]:
    facts: dict[str, Json] = {
        "type": type_name,
        "facet": facet,
        "where": where(type_name, facet),
        "value": _short(value),
    }
    if field is None:
        return facts
    facts |= {"field": field.name, "title": field.title}
    unit, divide = ("mm", TICKS_PER_MM) if field.type == "length" else (field.unit, 1)
    facts |= {k: _scaled(v, divide) for k, v in (("min", field.min), ("max", field.max)) if v is not None}
    if field.type == "length" and isinstance(value, (int, float)) and not isinstance(value, bool):
        facts["value"] = _scaled(value, divide)
    return (
        facts | ({"unit": unit} if unit else {}) | ({"choices": list(field.choices)} if field.choices else {})
    )


def _scaled(value: float, divide: int) -> float:
    scaled = round(value / divide, 3) if divide > 1 else value
    return int(scaled) if scaled == int(scaled) else scaled


def _short(value: Json) -> Json:
    """A value short enough for a sentence, and printable."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return value
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=True)
    text = text.encode("utf-8", "replace").decode().replace("\0", "?")
    return text if len(text) <= 80 else text[:77] + "..."


def references(
    type_name: str, facet: str, value: dict[str, Json]
) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """The records that a facet's value points to: field, id, types allowed."""
    known = spec().types.get(type_name)
    if known is None:
        return
    if facet == IDENTITY and known.parent is not None:
        yield PARENT, value[PARENT], (known.parent,)
    for name, types in _reference_fields(type_name, facet):
        if name in value:
            yield name, value[name], types


@cache
def _reference_fields(type_name: str, facet: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    held = spec().types[type_name].facets.get(facet)
    if held is None:
        return ()
    return tuple((field.name, field.choices) for field in held.fields.values() if field.type == "ref")


# -- what is made of the spec


def openapi_components() -> dict[str, Json]:
    """JSON Schemas of every facet's value, for the OpenAPI document, by name `type_facet`."""
    return {
        f"{record.name}_{facet.name}": _facet_schema(record, facet)
        for record in spec().types.values()
        for facet in record.facets.values()
    }


def _facet_schema(record: RecordType, facet: Facet) -> dict[str, Json]:
    inner = {name: _field_schema(field) for name, field in facet.fields.items()}
    needed = [name for name, field in facet.fields.items() if field.required]
    if facet.name == IDENTITY and record.parent is not None:
        inner = {PARENT: {"type": "string", "format": "uuid", "title": f"Id of the {record.parent}"}} | inner
        needed = [PARENT, *needed]
    made: dict[str, Json] = {"type": "object", "title": f"{record.title}: {facet.title}", "properties": inner}
    return made | ({"required": needed} if needed else {}) | {"additionalProperties": False}


def _field_schema(field: Field) -> dict[str, Json]:
    about: dict[str, Json] = {"title": field.title}
    words = " ".join(filter(None, (field.help, f"Unit: {field.unit}." if field.unit else "")))
    if words:
        about["description"] = words
    span = {k: v for k, v in (("minimum", field.min), ("maximum", field.max)) if v is not None}
    match field.type:
        case "text" | "note":
            return about | {"type": "string", "minLength": 1, "maxLength": int(field.max or 2000)}
        case "integer" | "length":
            return about | {"type": "integer"} | span
        case "decimal":
            return about | {"type": "number"} | span
        case "choice":
            return about | {"type": "string", "enum": list(field.choices)}
        case "choices":
            items = {"type": "string", "enum": list(field.choices)}
            return about | {"type": "array", "uniqueItems": True, "items": items}
        case "integers":
            return about | {"type": "array", "uniqueItems": True, "items": {"type": "integer"} | span}
        case "yes":
            return about | {"type": "boolean"}
        case "ref":
            return about | {"type": "string", "format": "uuid"}
        case "sha256":
            return about | {"type": "string", "pattern": "^[0-9a-f]{64}$"}
    return about


def export_columns(type_name: str) -> list[tuple[str, str, str]]:
    """Columns of an export of a type: facet, field, heading with its unit."""
    record = spec().types[type_name]
    return [
        (facet.name, field.name, f"{facet.title}: {field.title}" + (f" [{field.unit}]" if field.unit else ""))
        for facet in record.facets.values()
        for field in facet.fields.values()
        if field.type != "data"
    ]


def markdown() -> str:
    """The documentation table of all records, for docs/records.md."""
    lines = [
        "# Records",
        "",
        f"Made from `spec/records.json` (spec {spec().number}) by `spanwalk spec --markdown`.",
    ]
    for record in spec().types.values():
        under = f"under {record.parent}" if record.parent else "the root"
        readers = ", ".join(role for role in ROLES if role in record.read)
        lines += ["", f"## {record.title} (`{record.name}`)", "", f"Stands {under}; read by {readers}."]
        for facet in record.facets.values():
            lines += _facet_markdown(facet)
    return "\n".join(lines) + "\n"


def _facet_markdown(facet: Facet) -> list[str]:
    who = ", ".join(role for role in (*ROLES, SERVER) if role in facet.write)
    lines = ["", f"### {facet.title} (`{facet.name}`), written by {who}", ""]
    lines += ["| field | title | type | unit | limits | must |", "| --- | --- | --- | --- | --- | --- |"]
    for field in facet.fields.values():
        must = "yes" if field.required else ""
        limits = _limits(field).replace("|", "\\|")
        lines.append(f"| `{field.name}` | {field.title} | {field.type} | {field.unit} | {limits} | {must} |")
    return lines


def _limits(field: Field) -> str:
    if field.choices:
        return ", ".join(field.choices)
    low, high = field.min, field.max
    if low is None and high is None:
        return ""
    if field.type in ("text", "note"):
        return f"up to {high} letters"
    return f"{'' if low is None else low} … {'' if high is None else high}"


def typescript() -> str:
    """TypeScript declarations of every facet's value, for pwa/records.d.ts."""
    lines = ["// Made from spec/records.json by `spanwalk spec --types`. Do not edit.", ""]
    for record in spec().types.values():
        lines.append(f"export interface {_pascal(record.name)}Facets {{")
        for facet in record.facets.values():
            lines.append(f"  {facet.name}?: {{")
            if facet.name == IDENTITY and record.parent is not None:
                lines.append("    parent: string;")
            for field in facet.fields.values():
                lines.append(f"    {field.name}{'' if field.required else '?'}: {_typescript_type(field)};")
            lines.append("  };")
        lines += ["}", ""]
    lines.append("export interface FacetsOf {")
    lines += [f"  {name}: {_pascal(name)}Facets;" for name in spec().types]
    return "\n".join([*lines, "}", "", "export type RecordType = keyof FacetsOf;", ""])


def _pascal(name: str) -> str:
    return "".join(part.capitalize() for part in name.split("_"))


def _typescript_type(field: Field) -> str:
    union = " | ".join(json.dumps(choice, ensure_ascii=False) for choice in field.choices)
    match field.type:
        case "integer" | "length" | "decimal":
            return "number"
        case "choice":
            return union
        case "choices":
            return f"({union})[]"
        case "integers":
            return "number[]"
        case "yes":
            return "boolean"
        case "data":
            return "unknown"
    return "string"
