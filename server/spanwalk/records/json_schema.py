"""JSON Schemas of every facet's value, for the OpenAPI document."""

from __future__ import annotations

from dataclasses import replace

from spanwalk.records.field_types import letters_most
from spanwalk.records.specification import PARENT, Facet, Field, RecordType, fields_of, spec


def openapi_components() -> dict[str, dict[str, object]]:
    """JSON Schemas of every facet's value, by name `type_facet`."""
    return {
        f"{record.name}_{facet.name}": facet_schema(record, facet, fields_of(record.name, facet.name))
        for record in spec().types.values()
        for facet in record.facets.values()
    }


def facet_schema(record: RecordType, facet: Facet, fields: dict[str, Field]) -> dict[str, object]:
    """The JSON Schema of a facet's value that has these fields."""
    inner = {name: field_schema(field) for name, field in fields.items()}
    if PARENT in inner and PARENT not in facet.fields:
        inner[PARENT]["title"] = f"Id of the {record.parent}"
    needed = [name for name, field in fields.items() if field.required]
    made: dict[str, object] = {"type": "object", "title": f"{record.title}: {facet.title}", "properties": inner}
    return made | ({"required": needed} if needed else {}) | {"additionalProperties": False}


def field_schema(field: Field) -> dict[str, object]:
    """The JSON Schema of a field, made from the row of its type."""
    about: dict[str, object] = {"title": field.title}
    words = " ".join(filter(None, (field.help, f"Unit: {field.unit}." if field.unit else "")))
    return about | ({"description": words} if words else {}) | _form(field)


def _form(field: Field) -> dict[str, object]:
    of = field.of
    match of.json:
        case "any":
            return {}
        case "array":
            items = _form(replace(field, of=spec().field_types[of.items]))
            return {"type": "array", "uniqueItems": True, "items": items}
        case "integer" | "number":
            span: dict[str, object] = {
                k: v for k, v in (("minimum", field.min), ("maximum", field.max)) if v is not None
            }
            return {"type": of.json, **span}
        case "string" if of.chosen:
            return {"type": "string", "enum": list(field.choices)}
        case "string" if of.pattern:
            made: dict[str, object] = {"type": "string", "pattern": f"^{of.pattern}$"}
            return made | ({"format": of.format} if of.format else {})
        case "string":
            return {"type": "string", "minLength": 1, "maxLength": letters_most(field)}
    return {"type": of.json}
