"""What is made from the spec is made anew with each change of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from spanwalk import records

ROOT = Path(__file__).resolve().parents[2]
MADE = {
    "server/spanwalk/spec/records.md": ("--markdown", records.markdown),
    "pwa/records.d.ts": ("--types", records.typescript),
    "server/spanwalk/rules/record_types.py": ("--python", records.python_types),
}


@pytest.mark.parametrize("path", MADE)
def test_what_is_made_from_the_spec_is_not_stale(path: str) -> None:
    option, make = MADE[path]
    assert (ROOT / path).read_text(encoding="utf-8") == make(), f"make it anew: spanwalk spec {option} > {path}"
