"""Which files make the page, packed or loose, and the tables it reads first. The wheel's build reads this too: standard library only."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TypeAlias, cast

from spanwalk.rules.record_view import Table

SHELL, WORKER, TABLES, SITE_WORDS_FILE = "index.html", "service-worker.js", "tables.json", "words-of-sites.json"
DESK_WORDS_FILE, SITE_TABLES_FILE = "words-of-desks.json", "tables-of-sites.json"
Numbers: TypeAlias = "int | Sequence[Numbers]"
"""A number, or rows of them."""
AT_ONCE = "at-once.json"
"""Of a packed page: which files its shell asks for at once, by the address that is opened. Not served itself."""
ASK_AHEAD = "ask_ahead.js"
"""The script by which a packed page's shells of sites ask who is here before the page's own scripts have come."""
TYPES = {
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".wasm": "application/wasm",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".ico": "image/x-icon",
    ".txt": "text/plain; charset=utf-8",
    ".woff2": "font/woff2",
}
"""Of files that are served under /app/, by how their names end."""
TOOLS = frozenset(
    {SHELL, WORKER, AT_ONCE, "package.json", "package-lock.json", "jsconfig.json", "jsconfig.worker.json", "biome.json"}
)
"""Files of the folder that are not served under /app/, or not by that name."""
SKIPPED_FOLDERS = frozenset({"node_modules", "test", "tests", "types"})
IMPORTS = {
    "preact": "/app/vendor/preact.js",
    "preact/hooks": "/app/vendor/preact-hooks.js",
    "htm": "/app/vendor/htm.js",
}
"""What the modules import by a bare name."""
FIRST_TABLES = ("lamps", "instruments", "expansion", "combinations")
"""Reference tables that the page reads before its first screen."""
SITE_TABLES = ("prediction", "standing")
"""Reference tables that it reads when a site is opened."""
SMOOTH = {"prediction": "factors"}
"""Of such a table the numbers that change little from one to the next: they travel as differences, a quarter as long."""
COMMAND_WORDS = frozenset(
    {
        "asked-for",
        "command-help",
        "doctor",
        "handover-report",
        "keeping",
        "label-print",
        "lists",
        "offer-sheet",
        "order-sheet",
        "people-commands",
        "proof-packs",
        "running",
    }
)
"""Areas of sentences that only commands and the server's own tables say: the page does not get them."""
SITE_WORDS = frozenset(
    {
        "acceptance",
        "ambient",
        "archive",
        "card",
        "catalogue",
        "cavity",
        "choices",
        "combinations",
        "crew",
        "degree",
        "desk",
        "desk-points",
        "figure-titles",
        "figures",
        "files",
        "finding",
        "fit",
        "fit-lines",
        "floor",
        "handover",
        "job",
        "label-desk",
        "lacking",
        "ladder",
        "learning",
        "life",
        "light",
        "measuring",
        "memory",
        "misfit",
        "offer",
        "open-points",
        "ordering",
        "orders",
    }
    | {
        "photos",
        "pictures",
        "plan",
        "points",
        "proof-desk",
        "reading",
        "readings",
        "room-list",
        "scanner-camera",
        "scenarios",
        "schedule",
        "shift",
        "site-order",
        "standing",
        "suits",
        "survey",
        "units",
        "walk",
        "world",
    }
)
"""Areas of sentences that the page reads when a site is opened; those of all others come before its first screen."""
DESK_WORDS = frozenset(
    {
        "acceptance",
        "archive",
        "card",
        "catalogue",
        "crew",
        "desk",
        "figures",
        "files",
        "fit-lines",
        "handover",
        "job",
        "label-desk",
        "lacking",
        "life",
        "light",
        "memory",
        "offer",
        "ordering",
        "orders",
        "pictures",
        "plan",
        "proof-desk",
        "scanner-camera",
        "scenarios",
        "schedule",
        "shift",
        "site-order",
        "standing",
        "walk",
        "world",
    }
)
"""Of these the areas that no screen of the walk says: they come with the first other screen."""
WALK_SAYS_TOO = (
    "choice.",
    "counted.",
    "crew.rows-counted",
    "crew.stopped",
    "desk.not-heard-yet",
    "desk.temperatures-of-",
    "form.",
    "light.title",
    "orders.supplier-not-said",
    "orders.title-of",
    "place.",
    "places.",
    "plan.blocked.",
    "plan.not.",
)
"""How codes of such areas begin that the walk says all the same."""
FIRST_SAYS_TOO = frozenset({"place.home", "survey.fetching", "survey.fetching-stays"})
"""Codes of areas of sites that are said before a site's words are here: that it comes."""
SCANNER = ("vendor/zxing", "views/scanning/scan_worker")
"""How the names begin of what only the scanner needs: a phone keeps it when it first scans, or is a crew's."""
LANGUAGES, REGIONS_OF_FIRST = "words/", "words/en-"
"""How the names begin of the words of other languages, and of the first one's regions: a phone keeps the small files of the
latter at once, and of the former what is read on it."""
NOT_KEPT = (ASK_AHEAD, "spec/", "reference/", "vendor/licences/", "vendor/manifest.json")
"""Served, but not kept on the phone: the page has it in its tables, or never asks for it."""


