"""Names of people: how one is looked up, and which cannot be told from another's by eye."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import cache

from spanwalk import records
from spanwalk.services.refusals import WrongInput

NAME_LETTERS_MOST = 80
WRITTEN_TOGETHER = frozenset({"LATIN", "HIRAGANA", "KATAKANA", "CJK", "HANGUL", "BOPOMOFO"})
"""Scripts that one name may mix (Unicode Technical Standard 39, level 'highly restrictive': from memory)."""
INVISIBLE = frozenset({"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"})
"""General categories of what has no shape: controls, zero-width and direction marks, what is not assigned."""

DIGITS_AS_LETTERS = str.maketrans("01", "ol")


def name_key(name: str) -> str:
    """A name as it is looked up: compatibility forms folded (NFKC), in one case, spaces single.

    >>> name_key("  \\uff21nna  B. "), name_key("ANNA b.")
    ('anna b.', 'anna b.')
    """
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def skeletons(name: str) -> tuple[str, str, str]:
    """What is the same for two names that look the same: as written, in small letters, or in capitals.

    >>> skeletons("\u0410nn\u0430") == skeletons("Anna"), skeletons("crew O1") == skeletons("crew 0l")
    (True, True)

    References
    ----------
    Unicode Technical Standard 39, 4: the skeleton, by the data `confusables.txt` as the package confusable-homoglyphs
    has it; of single letters and digits only.
    """
    written, small = " ".join(unicodedata.normalize("NFKC", name).split()), name_key(name)
    return _skeleton(written), _skeleton(small), _skeleton(small.upper())


def _skeleton(text: str) -> str:
    return text.translate(_drawn_as()).casefold().translate(DIGITS_AS_LETTERS)


@cache
def _drawn_as() -> dict[int, str]:
    """Each letter and digit that is drawn as others are, by one that stands for all of them: of ASCII where there is one."""
    from confusable_homoglyphs.confusables import confusables_data

    stands_for: dict[str, str] = {}

    def first_of(sign: str) -> str:
        while stands_for.get(sign, sign) != sign:
            sign = stands_for[sign]
        return sign

    for sign, others in confusables_data.items():
        alike = [each for each in (sign, *(other["c"] for other in others)) if len(each) == 1 and each.isalnum()]
        firsts = sorted({first_of(each) for each in alike})
        stands_for.update(dict.fromkeys(firsts, firsts[0]) if firsts else {})
        stands_for.update((each, first_of(each)) for each in alike)
    return {ord(sign): first_of(sign) for sign in stands_for}


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
        if any(ours == theirs for ours, theirs in zip(skeletons(kept), skeletons(other), strict=True)):
            raise WrongInput("person-name-alike", field="name", value=kept, other=other)
    return kept


def _scripts(name: str) -> set[str]:
    """The scripts of a name's letters, by the first word of each letter's Unicode name."""
    return {unicodedata.name(letter, "?").split()[0].split("-")[0] for letter in name if letter.isalpha()}
