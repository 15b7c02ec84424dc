"""Messages of papers: in which language one is made."""

from __future__ import annotations

from typing import TypedDict

from spanwalk.messages.forms import Message, Text
from spanwalk.words import languages

OWN = ""
"""The language of who asks."""
RIGHT = f"a language of the server: {', '.join(languages())}"


def language_of_paper() -> Text:
    """In which language a paper is made: an offer is read by a customer, an order by a supplier."""
    about = "In which language; empty: that of who asks"
    return Text(RIGHT, about, among=(OWN, *languages()), load_default=OWN, required=False)


class PaperQuery(Message):
    """In which language a paper is wanted."""

    language = language_of_paper()


class PaperAsked(TypedDict):
    """In which language a paper is wanted. As read."""

    language: str


__all__ = ["OWN", "PaperAsked", "PaperQuery", "language_of_paper"]
