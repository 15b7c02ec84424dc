"""The vectors of standings: a small invented site after a release, and what is changed on it case by case."""

from __future__ import annotations

import copy
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

Record = dict[str, Any]
VECTORS = Path(__file__).resolve().parents[1] / "vectors" / "standing.json"
BY, AT = "bea", "2026-04-02T10:00:00Z"


def vectors() -> dict[str, Any]:
    """What tests/vectors/standing.json holds."""
    found: dict[str, Any] = json.loads(VECTORS.read_text(encoding="utf-8"))
    return found


def records_of(base: Sequence[Record], case: Mapping[str, Any]) -> list[Record]:
    """The site with the changes of a case."""
    records = {each["id"]: copy.deepcopy(each) for each in [*base, *case.get("add", [])]}
    for id, facets in case.get("set", {}).items():
        for name, fields in facets.items():
            _lay_over(records[id], name, fields)
    for id in case.get("remove", []):
        records[id]["removed"] = True
    for id, name in case.get("conflict", []):
        records[id]["conflicts"].append({"id": f"{id} {name}", "facet": name, "by": BY, "at": AT, "value": {}})
    return list(records.values())


def _lay_over(record: Record, name: str, fields: Mapping[str, Any]) -> None:
    value = {**record["facets"].get(name, {}), **fields}
    record["facets"][name] = {field: said for field, said in value.items() if said is not None}
    record["by"][name], record["at"][name] = BY, AT
