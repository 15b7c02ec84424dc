"""The text that hashes are taken of, and the hash, against published examples.

A. Sample of the README of cyberphone/json-canonicalization, by an author of RFC 8785 (bytes read, hashed independently).
B. Examples of integrity fields (RFC 9530) in public documentation (read). C. The same text without its line feed
(widely quoted; some documents print B's hash beside it): hashed independently.
"""

from __future__ import annotations

import json
from base64 import b64encode

import pytest

from spanwalk.sync.canonical import canonical, sha256_of, tidy

SAMPLE = r"""
{
  "numbers": [1E30, 4.50, 6, 2e-3, 0.000000000000000000000000001],
  "escaping": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "other": [null, true, false]
}
"""
CANONICAL = r"""{"escaping":"€$\u000f\nA'B\"\\\\\"/","numbers":[1e+30,4.5,6,0.002,1e-27],"other":[null,true,false]}"""


def test_the_authors_sample_has_the_canonical_form_of_rfc_8785() -> None:
    """A."""
    text = canonical(tidy(json.loads(SAMPLE)))
    assert text == CANONICAL
    assert sha256_of(text) == "b2794efb7f9d7b29923534cef9f5fdf9d518d5ab691f5c396d069c3a1cdfb47a"


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ('{"hello": "world"}\n', "RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg="),
        ('{"hello": "world"}', "X48E9qOokqqrvdts8nOJRJN3OWDUoyWxBf7kbu9DBPE="),
    ],
    ids=["B", "C"],
)
def test_hashes_are_the_printed_ones(text: str, printed: str) -> None:
    assert b64encode(bytes.fromhex(sha256_of(text))).decode() == printed
