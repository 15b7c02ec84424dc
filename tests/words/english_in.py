"""What of a text is English although another language has words for it: found by the English words themselves."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache

from tests.words import missing

from spanwalk import words

HOLES = re.compile(r"\{\w+\}")
WORDS_LEAST = 3
"""A piece of a sentence with fewer words may be a name, or stand in another language too."""


@cache
def pieces(language: str) -> dict[str, str]:
    """Pieces of English sentences between their facts, which do not stand in the other language's, each with its code."""
    own = words.titles(language) | words.words(language)
    other = " ".join(squeezed(text) for text in own.values())
    found = {}
    for code, text in missing.english().items():
        if own[code] != text:
            for piece in HOLES.split(text):
                plain = squeezed(piece).strip(" .,:;()")
                if len(re.findall(r"[A-Za-z]{2,}", plain)) >= WORDS_LEAST and plain not in other:
                    found[plain] = code
    return found


@cache
def whole(language: str) -> dict[str, str]:
    """Whole English texts of whatever length that no text of the other language is, each with its code."""
    own = words.titles(language) | words.words(language)
    there = {text.casefold() for text in own.values()}
    return {
        text.casefold(): code
        for code, text in missing.english().items()
        if re.search("[A-Za-z]{3}", text) and text.casefold() not in there
    }


def squeezed(text: str) -> str:
    """A text on one line."""
    return " ".join(text.split())


def english_in(text: str, language: str) -> list[str]:
    """English pieces of sentences in a text that should be in another language."""
    line = squeezed(text)
    return [f"{code}: {piece}" for piece, code in pieces(language).items() if piece in line]


def english_cells(cells: Iterable[object], language: str, typed: frozenset[str] = frozenset()) -> Iterator[str]:
    """Cells that are an English text as a whole, but for what people typed."""
    for cell in cells:
        name = re.sub(r" \[[^\]]*\]$", "", str(cell)).strip()
        if name.casefold() in whole(language) and name not in typed:
            yield f"{whole(language)[name.casefold()]}: {cell}"
