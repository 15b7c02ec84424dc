"""Names of people: how one is looked up, and which cannot be told from another's by eye."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from spanwalk import records
from spanwalk.services.refusals import WrongInput

NAME_LETTERS_MOST = 80
WRITTEN_TOGETHER = frozenset({"LATIN", "HIRAGANA", "KATAKANA", "CJK", "HANGUL", "BOPOMOFO"})
"""Scripts that one name may mix (Unicode Technical Standard 39, level 'highly restrictive': from memory)."""
INVISIBLE = frozenset({"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"})
"""General categories of what has no shape: controls, zero-width and direction marks, what is not assigned."""
DRAWN_ALIKE = str.maketrans(
    "\u0430\u0431\u0432\u0433\u0435\u0451\u0437\u0456\u0457\u0458\u043a\u043c\u043d\u043e\u0440\u0441\u0501\u0455"
    "\u0442\u0443\u0445\u04bb\u051b\u051d\u044c\u03b1\u03b2\u03b3\u03b5\u03b7\u03b9\u03ba\u03bd\u03bf\u03c1\u03c4\u03c5\u03c7\u03c901",
    "a6breeziijkmhopcdstyxhqwbabyenikvoptuxwol",
)
"""Small letters of Cyrillic and Greek, and two digits, by the Latin letter they are drawn as (Unicode confusables: from memory)."""


def name_key(name: str) -> str:
    """A name as it is looked up: compatibility forms folded (NFKC), in one case, spaces single.

    >>> name_key("  \\uff21nna  B. "), name_key("ANNA b.")
    ('anna b.', 'anna b.')
    """
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def skeleton(name: str) -> str:
    """What is the same for two names that look the same.

    >>> skeleton("\\u0410nn\\u0430"), skeleton("crew O1") == skeleton("Crew 0l")
    ('anna', True)
    """
    return name_key(name).translate(DRAWN_ALIKE)


def check_name(name: str, taken: Iterable[str]) -> str:
    """A name as it is kept.

    Parameters
    ----------
    name : str
        As typed.
    taken : iterable of str
        The names of all others.

    Raises
    ------
    WrongInput
        A name that is empty, long, taken, holds what cannot be seen, mixes scripts, or looks like another's.
    """
    kept = " ".join(unicodedata.normalize("NFKC", name).split())
    if not kept or len(kept) > NAME_LETTERS_MOST or not records.storable(kept):
        raise WrongInput("person-name-wrong", field="name", value=name[:80], most=NAME_LETTERS_MOST)
    if any(unicodedata.category(letter) in INVISIBLE for letter in kept):
        raise WrongInput("person-name-invisible", field="name", value=kept)
    if len(_scripts(kept) - WRITTEN_TOGETHER) + bool(_scripts(kept) & WRITTEN_TOGETHER) > 1:
        raise WrongInput("person-name-mixed", field="name", value=kept)
    for other in taken:
        if name_key(other) == name_key(kept):
            raise WrongInput("person-name-taken", field="name", value=kept)
        if skeleton(other) == skeleton(kept):
            raise WrongInput("person-name-alike", field="name", value=kept, other=other)
    return kept


def _scripts(name: str) -> set[str]:
    """The scripts of a name's letters, by the first word of each letter's Unicode name."""
    return {unicodedata.name(letter, "?").split()[0].split("-")[0] for letter in name if letter.isalpha()}
