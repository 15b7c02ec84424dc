"""Reference tables: the figures of the trade, each row with its source and how it is known."""

from __future__ import annotations

import functools
import json
from collections.abc import Iterator, Mapping
from pathlib import Path

from spanwalk.package_folders import reference_folder
from spanwalk.rules.record_view import Row, Table, Tables

HOW_KNOWN = ("read", "from memory", "common practice", "computed")
"""What `how_known` begins with; a remark may follow."""


class ReferenceFaulty(Exception):
    """A row of a reference table lacks its source, or does not say how it is known."""

    def __init__(self, table: str, part: str, row: int, lacks: str) -> None:
        super().__init__(f"reference table {table}, {part}, row {row}: {lacks} is missing or not known")
        self.table, self.part, self.row, self.lacks = table, part, row, lacks


def load_tables(folder: Path) -> dict[str, Table]:
    """Every table of the folder by its file's stem, checked.

    Raises
    ------
    ReferenceFaulty
        A row has no source, no edition, or no word of `HOW_KNOWN`.
    """
    found = {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in sorted(folder.glob("*.json"))}
    for name, table in found.items():
        check(name, table)
    return found


@functools.cache
def tables() -> Tables:
    """The tables that this installation brings; do not change them."""
    return load_tables(reference_folder())


def check(name: str, table: Table) -> None:
    """Raise ReferenceFaulty at the first row without a source, an edition or how it is known (of each figure, if they differ)."""
    for part, number, row in rows(table):
        for lacks in ("source", "edition", "how_known"):
            if not row.get(lacks):
                raise ReferenceFaulty(name, part, number, lacks)
        for lamps, read in row.get("watts_read", {}).items():
            if not (read.get("source") and read.get("edition") and lamps in row["watts_by_lamps"]):
                raise ReferenceFaulty(name, part, number, f"source of the watts of {lamps} lamps")
        each = [value for key, value in row.items() if key.endswith("_how_known")] or [row["how_known"]]
        if not all(known.startswith(HOW_KNOWN) for known in each):
            raise ReferenceFaulty(name, part, number, "how_known")


def rows(table: Table) -> Iterator[tuple[str, int, Row]]:
    """Each row of each part that is a list of rows: part, number from 1, row."""
    for part, value in table.items():
        if isinstance(value, list):
            yield from ((part, number, row) for number, row in enumerate(value, start=1) if isinstance(row, Mapping))
