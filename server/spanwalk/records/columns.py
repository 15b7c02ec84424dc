"""The columns of an export."""

from __future__ import annotations

from spanwalk.records.specification import spec


def export_columns(type_name: str) -> list[tuple[str, str, str]]:
    """Columns of an export of a type: facet, field, heading with its unit; what cannot be typed has none."""
    record = spec().types[type_name]
    return [
        (facet.name, field.name, f"{facet.title}: {field.title}" + (f" [{field.unit}]" if field.unit else ""))
        for facet in record.facets.values()
        for field in facet.fields.values()
        if field.of.input
    ]
