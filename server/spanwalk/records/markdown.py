"""The documentation of all records, for spec/records.md."""

from __future__ import annotations

from spanwalk.records.rights import ROLES, SERVER
from spanwalk.records.specification import Facet, Field, spec


def markdown() -> str:
    """The documentation table of all records."""
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
            lines += _facet_lines(facet)
    return "\n".join(lines) + "\n"


def _facet_lines(facet: Facet) -> list[str]:
    who = ", ".join(role for role in (*ROLES, SERVER) if role in facet.write)
    readers = "" if facet.read is None else "; read by " + ", ".join(role for role in ROLES if role in facet.read)
    lines = ["", f"### {facet.title} (`{facet.name}`), written by {who}{readers}", ""]
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
        return f"like {field.of.example}" if field.of.pattern and field.of.example else ""
    if field.of.json == "string":
        return f"up to {high} letters"
    return f"{'' if low is None else low} … {'' if high is None else high}"
