"""The packed page: a shell, a style sheet, a few linked files whose names hold their hashes, and each of them compressed."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path

import brotli

from packing.linking import Part, Ring, link, link_alone, parts_of
from packing.source import Module, NotPackable, read_module
from spanwalk.page_files import (
    ASK_AHEAD,
    AT_ONCE,
    DESK_WORDS_FILE,
    IMPORTS,
    SHELL,
    SITE_TABLES_FILE,
    SITE_WORDS_FILE,
    TABLES,
    WORKER,
    desk_words_text,
    page_sources,
    site_tables_text,
    site_words_text,
    tables_text,
)
from spanwalk.words import areas, languages

ENTRY = "main.js"
ALONE = ("_worker.js", ASK_AHEAD)
"""How the names end of modules that run by themselves: beside the page, or before it."""
HASH_DIGITS = 12
COMPRESSED = (".js", ".css", ".json", ".wasm", ".webmanifest")
SMALL = 300
"""From here on compressing a file is worth it [byte]."""
STYLE_OR_COMMENT = re.compile(r"\"(?:\\.|[^\"\\])*\"|'(?:\\.|[^'\\])*'|/\*.*?\*/", re.DOTALL)
STYLE_LINK = re.compile(r'[ \t]*<link rel="stylesheet" href="/app/([^"]+)">\n')
MAIN_SCRIPT = f'<script type="module" src="/app/{ENTRY}"></script>'
MAP_PLACE = "<!--importmap-->"
WALK, GROUP = "views/surveying/screens.js", "views/surveying/group_screen.js"
SURVEYORS = frozenset({WALK, GROUP, "views/screens_b.js", "views/parts/waiting_work.js"})
"""The later parts that a surveyor's screens are made of."""
RINGS: dict[str, Ring] = {
    "#close": lambda users: users >= {WALK, GROUP},
    "#judged": lambda users: GROUP in users,
    "#near": lambda users: not users.isdisjoint(SURVEYORS),
}
"""Which files what several later parts share is in: a surveyor's first screen waits for nothing that only others share, and that
of a group for nothing that only typing and counting need."""
LATER_PART = re.compile(r"within: /(\S+)/,.*?import\('\./(\S+?)'\)", re.DOTALL)
"""An entry of the page's list of parts: the addresses that it is for, and the module that has its screens."""


def pack(root: Path, target: Path, compressed: bool = True) -> None:
    """Pack the page of a checkout into a folder, which is made anew. The same page gives the same bytes.

    Parameters
    ----------
    root : Path
        The checkout: pwa/, server/spanwalk/spec/, seed_data/reference/.
    target : Path
        Where the packed page goes.
    compressed : bool
        Whether each file lies there compressed as well, which is most of the work.

    Raises
    ------
    NotPackable
        A module or the shell has something that this does not do.
    """
    folder = root / "pwa"
    files = dict(packed_files(folder))
    reference = root / "seed_data" / "reference"
    spec = (root / "server/spanwalk/spec/records.json").read_bytes()
    files[TABLES] = tables_text(spec, areas(), reference, languages())
    files[SITE_WORDS_FILE] = site_words_text(areas())
    files[DESK_WORDS_FILE] = desk_words_text(areas())
    files[SITE_TABLES_FILE] = site_tables_text(reference)
    shutil.rmtree(target, ignore_errors=True)
    for name, data in sorted(files.items()):
        write(target / name, data, compressed)


def write(path: Path, data: bytes, compressed: bool = True) -> None:
    """A file, and beside it the same compressed where that is shorter."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    if compressed and path.suffix in COMPRESSED and len(data) >= SMALL and path.name != WORKER:
        short = brotli.compress(data, quality=11)
        if len(short) < len(data):
            path.with_name(path.name + ".br").write_bytes(short)


def packed_files(folder: Path) -> Iterator[tuple[str, bytes]]:
    """Every file of the packed page but its tables, by name."""
    sources = page_sources(folder)
    modules = {name for name in sources if name.endswith(".js")}
    bare = {name: address.removeprefix("/app/") for name, address in IMPORTS.items()}

    @cache
    def read(name: str) -> Module:
        if name not in modules:
            raise NotPackable(name, 1, "an import of a module that is not there")
        return read_module(name, sources[name].read_bytes(), bare)

    for name, path in sources.items():
        if path.suffix not in (".js", ".css"):
            yield name, path.read_bytes()
    for name in sorted(each for each in modules if each.endswith(ALONE)):
        yield name, link_alone(name, read).encode()
    parts = parts_of(ENTRY, read, RINGS)
    texts = {part.name: link(part).encode() for part in parts}
    named = {part: hashed(part.removeprefix("#"), ".js", text) for part, text in texts.items()}
    for part, text in texts.items():
        yield named[part], text
    shell, styles = shell_and_styles(folder, {part: f"/app/{name}" for part, name in named.items()})
    yield hashed("style", ".css", styles), styles
    yield SHELL, shell
    yield AT_ONCE, json.dumps(list(asked_at_once(sources["routes.js"].read_text("utf-8"), parts, named))).encode()
    yield WORKER, (folder / WORKER).read_bytes()


def asked_at_once(routes: str, parts: Iterable[Part], named: Mapping[str, str]) -> Iterator[tuple[str, list[str]]]:
    """Which addresses lead to which part, and all files of it that the first one does not bring: so a shell can ask for them."""
    files = {part.entry: [named[each] for each in (part.name, *part.shares)] for part in parts if part.entry}
    for within, module in LATER_PART.findall(routes):
        yield within.replace("\\/", "/"), files[module]


def hashed(stem: str, suffix: str, data: bytes) -> str:
    """A name that changes with the content."""
    return f"{stem}-{hashlib.sha256(data).hexdigest()[:HASH_DIGITS]}{suffix}"


def shell_and_styles(folder: Path, parts: dict[str, str]) -> tuple[bytes, bytes]:
    """The shell that asks for the packed files, and its style sheets as one.

    Raises
    ------
    NotPackable
        The shell does not have the lines that are to be changed.
    """
    html = (folder / SHELL).read_text("utf-8")
    sheets = STYLE_LINK.findall(html)
    if not sheets or MAIN_SCRIPT not in html or MAP_PLACE not in html:
        raise NotPackable(SHELL, 1, "other links and scripts than this knows")
    styles = "".join(without_comments(name, (folder / name).read_text("utf-8")) for name in sheets).encode()
    one = f'    <link rel="stylesheet" href="/app/{hashed("style", ".css", styles)}">\n'
    at = html.index('    <link rel="stylesheet"')
    html = html[:at] + one + STYLE_LINK.sub("", html[at:])
    imports = json.dumps({"imports": parts}, separators=(",", ":"))
    html = html.replace(MAP_PLACE, f'<script type="importmap">{imports}</script>')
    return html.replace(f"/app/{ENTRY}", parts["#main"]).encode(), styles


def without_comments(name: str, css: str) -> str:
    """A style sheet without comments and indentation.

    Raises
    ------
    NotPackable
        It names another file: the address would move.
    """
    if "@import" in css or "url(" in css:
        raise NotPackable(name, 1, "a style sheet that names another file")
    cut = STYLE_OR_COMMENT.sub(lambda found: "" if found[0].startswith("/*") else found[0], css)
    return re.sub(r"\s*\n\s*", "\n", cut).strip() + "\n"
