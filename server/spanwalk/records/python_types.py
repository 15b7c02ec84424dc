"""Python types of every record's view and every facet's value, for rules/record_types.py."""

from __future__ import annotations

from dataclasses import replace

from spanwalk.records.specification import Field, RecordType, fields_of, spec

OF_JSON = {"string": "str", "integer": "int", "number": "float", "boolean": "bool", "any": "Frozen"}

HEAD = '''"""What the records of the spec hold, by type and facet. Made by `spanwalk spec --python`; do not edit.

A field may be missing from each: nothing was entered, or by an older phone.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, NotRequired, Protocol, TypedDict, overload

from spanwalk.rules.record_view import Conflict, Facet, Record

# Any: what a release froze is of its own time; it is read field by field, each of which may be missing.
Frozen = Mapping[str, Any]
"""What a field of type `data` holds."""
'''


def python_types() -> str:
    """Python types of every record's view and every facet's value, and `facet`, by which rules read one."""
    lines = [HEAD]
    for record in spec().types.values():
        lines += _record(record)
    lines += [*_finders(), "", *_facet()]
    return "\n".join(lines) + "\n"


def _record(record: RecordType) -> list[str]:
    name = _pascal(record.name)
    lines = []
    for facet in record.facets.values():
        lines += ["", f"class {name}{_pascal(facet.name)}(TypedDict, total=False):"]
        lines += [f'    """{record.title}: {facet.title}."""', ""]
        lines += [_line(field) for field in fields_of(record.name, facet.name).values()]
        lines += [""]
    lines += ["", f"class {name}Facets(TypedDict, total=False):", f'    """Facets of {record.name}."""', ""]
    lines += [f"    {facet}: {name}{_pascal(facet)}" for facet in record.facets]
    lines += ["", "", f"class {name}View(TypedDict):", f'    """A record of type {record.name}."""', ""]
    lines += [
        "    id: str",
        f'    type: Literal["{record.name}"]',
        f"    parent: {'None' if record.parent is None else 'str'}",
    ]
    lines += ["    removed: bool", f"    facets: {name}Facets", "    conflicts: list[Conflict]"]
    lines += [
        f"    {one}: NotRequired[Mapping[str, {what}]]" for one, what in (("seqs", "int"), ("by", "str"), ("at", "str"))
    ]
    return [*lines, ""]


def _line(field: Field) -> str:
    return f"    {field.name}: {_type_of(field)}"


def _type_of(field: Field) -> str:
    if field.of.json == "array":
        return f"list[{_type_of(replace(field, of=spec().field_types[field.of.items]))}]"
    return OF_JSON[field.of.json]


def _finders() -> list[str]:
    lines = ["", "class OfType(Protocol):", '    """Records of a type."""', ""]
    for name in spec().types:
        lines += [
            "    @overload",
            f'    def __call__(self, type_name: Literal["{name}"]) -> list[{_pascal(name)}View]: ...',
        ]
    lines += [
        "",
        "",
        "class Children(Protocol):",
        '    """Records of a type whose parent it is; of whatever type where none is said."""',
        "",
    ]
    for name in spec().types:
        said = f'self, record: Record, type_name: Literal["{name}"]'
        lines += ["    @overload", f"    def __call__({said}) -> list[{_pascal(name)}View]: ..."]
    return [*lines, "    @overload", "    def __call__(self, record: Record) -> list[Record]: ..."]


def _facet() -> list[str]:
    lines = [""]
    for record in spec().types.values():
        for facet in record.facets:
            name = _pascal(record.name)
            lines += [
                "@overload",
                f'def facet(record: {name}View, name: Literal["{facet}"]) -> {name}{_pascal(facet)}: ...',
            ]
    return [
        *lines,
        "@overload",
        "def facet(record: Record | None, name: str) -> Facet: ...",
        "def facet(record: Record | None, name: str) -> object:",
        '    """A facet\'s value; empty where nothing was entered."""',
        '    return record["facets"].get(name, {}) if record is not None else {}',
    ]


def _pascal(name: str) -> str:
    return "".join(part.capitalize() for part in name.split("_"))
