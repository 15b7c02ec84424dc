"""A complete site to plant things in, read from the vectors that both sides share."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

VECTORS_FOLDER = Path(__file__).resolve().parents[1] / "vectors"


def vectors(name: str) -> dict[str, Any]:
    """Contents of a file of vectors."""
    found: dict[str, Any] = json.loads((VECTORS_FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return found


def patched(records: list[dict[str, Any]], patches: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The records with each patch laid over the record of its id; a facet of None is taken away."""
    by_id = {record["id"]: copy.deepcopy(record) for record in records}
    for patch in patches:
        record = by_id.get(patch["id"], patch)
        facets = record["facets"] | patch.get("facets", {})
        by_id[patch["id"]] = (
            record | patch | {"facets": {name: value for name, value in facets.items() if value is not None}}
        )
    return list(by_id.values())
