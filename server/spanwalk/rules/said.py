"""A sentence that travels: its code in the words file and the facts that go into it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypedDict

Facts = Mapping[str, object]
"""What goes into a sentence, by name: each number with its unit in its name; a fact may be such a sentence itself."""


class Said(TypedDict):
    """A sentence by its code, with its facts."""

    code: str
    facts: Facts
