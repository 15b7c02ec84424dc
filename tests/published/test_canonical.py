"""The text that hashes are taken of, and the hash, against published examples; sources stand in canonical.json.

The page's twin reads the same examples in canonical.test.js.
"""

from __future__ import annotations

import json
from base64 import b64encode
from pathlib import Path
from typing import Any

import pytest

from spanwalk.sync.canonical import canonical, sha256_of, tidy

EXAMPLES = json.loads((Path(__file__).parent / "canonical.json").read_text(encoding="utf-8"))


def test_the_authors_sample_has_the_canonical_form_of_rfc_8785() -> None:
    sample = EXAMPLES["sample"]
    text = canonical(tidy(json.loads(sample["text"])))
    assert text == sample["canonical"]
    assert sha256_of(text) == sample["sha256"]


@pytest.mark.parametrize("example", EXAMPLES["hashes"], ids=["with line feed", "without"])
def test_hashes_are_the_printed_ones(example: dict[str, Any]) -> None:
    assert b64encode(bytes.fromhex(sha256_of(example["text"]))).decode() == example["sha256_base64"]
