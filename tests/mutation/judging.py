"""Faults that nothing notices because they change nothing: judged.json says why."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from tests.mutation.mutant import Mutant

JUDGED = Path(__file__).with_name("judged.json")
Judged = Mapping[tuple[str, str, str], str]


def judged() -> Judged:
    """Why a fault changes nothing, by file and the lines as they are and become."""
    rows = json.loads(JUDGED.read_text(encoding="utf-8"))
    return {(row["file"], row["was"], row["now"]): row["why"] for row in rows}


def why(mutant: Mutant, known: Judged) -> str | None:
    """Why a survivor changes nothing; None where nobody judged it."""
    _, was, now = mutant.change()
    return known.get((mutant.file, was, now))
