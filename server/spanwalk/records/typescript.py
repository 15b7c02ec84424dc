"""TypeScript declarations of every facet's value, for pwa/records.d.ts."""

from __future__ import annotations

import json
from dataclasses import replace

from spanwalk.records.specification import PARENT, Field, fields_of, spec

OF_JSON = {"string": "string", "integer": "number", "number": "number", "boolean": "boolean", "any": "unknown"}


def typescript() -> str:
    """TypeScript declarations of every facet's value."""
    lines = ["// Made from spec/records.json by `spanwalk spec --types`. Do not edit.", ""]
    for record in spec().types.values():
        lines.append(f"export interface {_pascal(record.name)}Facets {{")
        for facet in record.facets:
            lines.append(f"  {facet}?: {{")
            for name, field in sorted(fields_of(record.name, facet).items(), key=_parent_first):
                lines.append(f"    {name}{'' if field.required else '?'}: {_type_of(field)};")
            lines.append("  };")
        lines += ["}", ""]
    lines.append("export interface FacetsOf {")
    lines += [f"  {name}: {_pascal(name)}Facets;" for name in spec().types]
    return "\n".join([*lines, "}", "", "export type RecordType = keyof FacetsOf;", ""])


def _parent_first(named: tuple[str, Field]) -> bool:
    return named[0] != PARENT


def _pascal(name: str) -> str:
    return "".join(part.capitalize() for part in name.split("_"))


def _type_of(field: Field) -> str:
    if field.of.chosen:
        return " | ".join(json.dumps(choice, ensure_ascii=False) for choice in field.choices)
    if field.of.json == "array":
        item = _type_of(replace(field, of=spec().field_types[field.of.items]))
        return f"({item})[]" if " " in item else f"{item}[]"
    return OF_JSON[field.of.json]
