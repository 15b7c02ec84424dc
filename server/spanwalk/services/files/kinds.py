"""Which kinds of file are taken, and which columns each may have: made from the spec and from spec/file_columns.json."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TypedDict

from spanwalk import records
from spanwalk.records import Field

ITEM_FACETS = ("bar", "driver", "accessory", "wiring_part")
"""Facets of a catalogue item of which a row has one: the one that its item is called."""
CURRENCY = "currency"
KINDS = ("rooms", "fixtures", "catalogue", "prices")
"""In the order in which a new site wants them."""


class Said(TypedDict, total=False):
    """What file_columns.json says of one column."""

    title: str
    must: bool
    also: list[str]
    example: str | int | float


class KindSaid(TypedDict):
    """What file_columns.json says of one kind of file."""

    facets: list[list[str]]
    columns: dict[str, Said]


class UnitSaid(TypedDict):
    """A unit: what else it is called, and what it measures."""

    also: list[str]
    of: str


class Table(TypedDict):
    """spec/file_columns.json."""

    about: str
    kinds: dict[str, KindSaid]
    choices: dict[str, list[str]]
    units: dict[str, UnitSaid]
    factors: dict[str, float]


@dataclass(frozen=True)
class Column:
    """A column that a file of a kind may have.

    `fields` has the field for each facet that it may be meant for: a catalogue's 'Length' is a bar's or a driver's.
    """

    name: str
    title: str
    type: str
    fields: Mapping[str, Field]
    must: bool
    names: frozenset[str]
    example: str

    @property
    def field(self) -> Field | None:
        """Its field, of several the first; None for a column that is no field."""
        return next(iter(self.fields.values()), None)

    @property
    def measures(self) -> str:
        """`length`, `temperature` and so on where its unit matters, else nothing."""
        if self.field is None:
            return ""
        unit = "mm" if self.field.of.ticks else self.field.unit
        said = table()["units"].get(unit)
        return said["of"] if said else ""

    @property
    def unit(self) -> str:
        """The unit in which it is kept, as a file that leaves has it."""
        if self.field is None:
            return ""
        return "mm" if self.field.of.ticks else self.field.unit


@cache
def table() -> Table:
    """The table of columns, of what people call them, and of units."""
    told: Table = json.loads(files("spanwalk").joinpath("spec/file_columns.json").read_text(encoding="utf-8"))
    return told


@cache
def columns_of(kind: str) -> dict[str, Column]:
    """The columns of a kind of file by name, in the order of the table, then of the spec."""
    said = table()["kinds"][kind]
    found = {name: _column(name, each) for name, each in said["columns"].items()}
    for type_name, facet in said["facets"]:
        for name, field in records.spec().types[type_name].facets[facet].fields.items():
            path = f"{type_name}.{'*' if facet in ITEM_FACETS else facet}.{name}"
            if field.of.input and path not in found:
                found[path] = _column(path, {})
    return found


def _column(path: str, said: Said) -> Column:
    fields = _fields(path)
    first = next(iter(fields.values()), None)
    title = said.get("title") or (first.title if first else path)
    titles = {title, *said.get("also", [])}
    if "title" not in said:
        titles |= {field.title for field in fields.values()}
        titles |= {field.name.removesuffix("_ticks") for field in fields.values()}
    names = frozenset(normal(each) for each in titles)
    return Column(path, title, path.split(".")[0], fields, said.get("must", False), names, str(said.get("example", "")))


def _fields(path: str) -> dict[str, Field]:
    if path == CURRENCY:
        return {}
    type_name, facet, name = path.split(".")
    facets = ITEM_FACETS if facet == "*" else (facet,)
    known = records.spec().types[type_name].facets
    return {each: known[each].fields[name] for each in facets if name in known[each].fields}


def normal(text: str) -> str:
    """A head as it is compared: without case, doubled spaces, and marks at its ends.

    >>> normal("  Room  No.: ")
    'room no'
    """
    return re.sub(r"[\s_]+", " ", text).strip(" .:*").casefold()


@cache
def unit_called(text: str) -> str | None:
    """The unit that a text names, or None.

    >>> unit_called("Feet"), unit_called("lumens")
    ('ft', None)
    """
    plain = text.strip()
    units = table()["units"]
    if plain in units:
        return plain
    wanted = plain.casefold().rstrip(".")
    return next((name for name, said in units.items() if wanted in {name.casefold(), *said["also"]}), None)


def units_like(measured: str) -> list[str]:
    """The units of one sort, as `length`."""
    return [name for name, said in table()["units"].items() if said["of"] == measured]
