"""What others wrote and an installation brings is listed in one place with its licence, and the list is as things are."""

from __future__ import annotations

from email.message import Message
from types import SimpleNamespace
from typing import cast

import pytest
from tests.quality import licences


def test_the_list_of_licences_is_not_stale() -> None:
    assert licences.LIST.read_text(encoding="utf-8") == licences.made(), (
        "make it anew: python -m tests.quality.licences"
    )


def test_every_package_of_an_installation_says_its_licence() -> None:
    told = {each.metadata["Name"]: licences.licence_of(each) for each in licences.runtime()}
    assert {"Flask", "SQLAlchemy", "Werkzeug", "psycopg"} <= set(told), "those that others bring are listed too"
    assert [name for name, licence in told.items() if licence == "?"] == []


@pytest.mark.parametrize(
    ("header", "value", "licence"),
    [
        ("License-Expression", "MIT OR Apache-2.0", "MIT OR Apache-2.0"),
        ("Classifier", "License :: OSI Approved :: BSD License", "BSD-3-Clause"),
        ("License", "ISC", "ISC"),
        ("License", "see the file", "?"),
    ],
)
def test_a_licence_is_read_from_what_the_package_says(header: str, value: str, licence: str) -> None:
    metadata = Message()
    metadata[header] = value
    told = cast("licences.Distribution", SimpleNamespace(metadata=metadata))
    assert licences.licence_of(told) == licence


def test_every_part_of_the_page_has_its_licence_and_the_text_of_it() -> None:
    parts = licences.page_parts()
    assert len(parts) >= 4
    assert all(licence for _, _, licence in parts)
    texts = list((licences.MANIFEST.parent / "licences").glob("*.txt"))
    assert len(texts) >= len(parts)
