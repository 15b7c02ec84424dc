"""The records of a site to be read without us: by type, each record a row, as JSON and as CSV with the same rows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TypedDict

from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.archives.layout import ReleaseSums
from spanwalk.services.planning.job_sums import together
from spanwalk.services.releases.sums import Figures, Released
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.neutral import Out
from spanwalk.storage import json_text

Row = dict[str, object]
"""A record as it is written: `id`, `parent`, and each field as `facet.field`."""


class GroupRow(TypedDict):
    """A group of a release: what was frozen of it."""

    group: str
    floor: str
    room: str
    kind: str
    arrangement: str
    fixtures: int
    kwh_now: float | None
    kwh_then: float | None
    cost: float | None
    parts: dict[str, int]


def rows_of_type(session: Session, site_id: str, type_name: str) -> list[Row]:
    """The live records of a type, in order of their newest sequence."""
    return [_row(each["id"], each["parent"], each["facets"]) for each in _live(session, site_id, type_name)]


def _live(session: Session, site_id: str, type_name: str) -> Iterator[Mapping[str, object]]:
    for each in site_records(session, site_id, types=(type_name,)):
        if not each["removed"]:
            yield each


def _row(id: object, parent: object, facets: object) -> Row:
    row: Row = {"id": id, "parent": parent}
    assert isinstance(facets, dict)
    for facet, value in facets.items():
        for field, said in value.items():
            if field != "parent":
                row[f"{facet}.{field}"] = said
    return row


def heads_of(type_name: str, rows: Sequence[Row]) -> list[str]:
    """Columns of a type: those of the spec that some row has, then those that only newer phones know."""
    facets = records.spec().types[type_name].facets
    known = ["id", "parent", *(f"{name}.{field}" for name, facet in facets.items() for field in facet.fields)]
    used = {name: None for row in rows for name in row}
    return ["id", "parent", *(n for n in known[2:] if n in used), *sorted(set(used) - set(known))]


def cells_of(heads: Sequence[str], row: Mapping[str, object]) -> list[Out]:
    """A row's cells; what is no text and no number stands as JSON."""
    return [_cell(row.get(head)) for head in heads]


def _cell(value: object) -> Out:
    if value is None or isinstance(value, (str, int, float)):
        return value
    return json_text.dumps(value)


def release_rows(release: Released) -> list[GroupRow]:
    """What was frozen of each group of a release, by floor, room and kind."""
    rows = [_group_row(group, release.figures.get(group, {})) for group in release.groups]
    return sorted(rows, key=lambda each: (each["floor"], each["room"], each["kind"], each["group"]))


def _group_row(group: str, frozen: Figures) -> GroupRow:
    energy, money = frozen.get("energy"), frozen.get("money")
    parts: dict[str, int] = {}
    for part in frozen.get("parts", []):
        parts[part["code"]] = parts.get(part["code"], 0) + part["count"]
    return {
        "group": group,
        "floor": frozen.get("floor_name", ""),
        "room": frozen.get("room_name", ""),
        "kind": frozen.get("mark", ""),
        "arrangement": frozen.get("arrangement", ""),
        "fixtures": frozen.get("fixtures", 0),
        "kwh_now": energy["kwh_now"] if energy else None,
        "kwh_then": energy["kwh_then"] if energy else None,
        "cost": money.get("cost") if money else None,
        "parts": dict(sorted(parts.items())),
    }


def sums_of(number: int, rows: Sequence[GroupRow]) -> ReleaseSums:
    """What a release comes to: the sums of its rows, each None as soon as one row lacks the figure."""
    parts: dict[str, int] = {}
    for row in rows:
        for code, count in row["parts"].items():
            parts[code] = parts.get(code, 0) + count
    return {
        "number": number,
        "groups": len(rows),
        "fixtures": sum(row["fixtures"] for row in rows),
        "kwh_now": _rounded(together(row["kwh_now"] for row in rows)),
        "kwh_then": _rounded(together(row["kwh_then"] for row in rows)),
        "cost": _rounded(together(row["cost"] for row in rows)),
        "parts": dict(sorted(parts.items())),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)