def page_sources(folder: Path) -> dict[str, Path]:
    """Every file of the page's folder that is served, by its path under /app/, in the order of their names."""
    found: list[Path] = []
    for here, folders, names in os.walk(folder):
        folders[:] = set(folders) - SKIPPED_FOLDERS
        tools = TOOLS if Path(here) == folder else ()
        found += [Path(here, name) for name in names if _is_served(name) and name not in tools]
    return {path.relative_to(folder).as_posix(): path for path in sorted(found)}


def _is_served(name: str) -> bool:
    return Path(name).suffix in TYPES and not name.endswith((".test.js", ".d.ts"))


def tables_text(
    spec: bytes,
    areas: Mapping[str, Mapping[str, str]],
    reference: Path,
    languages: Sequence[str] = (),
    lacking: Mapping[str, int] | None = None,
) -> bytes:
    """What the page reads before its first screen, in one file: what a record is, sentences, reference tables.

    Parameters
    ----------
    spec : bytes
        Text of records.json.
    areas : mapping
        Sentences by area and code.
    reference : Path
        Folder of the reference tables; one that is not there is left out.
    languages : sequence of str
        Tags of the languages and regions in which the page can be read.
    lacking : mapping, optional
        How many sentences a language lacks, by its tag, where it lacks any.
    """
    tables = {name: _table(reference / f"{name}.json") for name in FIRST_TABLES}
    told = {
        "lacking": dict(lacking or {}),
        "languages": list(languages),
        "reference": {name: table for name, table in tables.items() if table is not None},
        "spec": json.loads(spec),
        "words": _sentences(areas, set(areas) - SITE_WORDS - COMMAND_WORDS)
        | {code: said for code, said in _sentences(areas, SITE_WORDS).items() if code in FIRST_SAYS_TOO},
    }
    return _compact(told)


def site_words_text(areas: Mapping[str, Mapping[str, str]]) -> bytes:
    """The sentences that the page reads when a site is opened, by code."""
    said_there = {code: said for code, said in _sentences(areas, DESK_WORDS).items() if code.startswith(WALK_SAYS_TOO)}
    told = _sentences(areas, SITE_WORDS - DESK_WORDS) | said_there
    return _compact({code: said for code, said in told.items() if code not in FIRST_SAYS_TOO})


def desk_words_text(areas: Mapping[str, Mapping[str, str]]) -> bytes:
    """The sentences that it reads with the first screen besides those of the walk, by code."""
    told = _sentences(areas, DESK_WORDS)
    return _compact({code: said for code, said in told.items() if not code.startswith(WALK_SAYS_TOO)})


def site_tables_text(reference: Path) -> bytes:
    """The reference tables that the page reads when a site is opened, by name. Twin: pwa/store/tables.js, which sums up again."""
    tables = {name: _table(reference / f"{name}.json") for name in SITE_TABLES}
    told = {name: table for name, table in tables.items() if table is not None}
    for name, smooth in SMOOTH.items():
        if name in told:
            told[name] = {**told[name], smooth: differences(told[name][smooth])}
    return _compact(told)


def differences(values: Sequence[Numbers]) -> list[Numbers]:
    """Of numbers, or of rows of numbers: the first, and what each other has more than the one before it, in and between rows.

    >>> differences([[10, 12], [11, 14]])
    [[10, 2], [1, 1]]
    """
    inner: list[Numbers] = [each if isinstance(each, int) else differences(each) for each in values]
    return [*inner[:1], *(_more(each, before) for before, each in pairwise(inner))]


def _more(one: Numbers, other: Numbers) -> Numbers:
    if isinstance(one, int) or isinstance(other, int):
        return cast("int", one) - cast("int", other)
    return [_more(*each) for each in zip(one, other, strict=True)]


def kept_at_once(name: str) -> bool:
    """Whether the service worker keeps a file from the start on."""
    return not name.startswith(NOT_KEPT) and not kept_when_asked(name)


def kept_when_asked(name: str) -> bool:
    """Whether the service worker keeps a file once it is asked for: the scanner, and the words of another language."""
    return name.startswith((*SCANNER, LANGUAGES)) and not name.startswith(REGIONS_OF_FIRST)


def _sentences(areas: Mapping[str, Mapping[str, str]], wanted: Iterable[str]) -> dict[str, str]:
    return dict(sorted(each for area in wanted for each in areas[area].items()))


def _compact(told: object) -> bytes:
    return json.dumps(told, ensure_ascii=False, separators=(",", ":")).encode()


def _table(path: Path) -> Table | None:
    return json.loads(path.read_text("utf-8")) if path.is_file() else None
