"""Sentences that people read, from spec/words.<language>/: a code and facts in, a sentence out."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, partial
from importlib.resources import files
from importlib.resources.abc import Traversable

from spanwalk.coded_text import arrangement_text, with_holes

PLACEHOLDER = re.compile(r"\{(\w+)\}")
FIRST = "en"
"""The language that every sentence is written in; what another lacks is said in it."""
FOLDER = re.compile(r"words\.([a-z]{2,3})")
OVERLAY = re.compile(r"words\.([a-z]{2,3}-[A-Z]{2})\.json")


def spec_folder() -> Traversable:
    """Where the words are: a folder words.<language> for each language, a file words.<language>-<REGION>.json for each region."""
    return files("spanwalk").joinpath("spec")


NOTICE_FILE = "notice.json"
"""A folder with this file alone has what is stuck on fixtures in a language; the page is not read in it."""
NOT_REVIEWED = "notice.not-reviewed"
"""Stands in the words of a language until somebody of the trade who speaks it has read them; then it is deleted there."""
_reading: ContextVar[str] = ContextVar("reading", default=FIRST)
"""The language of sentences for which none is named: the first, unless what is done now is for one reader alone."""


@contextmanager
def reading_in(language: str) -> Iterator[None]:
    """What is said in here without a language is said in this one: for what one person reads and no record keeps."""
    before = _reading.set(known(language))
    try:
        yield
    finally:
        _reading.reset(before)


def reading_language() -> str:
    """The language in which is said what names none: that of `reading_in`, else the first."""
    return _reading.get()


@cache
def languages() -> tuple[str, ...]:
    """The tags in which the page is read: each language, and each language as a region has it. Each request asks for them."""
    return _tagged(lambda files: bool(files - {NOTICE_FILE}))


@cache
def notice_languages() -> tuple[str, ...]:
    """The tags in which notices are printed: those of the page, and languages that have the notice's words alone."""
    return _tagged(bool)


def _tagged(has: Callable[[set[str]], bool]) -> tuple[str, ...]:
    """Languages whose folder has files as wanted, and their regions."""
    here = {each.name: each for each in spec_folder().iterdir()}
    bases = {found[1] for name in here if (found := FOLDER.fullmatch(name)) and has(_files(here[name]))}
    regions = {found[1] for name in here if (found := OVERLAY.fullmatch(name))}
    return tuple(sorted(bases | {tag for tag in regions if tag.partition("-")[0] in bases}))


def _files(folder: Traversable) -> set[str]:
    return {each.name for each in folder.iterdir() if each.name.endswith(".json")}


@cache
def areas(language: str = FIRST) -> dict[str, dict[str, str]]:
    """Sentences of a language by area, which is the name of their file, and by code; a code in two files is an error."""
    found: dict[str, dict[str, str]] = {}
    seen: set[str] = set()
    folder = spec_folder().joinpath(f"words.{language}")
    for entry in sorted(folder.iterdir(), key=lambda each: each.name):
        if not entry.name.endswith(".json"):
            continue
        area: dict[str, str] = json.loads(entry.read_text(encoding="utf-8"))
        twice = sorted(seen & set(area))
        if twice:
            raise ValueError(f"words.{language}/{entry.name} repeats {twice}")
        seen |= set(area)
        found[entry.name.removesuffix(".json")] = area
    return found


@cache
def words(language: str = FIRST) -> dict[str, str]:
    """All sentences by code in a language, or in a region's words: the one way to any sentence.

    Parameters
    ----------
    language : str
        One of `languages`: 'en', or 'en-GB' for the same with the words that differ there. What a language lacks
        stands in the first one.
    """
    base, _, region = language.partition("-")
    merged = {code: sentence for area in areas(base).values() for code, sentence in area.items()}
    if base != FIRST:
        merged = words(FIRST) | merged
    return _with_overlay(merged, _overlay(language)) if region else merged


def own_words(language: str) -> frozenset[str]:
    """Codes of the sentences that a language has itself, without those that it is told in the first one."""
    return frozenset(code for area in areas(language.partition("-")[0]).values() for code in area)


def is_reviewed(language: str) -> bool:
    """Whether somebody of the trade who speaks a language has read what is said in it."""
    return NOT_REVIEWED not in words(language)


def lacking(language: str) -> tuple[str, ...]:
    """Codes of sentences and titles that a language has not: they are said in the first one."""
    base = language.partition("-")[0]
    return () if base == FIRST else tuple(sorted(set(words(FIRST) | titles()) - own_words(base)))


BETWEEN = " · "
"""Between several choices that name one row."""


def _overlay(tag: str) -> dict[str, dict[str, str]]:
    """What differs in a region: `words`, each put in the place of another wherever it stands, and whole `sentences`."""
    overlay: dict[str, dict[str, str]] = json.loads(
        spec_folder().joinpath(f"words.{tag}.json").read_text(encoding="utf-8")
    )
    return overlay


def _with_overlay(sentences: dict[str, str], overlay: dict[str, dict[str, str]]) -> dict[str, str]:
    return {code: in_region(text, overlay["words"]) for code, text in sentences.items()} | overlay["sentences"]


def in_region(text: str, instead: dict[str, str]) -> str:
    """A sentence with a region's words in it; what stands in braces is left alone.

    >>> in_region("Earth the {earth} fixture; a fixture is earthed.", {"earth": "ground", "a fixture": "a luminaire"})
    'Ground the {earth} fixture; a luminaire is earthed.'
    """
    if not instead:
        return text
    return _any_of(tuple(instead)).sub(lambda found: _as_written(found[0], instead), text)


