"""What a record is, from spec/records.json: checks, rights, JSON Schemas, export columns, documentation and types."""

from spanwalk.records.checking import (
    TICKS_PER_MM,
    Wrong,
    check_value,
    check_values,
    emptied,
    not_ours,
    plainly_right,
    wrong_field,
)
from spanwalk.records.columns import export_columns
from spanwalk.records.json_schema import openapi_components
from spanwalk.records.json_values import (
    RECORD_ID,
    is_record_id,
    plain_json,
    short,
    storable,
)
from spanwalk.records.markdown import markdown
from spanwalk.records.python_types import python_types
from spanwalk.records.references import references
from spanwalk.records.rights import (
    FACILITY,
    ROLES,
    SERVER,
    may_read,
    may_read_facet,
    may_write,
    not_read,
    readable_types,
    writers,
)
from spanwalk.records.specification import (
    IDENTITY,
    LIFE,
    PARENT,
    Facet,
    Field,
    FieldType,
    RecordType,
    Spec,
    fields_of,
    known_at,
    parse_spec,
    spec,
    spec_text,
    told_fields,
    where,
)
from spanwalk.records.typescript import typescript

__all__ = [
    "FACILITY",
    "IDENTITY",
    "LIFE",
    "PARENT",
    "RECORD_ID",
    "ROLES",
    "SERVER",
    "TICKS_PER_MM",
    "Facet",
    "Field",
    "FieldType",
    "RecordType",
    "Spec",
    "Wrong",
    "check_value",
    "check_values",
    "emptied",
    "export_columns",
    "fields_of",
    "is_record_id",
    "known_at",
    "markdown",
    "may_read",
    "may_read_facet",
    "may_write",
    "not_ours",
    "not_read",
    "openapi_components",
    "parse_spec",
    "plain_json",
    "plainly_right",
    "python_types",
    "readable_types",
    "references",
    "short",
    "spec",
    "spec_text",
    "storable",
    "told_fields",
    "typescript",
    "where",
    "writers",
    "wrong_field",
]
