"""The page's files: the shell, everything under /app/, and the service worker with its computed list."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from threading import Lock

import brotli
from flask import Blueprint, Flask, Response, abort, request
from werkzeug.routing import PathConverter

from spanwalk import records, words
from spanwalk.package_folders import page_folder, reference_folder
from spanwalk.page_files import (
    ASK_AHEAD,
    AT_ONCE,
    COMMAND_WORDS,
    DESK_WORDS_FILE,
    IMPORTS,
    SHELL,
    SITE_TABLES_FILE,
    SITE_WORDS_FILE,
    TABLES,
    TYPES,
    WORKER,
    desk_words_text,
    kept_at_once,
    kept_when_asked,
    page_sources,
    site_tables_text,
    site_words_text,
    tables_text,
)
from spanwalk.web.request.auth import Right, requires

PACKED = (".png", ".ico", ".woff2")
"""Already compressed; gzip would only make them longer."""
IN_THE_NAME = re.compile(r"-([0-9a-f]{12})\.(?:js|css)$")
"""Where the packed page's build puts the first digits of a file's SHA-256."""
A_YEAR_S = 31_536_000
IMPORT_MAP = re.compile(r'<script type="importmap">(.*?)</script>', re.DOTALL)
FIRST_SCRIPT = re.compile(r"<script\b|<link rel=\"modulepreload\"|</head>")
OF_A_SITE = "s/[^/]+"
FIRST_OF_ALL = f'<script async src="/app/{ASK_AHEAD}" fetchpriority="high"></script>\n'
LATER_MODULE = '<link data-rel="modulepreload" href="/app/{}">\n'
"""On a weak link they would share it with what the page begins with: the page asks for them once it knows who is here."""
BARE_SHELL = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Spanwalk</title></head>'
    "<body><p>The page's files are not installed.</p></body></html>"
)


class ViewPath(PathConverter):
    """An address of the page's own: any but those of the API and of the page's files."""

    regex = "(?!api(?:/|$)|app/)[^/].*?"


@dataclass(frozen=True)
class Served:
    """A file in memory, plain and compressed: nothing is compressed while somebody waits for it.

    `fixed` says that its name holds its hash, so that it never changes.
    """

    data: bytes
    coded: dict[str, bytes]
    type: str
    sha256: str
    fixed: bool = False


CODINGS = ("br", "gzip")
"""Content codings, the shortest first."""


@lru_cache(1024)
def served(data: bytes, name: str, in_brotli: bytes | None = None) -> Served:
    """Make a file ready to be served, once per process; `in_brotli` is the same in brotli, where that was made."""
    suffix = Path(name).suffix
    zipped = b"" if suffix in PACKED or len(data) < 300 else gzip.compress(data, 6, mtime=0)
    coded = {"br": in_brotli or b"", "gzip": zipped}
    shorter = {coding: body for coding, body in coded.items() if 0 < len(body) < len(data)}
    sha256 = hashlib.sha256(data).hexdigest()
    hashed = IN_THE_NAME.search(name)
    return Served(data, shorter, TYPES[suffix], sha256, hashed is not None and sha256.startswith(hashed[1]))


def served_shell(html: str) -> Served:
    """A shell, which no build has compressed: it is what every first opening waits for."""
    data = html.encode()
    return served(data, SHELL, brotli.compress(data))


def read(path: Path) -> Served:
    """A file of the disk, with what stands beside it compressed."""
    beside = path.with_name(path.name + ".br")
    return served(path.read_bytes(), path.name, beside.read_bytes() if beside.is_file() else None)


class Pages:
    """All files of the page. They are read again when one has changed on the disk."""

    def __init__(self, folder: Path, reference: Path) -> None:
        self.folder, self.reference = folder, reference
        self._stamp: tuple[tuple[str, int, int], ...] | None = None
        self._lock = Lock()
        self.files: dict[str, Served] = {}
        self.shell = served(BARE_SHELL.encode(), SHELL)
        self.shells: list[tuple[re.Pattern[str], Served]] = []
        """The shells that name what a screen needs, by the addresses that they are for; of a packed page only."""
        self.worker = served(b"", WORKER)
        self.import_map_hash = ""
        self.refresh()

    def _sources(self) -> dict[str, Path]:
        """Every file by its path under /app/."""
        found = page_sources(self.folder)
        for path in sorted(self.reference.glob("*.json")):
            found.setdefault(f"reference/{path.name}", path)
        return found

    def refresh(self) -> None:
        """Read the files if one of them has changed."""
        with self._lock:
            sources = self._sources()
            also = [path for path in (self.folder / SHELL, self.folder / WORKER) if path.is_file()]
            stamp = tuple(
                (str(path), stat.st_mtime_ns, stat.st_size)
                for path in (*sources.values(), *also)
                for stat in (path.stat(),)
            )
            if stamp != self._stamp:
                self._read(sources)
                self._stamp = stamp

    def _read(self, sources: dict[str, Path]) -> None:
        files = {name: read(path) for name, path in sources.items()}
        files["spec/records.json"] = served(records.spec_text(), "records.json")
        sentences = json.dumps(words.words(), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
        files["spec/words.en.json"] = served(sentences.encode(), "words.en.json")
        for language in set(words.languages()) - {words.FIRST}:
            differing = words.differing(language, besides=COMMAND_WORDS - {"label-print"})
            told = json.dumps(differing, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
            files[f"words/{language}.json"] = served(told.encode(), "words.json")
        languages = words.languages()
        lacking = {each: number for each in languages if (number := len(words.lacking(each)))}
        made = {
            TABLES: tables_text(records.spec_text(), words.areas(), self.reference, languages, lacking),
            SITE_TABLES_FILE: site_tables_text(self.reference),
            SITE_WORDS_FILE: site_words_text(words.areas()),
            DESK_WORDS_FILE: desk_words_text(words.areas()),
        }
        for name, text in made.items():
            if name not in files or files[name].data != text:
                files[name] = served(text, name)
        index = self.folder / SHELL
        shell, self.import_map_hash = with_import_map(index.read_text("utf-8") if index.is_file() else BARE_SHELL)
        self.files, self.shell = files, served_shell(shell)
        self.shells = [(within, served_shell(asking_for(shell, wanted))) for within, wanted in self._asked_at_once()]
        self.worker = served(self._worker_text().encode(), WORKER)

    def _asked_at_once(self) -> Iterator[tuple[re.Pattern[str], list[str]]]:
        """By addresses of sites, the files that their screens need besides what the shell names."""
        path = self.folder / AT_ONCE
        for within, wanted in json.loads(path.read_text("utf-8")) if path.is_file() else ():
            if OF_A_SITE in within:
                yield re.compile(within), wanted

    def shell_of(self, path: str) -> Served:
        """The shell of an address."""
        return next(
            (shell for within, shell in self.shells if path.startswith("/s/") and within.search(path)), self.shell
        )

    def _worker_text(self) -> str:
        """The worker, with what it keeps at once, what it keeps later, and a version that is the hash of both lists."""
        hashes = {f"/app/{name}": file.sha256[:16] for name, file in sorted(self.files.items())}
        at_once = {"/": self.shell.sha256[:16]}
        at_once |= {address: each for address, each in hashes.items() if kept_at_once(address[5:])}
        later = {address: each for address, each in hashes.items() if kept_when_asked(address[5:])}
        lists = [json.dumps(each, separators=(",", ":")) for each in (at_once, later)]
        version = hashlib.sha256("\n".join(lists).encode()).hexdigest()[:12]
        path = self.folder / WORKER
        body = path.read_text("utf-8") if path.is_file() else ""
        return f'const VERSION = "{version}";\nconst PRECACHE = {lists[0]};\nconst LATER = {lists[1]};\n{body}'


@cache
def pages_of(folder: Path, reference: Path) -> Pages:
    """The page of a folder: read once for all apps of a process."""
    return Pages(folder, reference)


def with_import_map(html: str) -> tuple[str, str]:
    """A shell with its import map, and the hash by which the policy allows exactly that map."""
    found = IMPORT_MAP.search(html)
    if found is None:
        text = json.dumps({"imports": IMPORTS}, separators=(",", ":"))
        at = FIRST_SCRIPT.search(html)
        place = at.start() if at is not None else 0
        html = f'{html[:place]}<script type="importmap">{text}</script>\n{html[place:]}'
    else:
        text = found[1]
    digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
    return html, f"sha256-{digest}"


def asking_for(shell: str, names: Iterable[str]) -> str:
    """A shell of a site: who is here is asked at once, and further modules are named, for which the page asks in one go."""
    links = "".join(LATER_MODULE.format(name) for name in names)
    return shell.replace("<title>", f"{FIRST_OF_ALL}<title>", 1).replace("</head>", f"{links}</head>", 1)


def send(file: Served) -> Response:
    """A file as an answer: compressed as it may be, 304 if the other side has it, kept for good if its name holds its hash."""
    coding = next((each for each in CODINGS if each in file.coded and request.accept_encodings.quality(each) > 0), None)
    answer = Response(file.coded[coding] if coding else file.data, content_type=file.type)
    answer.headers["Cache-Control"] = f"public, max-age={A_YEAR_S}, immutable" if file.fixed else "no-cache"
    answer.vary.add("Accept-Encoding")
    if coding:
        answer.headers["Content-Encoding"] = coding
    answer.set_etag(file.sha256[:32] + (f"-{coding}" if coding else ""))
    answer.make_conditional(request)
    return answer


def register(app: Flask) -> Pages:
    """Serve the page from this app."""
    app.url_map.converters["view"] = ViewPath
    pages = pages_of(page_folder(), reference_folder())
    bp = Blueprint("pages", __name__)

    @bp.route("/app/<path:name>")
    @requires(Right.OPEN)
    def file(name: str) -> Response:
        found = pages.files.get(name)
        if found is None:
            pages.refresh()
            found = pages.files.get(name)
        if found is None:
            abort(404)
        return send(found)

    @bp.route("/service-worker.js")
    @requires(Right.OPEN)
    def worker() -> Response:
        pages.refresh()
        answer = send(pages.worker)
        answer.headers["Service-Worker-Allowed"] = "/"
        return answer

    @bp.route("/")
    @bp.route("/<view:path>")
    @requires(Right.OPEN)
    def shell(path: str = "") -> Response:
        """Every address that is not the API's is a view of the page."""
        pages.refresh()
        return send(pages.shell_of(request.path))

    app.register_blueprint(bp)
    return pages
