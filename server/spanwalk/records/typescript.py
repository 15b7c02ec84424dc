"""TypeScript declarations of every record's view and every facet's value, for pwa/records.d.ts."""

from __future__ import annotations

import json
from dataclasses import replace

from spanwalk.records.specification import PARENT, Field, fields_of, spec

WRITTEN = {
    ("conversion", "identity", "frozen"): "Card",
    ("conversion", "identity", "facts"): "FrozenFacts",
    ("release", "identity", "items"): "Record<string, FrozenItem>",
    ("cavity_reading", "identity", "verdict_seen"): "VerdictSeen",
}
"""What stands in fields whose content the spec leaves open, by the types of pwa/written-by-the-server.d.ts."""
OF_JSON = {"string": "string", "integer": "number", "number": "number", "boolean": "boolean", "any": "unknown"}


VIEW = """/** A facet's value where the type of the record is not known: an object of its fields. */
// The spec decides at run time what its fields hold: any.
export type Value = Record<string, any>;

/** The facets of a type of record; of a type that is not known, whatever there is. */
export type FacetsIn<T extends string> = T extends RecordType ? FacetsOf[T] : Record<string, Value>;

/** A record as screens see it: `RecordView<'kind'>` is one of a type that is known. */
export type RecordView<T extends string = string> = {
  id: string;
  type: T;
  parent: string | null;
  removed: boolean;
  facets: FacetsIn<T>;
  conflicts: { id: string; facet: string; by: string; via?: string; at: string; value: Value; kind?: string }[];
  /** Facets that this phone has changed and the server has not taken. */
  mine: Record<string, boolean>;
  /** By facet: the operation whose value is shown. */
  seen: Record<string, string | null>;
  refused: Record<string, { op: string; code: string; facts: Record<string, unknown> }>;
  by: Record<string, string>;
  /** By facet: who handed it in, where that is another than whose word it is. */
  via?: Record<string, string>;
  at: Record<string, string>;
  /** By facet: its sequence on the server; of what the server has not taken yet a number above all, as saved. */
  order: Record<string, number>;
  /** By facet: at which sequence the server took it; none for what is not sent yet. */
  seqs: Record<string, number>;
};
"""


def typescript() -> str:
    """TypeScript declarations of every record's view and every facet's value."""
    lines = ["// Made from spec/records.json by `spanwalk spec --types`. Do not edit.", ""]
    for record in spec().types.values():
        lines.append(f"export type {_pascal(record.name)}Facets = {{")
        for facet in record.facets:
            lines.append(f"  {facet}?: {{")
            for name, field in sorted(fields_of(record.name, facet).items(), key=_parent_first):
                lines.append(
                    f"    {name}{'' if field.required else '?'}: {WRITTEN.get((record.name, facet, name)) or _type_of(field)};"
                )
            lines.append("  };")
        lines += ["};", ""]
    lines.append("export interface FacetsOf {")
    lines += [f"  {name}: {_pascal(name)}Facets;" for name in spec().types]
    return "\n".join([*lines, "}", "", "export type RecordType = keyof FacetsOf;", "", VIEW])


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