@cache
def _any_of(words_there: tuple[str, ...]) -> re.Pattern[str]:
    """What stands in braces, or one of some words: the longest that fits."""
    longest_first = sorted(words_there, key=len, reverse=True)
    return re.compile(r"\{\w+\}|\b(?:" + "|".join(map(re.escape, longest_first)) + r")(?!\w)", re.IGNORECASE)


def _as_written(word: str, instead: dict[str, str]) -> str:
    if word.startswith("{"):
        return word
    told = instead[word.casefold()]
    return told[0].upper() + told[1:] if word[0].isupper() else told


def known(language: str | None) -> str:
    """A language that the page is read in: the one that is wished for, else the first."""
    return language if language in languages() else FIRST


def known_of_notices(language: str) -> str:
    """A language that notices are printed in: the one that is wished for, else the first."""
    return language if language in notice_languages() else FIRST


@cache
def titles(language: str = FIRST) -> dict[str, str]:
    """Titles and help of what a record is, by codes `spec.<type>.<facet>.<field>`: spec/records.json has the first language's.

    Another language has them under these codes among its words; a region's words go into them as into all else.
    """
    spec = json.loads(spec_folder().joinpath("records.json").read_text(encoding="utf-8"))
    found: dict[str, str] = {}
    for type_, record in spec["records"].items():
        found |= _told(f"spec.{type_}", record)
        for facet, about in record["facets"].items():
            found |= _told(f"spec.{type_}.{facet}", about)
            for field, each in about["fields"].items():
                found |= _told(f"spec.{type_}.{facet}.{field}", each)
    base, _, region = language.partition("-")
    if base != FIRST:
        told = words(base)
        found = {code: told.get(code, title) for code, title in found.items()}
    return _with_overlay(found, _overlay(language) | {"sentences": {}}) if region else found


def title_text(code: str, english: str = "") -> str:
    """The title of a type, facet or field of records by its code `spec.<type>.<facet>.<field>`, as it is read now; else the English given.

    >>> title_text("spec.site"), title_text("spec.money.identity.price_per_kwh_x")
    ('Site', 'spec.money.identity.price_per_kwh_x')
    """
    return titles(_reading.get()).get(code, english or code)


def _told(code: str, about: Mapping[str, object]) -> dict[str, str]:
    told = {code: about.get("title"), f"{code}.help": about.get("help")}
    return {each: text for each, text in told.items() if isinstance(text, str)}


def differing(language: str, besides: Iterable[str] = ()) -> dict[str, str]:
    """The sentences and titles of a language or region that differ from the first language's.

    Parameters
    ----------
    language : str
        One of `languages`.
    besides : iterable of str, optional
        Areas of the first language whose sentences are left out.
    """
    first, left_out = titles() | words(), {code for area in besides for code in areas()[area]}
    told = titles(language) | words(language)
    return {code: text for code, text in told.items() if first.get(code) != text and code not in left_out}


def say(code: str, facts: Mapping[str, object] | None = None, language: str | None = None) -> str:
    """The sentence of a code with its facts filled in.

    Parameters
    ----------
    code : str
        Kebab-case code of a sentence.
    facts : dict, optional
        Values of its placeholders; lists are joined by commas, what has a code and facts is a sentence in the sentence,
        and codes of choices are told in words.
    language : str, optional
        One of `languages`; without it the one of `reading_in`, which is the first where nobody in particular reads.

    Returns
    -------
    str
        The sentence; the bare code if it has none.
    """
    language = language or _reading.get()
    sentence = words(language).get(code)
    if sentence is None:
        return code
    told = facts or {}
    return PLACEHOLDER.sub(lambda found: _text(told.get(found[1], ""), language), sentence).strip()


def counted(count: int, thing: str) -> dict[str, object]:
    """So many of a thing, for a sentence: `<thing>.one` or `<thing>.other` is its words.

    >>> say("keeping.backed-up", {"where": "/b", "sites": counted(1, "counted.site"), "photos": counted(2, "counted.photo")})
    'Backed up to /b: 1 site, 2 photos.'
    """
    return {"code": f"{thing}.{'one' if count == 1 else 'other'}", "facts": {"count": count}}


def _text(value: object, language: str) -> str:
    if isinstance(value, (list, tuple)):
        return ", ".join(_text(item, language) for item in value)
    if isinstance(value, dict) and "code" in value:
        return say(value["code"], value.get("facts"), language)
    return choice_text(str(value), language)


def choice_text(code: str, language: str | None = None) -> str:
    """What people read for the code of a choice: `lay-in-grid` is 'lay-in grid'; what is no such code stays as it is.

    >>> choice_text("two-makes-seen"), choice_text("Room 7")
    ('two makes seen', 'Room 7')

    The row of a figure names several:

    >>> choice_text("recessed-troffer · prismatic-lens")
    'recessed troffer · prismatic lens'
    """
    language = language or _reading.get()
    return BETWEEN.join(_part_text(part, language) for part in code.split(BETWEEN))


def _part_text(part: str, language: str) -> str:
    told = words(language)
    if (chosen := told.get(f"choice.{part}")) is not None or language.partition("-")[0] == FIRST:
        return part if chosen is None else chosen
    kept = told.get(f"choice.{part.replace(' ', '-')}")
    if kept is not None:
        return kept
    pattern, facts = (part, {}) if f"right.{part}" in told else with_holes(part)
    if f"right.{pattern}" in told:
        return say(f"right.{pattern}", facts, language)
    return arrangement_text(part, partial(say, language=language))
