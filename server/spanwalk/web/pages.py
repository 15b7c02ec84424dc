"""The page's files: the shell, everything under /app/, and the service worker with its computed list."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import re
from dataclasses import dataclass
from pathlib import Path
from threading import Lock

from flask import Blueprint, Flask, Response, abort, request
from werkzeug.routing import PathConverter

from spanwalk import records, words
from spanwalk.places import page_folder, reference_folder
from spanwalk.web.auth import Right, requires

TYPES = {
    ".js": "text/javascript; charset=utf-8",
    ".mjs": "text/javascript; charset=utf-8",
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
PACKED = (".png", ".ico", ".woff2")
"""Already compressed; gzip would only make them longer."""
TOOLS = frozenset(
    {
        "index.html",
        "service-worker.js",
        "package.json",
        "package-lock.json",
        "jsconfig.json",
        "jsconfig.worker.json",
        "biome.json",
    }
)
"""Files of the folder that are not served under /app/, or not by that name."""
SKIPPED_FOLDERS = frozenset({"node_modules", "test", "tests", "types"})
IMPORTS = {
    "preact": "/app/vendor/preact.js",
    "preact/hooks": "/app/vendor/preact-hooks.js",
    "htm": "/app/vendor/htm.js",
}
IMPORT_MAP = re.compile(r'<script type="importmap">(.*?)</script>', re.DOTALL)
FIRST_SCRIPT = re.compile(r"<script\b|<link rel=\"modulepreload\"|</head>")
BARE_SHELL = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Spanwalk</title></head>'
    "<body><p>The page's files are not installed.</p></body></html>"
)


class ViewPath(PathConverter):
    """An address of the page's own: any but those of the API and of the page's files."""

    regex = "(?!api(?:/|$)|app/)[^/].*?"


@dataclass(frozen=True)
class Served:
    """A file in memory, plain and zipped."""

    data: bytes
    zipped: bytes | None
    type: str
    sha256: str


def served(data: bytes, suffix: str) -> Served:
    """Make a file ready to be served."""
    zipped = None if suffix in PACKED or len(data) < 300 else gzip.compress(data, 6, mtime=0)
    if zipped is not None and len(zipped) >= len(data):
        zipped = None
    return Served(data, zipped, TYPES[suffix], hashlib.sha256(data).hexdigest())


class Pages:
    """All files of the page. They are read again when one has changed on the disk."""

    def __init__(self, folder: Path, reference: Path) -> None:
        self.folder, self.reference = folder, reference
        self._stamp: tuple[tuple[str, int, int], ...] | None = None
        self._lock = Lock()
        self.files: dict[str, Served] = {}
        self.shell = served(BARE_SHELL.encode(), ".html")
        self.worker = served(b"", ".js")
        self.import_map_hash = ""
        self.refresh()

    def _sources(self) -> dict[str, Path]:
        """Every file by its path under /app/."""
        found: dict[str, Path] = {}
        for path in sorted(self.folder.rglob("*")):
            parts = path.relative_to(self.folder).parts
            if (
                SKIPPED_FOLDERS & set(parts)
                or path.suffix not in TYPES
                or path.name.endswith((".test.js", ".d.ts"))
            ):
                continue
            if path.is_file() and not (len(parts) == 1 and parts[0] in TOOLS):
                found["/".join(parts)] = path
        for path in sorted(self.reference.glob("*.json")):
            found[f"reference/{path.name}"] = path
        return found

    def refresh(self) -> None:
        """Read the files if one of them has changed."""
        with self._lock:
            sources = self._sources()
            also = [
                path
                for path in (self.folder / "index.html", self.folder / "service-worker.js")
                if path.is_file()
            ]
            stamp = tuple(
                (str(path), stat.st_mtime_ns, stat.st_size)
                for path in (*sources.values(), *also)
                for stat in (path.stat(),)
            )
            if stamp != self._stamp:
                self._read(sources)
                self._stamp = stamp

    def _read(self, sources: dict[str, Path]) -> None:
        files = {name: served(path.read_bytes(), path.suffix) for name, path in sources.items()}
        files["spec/records.json"] = served(records.spec_text(), ".json")
        sentences = json.dumps(words.words(), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
        files["spec/words.en.json"] = served(sentences.encode(), ".json")
        index = self.folder / "index.html"
        shell, self.import_map_hash = with_import_map(
            index.read_text("utf-8") if index.is_file() else BARE_SHELL
        )
        self.files, self.shell = files, served(shell.encode(), ".html")
        self.worker = served(self._worker_text().encode(), ".js")

    def _worker_text(self) -> str:
        """The worker, with what it precaches and a version that is the hash of that list."""
        hashes = {"/": self.shell.sha256[:16]}
        hashes |= {f"/app/{name}": file.sha256[:16] for name, file in sorted(self.files.items())}
        listed = json.dumps(hashes, separators=(",", ":"))
        version = hashlib.sha256(listed.encode()).hexdigest()[:12]
        path = self.folder / "service-worker.js"
        body = path.read_text("utf-8") if path.is_file() else ""
        return f'const VERSION = "{version}";\nconst PRECACHE = {listed};\n{body}'


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


def send(file: Served, max_age_s: int = 0) -> Response:
    """A file as an answer: zipped if accepted, 304 if the other side has it."""
    zipped = file.zipped if file.zipped is not None and "gzip" in request.accept_encodings else None
    answer = Response(zipped or file.data, content_type=file.type)
    answer.headers["Cache-Control"] = f"max-age={max_age_s}" if max_age_s else "no-cache"
    answer.vary.add("Accept-Encoding")
    if zipped is not None:
        answer.headers["Content-Encoding"] = "gzip"
    answer.set_etag(file.sha256[:32] + ("-gz" if zipped is not None else ""))
    return answer.make_conditional(request)


def register(app: Flask) -> Pages:
    """Serve the page from this app."""
    app.url_map.converters["view"] = ViewPath
    pages = Pages(page_folder(), reference_folder())
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
        return send(pages.shell)

    app.register_blueprint(bp)
    return pages
