"""Rows that a site adds to the reference tables: lamps, ballasts, bodies and spaces that they have not.

A row of the site's own never takes the place of one that is there: what is there is changed figure by figure (`figures`),
where everybody sees what it was.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import cast

from spanwalk.rules.record_types import OwnRowView
from spanwalk.rules.record_view import Facet, Row, Tables
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

TABLES = {"lamp": "lumens", "ballast": "ballasts", "body": "bodies", "space": "spaces"}
"""Which table a row of each sort goes into."""
OWN = "own"
"""Where a row says that it is the site's."""
HERTZ = {"60-hz": [60], "50-hz": [50], "both": [50, 60]}
KNOWN = {"from-memory": "from memory"}
MOST_LAMPS = 4


@dataclass(frozen=True)
class NotUsedRow:
    """A row of the site's own that cannot stand in its table: its record, what it is, and why."""

    record: str
    row: str
    why: Said


def with_own_rows(tables: Tables, records: Iterable[OwnRowView]) -> tuple[dict[str, Facet], list[NotUsedRow]]:
    """The tables with a site's own rows added, and those rows that cannot be.

    Parameters
    ----------
    tables : mapping
        Reference tables; they stay as they are.
    records : iterable of view records
        Live records of rows.

    Returns
    -------
    tuple
        Tables, in which an added row has `own`, the facts of its sentence; and the rows not used.
    """
    laid: dict[str, Facet] = dict(tables)
    not_used: list[NotUsedRow] = []
    for record in sorted(records, key=lambda each: each["id"]):
        sort = str(facet(record, "identity").get("table", ""))
        row, why = row_of(record), None
        if row is None:
            why = "figures.row-not-whole"
        elif any(_same(sort, row, there) for there in laid[TABLES[sort]]["rows"]):
            why = "figures.row-already-there"
        if row is None or why is not None:
            not_used.append(NotUsedRow(record["id"], row_called(record), {"code": str(why), "facts": {}}))
        else:
            table = laid[TABLES[sort]]
            laid[TABLES[sort]] = {**table, "rows": [*table["rows"], row]}
    return laid, not_used


def row_of(record: OwnRowView) -> Facet | None:
    """A record as a row of its table; None where something that the table needs was not said."""
    identity = facet(record, "identity")
    sort = str(identity.get("table", ""))
    said = cast("Facet", record["facets"].get(sort) or {}) if sort in TABLES else {}
    if not said or not all(said.get(name) is not None for name in NEEDED[sort]):
        return None
    source, edition = str(identity.get("source", "")), str(identity.get("edition") or "none known")
    known = KNOWN.get(str(identity.get("how_known")), str(identity.get("how_known")))
    told = {"record": record["id"], "row": row_called(record), "source": source, "how_known": known}
    about = {
        "source": source,
        "edition": edition,
        "how_known": known,
        OWN: {**told, "reason": identity.get("reason", "")},
    }
    return {**MADE[sort](said, about), **about}


def row_called(record: OwnRowView) -> str:
    """A row by what tells it from others: `T8 · 4-ft · 36 · magnetic`."""
    sort = str(facet(record, "identity").get("table", ""))
    said = cast("Facet", record["facets"].get(sort) or {}) if sort in TABLES else {}
    return " · ".join(str(said[name]) for name in NAMED_BY.get(sort, ()) if said.get(name) is not None) or sort


def _lamp(said: Facet, _about: Mapping[str, object]) -> Facet:
    named = {name: said[name] for name in ("diameter", "nominal_ft", "lamp_w", "cap")}
    light = {"initial_lm": said["initial_lm"], "mean_share": said["mean_share"]}
    return {**named, "mains_hz": HERTZ[said["mains"]], **light}


def _ballast(said: Facet, _about: Mapping[str, object]) -> Facet:
    watts = {str(n): said[f"watts_{n}"] for n in range(1, MOST_LAMPS + 1) if said.get(f"watts_{n}") is not None}
    named = {name: said[name] for name in ("diameter", "nominal_ft", "lamp_w", "ballast")}
    return {
        **named,
        "mains_hz": HERTZ[said["mains"]],
        "watts_by_lamps": watts,
        "ballast_factor": said["ballast_factor"],
    }


def _body(said: Facet, _about: Mapping[str, object]) -> Facet:
    named = {name: said[name] for name in ("body", "optic", "tubes_share", "bars_share", "dirt_share")}
    return {**named, "closed": said.get("closed", False)}


def _space(said: Facet, about: Mapping[str, object]) -> Facet:
    row: dict[str, object] = {"space": said["space"], "w_ft2": {}, "targets": []}
    if said.get("standard") and said.get("lux") is not None:
        own = {name: about[name] for name in ("source", "edition", "how_known")}
        row["targets"] = [{"standard": said["standard"], "row": "the site's own", "lux": said["lux"], **own}]
    if said.get("hours_year") is not None:
        row |= {"hours_year": said["hours_year"]}
    return row


MADE: Mapping[str, Callable[[Facet, Mapping[str, object]], Facet]] = {
    "lamp": _lamp,
    "ballast": _ballast,
    "body": _body,
    "space": _space,
}
NEEDED = {
    "lamp": ("diameter", "nominal_ft", "cap", "lamp_w", "mains", "initial_lm", "mean_share"),
    "ballast": ("diameter", "nominal_ft", "lamp_w", "ballast", "mains", "ballast_factor"),
    "body": ("body", "optic", "tubes_share", "bars_share", "dirt_share"),
    "space": ("space",),
}
"""What a row needs to be one."""
NAMED_BY = {
    "lamp": ("diameter", "nominal_ft", "lamp_w", "cap", "mains"),
    "ballast": ("diameter", "nominal_ft", "lamp_w", "ballast", "mains"),
    "body": ("body", "optic"),
    "space": ("space",),
}
"""What tells a row from the others of its table."""


def _same(sort: str, row: Row, there: Row) -> bool:
    """Whether a row would stand for the same as one that is there: in one world at least."""
    names = [name for name in NAMED_BY[sort] if name != "mains"]
    in_one_world = bool(set(row.get("mains_hz", (50, 60))) & set(there.get("mains_hz", (50, 60))))
    return in_one_world and all(row.get(name) == there.get(name) for name in names)


__all__ = ["OWN", "TABLES", "NotUsedRow", "row_called", "row_of", "with_own_rows"]
