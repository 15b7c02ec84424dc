"""Is an archive whole? Files, the chain of who did what, the log, the records, the counts, the releases' sums: all anew.

Nothing of a server is needed, and an archive of any earlier layout is read as it was laid out. Each flaw has the code of
its sentence (`archive.flaw.<code>`) and facts; nothing that an archive holds can make this fail otherwise.
"""

from __future__ import annotations

import hashlib
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Protocol, cast

from spanwalk.services.archives import layout
from spanwalk.services.archives.layout import About
from spanwalk.services.archives.plain import GroupRow, sums_of
from spanwalk.services.audit.verifying import verify_told
from spanwalk.services.refusals import WrongInput
from spanwalk.storage import json_text
from spanwalk.sync.canonical import canonical, sha256_of, tidy

FLAWS_MOST = 1000
"""So many flaws are told; whoever changed more has changed everything."""
PIECE = 1_000_000
LINE_MOST = 64_000_000
LIFE = "life"
ATTACHMENTS_COUNTED = 2
"""The first layout that counts attachments."""


@dataclass(frozen=True)
class Flaw:
    """Something that is not as it should be: the code of its sentence, and facts."""

    code: str
    facts: Mapping[str, object]


@dataclass
class Verdict:
    """What verifying found: flaws, and how much was looked at."""

    flaws: list[Flaw] = field(default_factory=list)
    name: str = ""
    files: int = 0
    operations: int = 0
    records: int = 0
    photos: int = 0
    attachments: int = 0
    releases: int = 0
    last: str = ""

    @property
    def whole(self) -> bool:
        """Whether nothing is wrong."""
        return not self.flaws

    def flaw(self, code: str, **facts: object) -> None:
        """Something is wrong."""
        if len(self.flaws) < FLAWS_MOST:
            self.flaws.append(Flaw(code, facts))


class Files(Protocol):
    """The files of an archive by their path in the bag."""

    def names(self) -> list[str]: ...
    def open(self, name: str) -> IO[bytes]: ...


class ZippedFiles:
    """The files of a bag in a zip, which has them in one folder (RFC 8493, section 4)."""

    def __init__(self, parts: zipfile.ZipFile) -> None:
        self.parts = parts
        tops = {name.split("/", 1)[0] for name in parts.namelist()}
        self.folder = f"{tops.pop()}/" if len(tops) == 1 else ""

    def names(self) -> list[str]:
        """All names; one that is there twice stands here twice."""
        return [each.removeprefix(self.folder) for each in self.parts.namelist() if not each.endswith("/")]

    def open(self, name: str) -> IO[bytes]:
        """A file to be read."""
        return self.parts.open(self.folder + name)


class LooseFiles:
    """The files of a bag in a folder."""

    def __init__(self, folder: Path) -> None:
        inside = list(folder.iterdir())
        alone = len(inside) == 1 and inside[0].is_dir()
        self.folder = inside[0] if alone else folder

    def names(self) -> list[str]:
        """All names."""
        return [each.relative_to(self.folder).as_posix() for each in self.folder.rglob("*") if each.is_file()]

    def open(self, name: str) -> IO[bytes]:
        """A file to be read."""
        return (self.folder / name).open("rb")


class Unreadable(Exception):
    """A file of the archive is not there or cannot be read; it was told already."""


def verify_archive(path: Path, last: str | None = None) -> Verdict:
    """Look at all of an archive.

    Parameters
    ----------
    path : Path
        The zip, or the folder that it was unpacked into.
    last : str, optional
        Hash of the last entry of who did what, as it was written down elsewhere.

    Raises
    ------
    WrongInput
        It is no archive at all.
    """
    if not path.exists():
        raise WrongInput("archive.no-such-file", value=str(path))
    if path.is_dir():
        return _verify(LooseFiles(path), last)
    try:
        with zipfile.ZipFile(path) as parts:
            return _verify(ZippedFiles(parts), last)
    except (zipfile.BadZipFile, OSError):
        raise WrongInput("archive.not-one", value=path.name) from None


def _verify(files: Files, last: str | None) -> Verdict:
    found = Verdict()
    names = Counter(files.names())
    if layout.BAGIT not in names or layout.DATA + layout.ABOUT not in names:
        raise WrongInput("archive.not-one", value="bagit.txt, data/archive.json")
    _verify_files(files, names, found)
    try:
        about = _about(files)
    except (ValueError, KeyError, TypeError, Unreadable):
        found.flaw("file-unreadable", file=layout.DATA + layout.ABOUT)
        return found
    if about["archive"] > layout.VERSION:
        found.flaw("newer", value=about["archive"], right=layout.VERSION)
        return found
    found.name, found.last = about["name"], about["audit"]["hash"]
    if last is not None and last != found.last:
        found.flaw("last-differs", value=found.last, right=last)
    for look in (_verify_log, _verify_counts, _verify_releases):
        try:
            look(files, names, about, found)
        except Unreadable as file:
            found.flaw("file-unreadable", file=str(file))
        except (ValueError, KeyError, TypeError, AttributeError, AssertionError) as wrong:
            found.flaw("not-as-laid-out", what=look.__name__.removeprefix("_verify_"), value=str(wrong)[:200])
    return found


def _about(files: Files) -> About:
    about: About = json_text.loads(_read(files, layout.DATA + layout.ABOUT))
    assert isinstance(about["archive"], int)
    return about


# -- files


def _verify_files(files: Files, names: Counter[str], found: Verdict) -> None:
    for name, number in names.items():
        if number > 1:
            found.flaw("file-twice", file=name)
    listed = _listed(files, layout.MANIFEST, found)
    beside = _listed(files, layout.TAG_MANIFEST, found)
    payload = {name for name in names if name.startswith(layout.DATA)}
    for name in sorted(payload - set(listed)):
        found.flaw("file-added", file=name)
    for name in sorted(set(names) - payload - set(beside) - {layout.TAG_MANIFEST}):
        found.flaw("file-added", file=name)
    for name, hashed in (*listed.items(), *beside.items()):
        if name not in names:
            found.flaw("file-missing", file=name)
        elif _hash(files, name) != hashed:
            found.flaw("file-changed", file=name)
        else:
            found.files += 1


def _listed(files: Files, name: str, found: Verdict) -> dict[str, str]:
    """Path -> hash of a manifest; names are written with %0A, %0D and %25 for what would break a line (RFC 8493, 2.1.3)."""
    listed: dict[str, str] = {}
    try:
        lines = _read(files, name).decode().splitlines()
    except (Unreadable, UnicodeDecodeError):
        found.flaw("file-missing", file=name)
        return listed
    for line in lines:
        hashed, _, path = line.partition(" ")
        listed[path.strip().replace("%0A", "\n").replace("%0D", "\r").replace("%25", "%")] = hashed.lower()
    return listed


def _hash(files: Files, name: str) -> str | None:
    hashed = hashlib.sha256()
    try:
        with files.open(name) as file:
            while piece := file.read(PIECE):
                hashed.update(piece)
    except (zipfile.BadZipFile, EOFError, OSError, RuntimeError, NotImplementedError, KeyError):
        return None
    return hashed.hexdigest()


def _read(files: Files, name: str) -> bytes:
    try:
        with files.open(name) as file:
            return file.read()
    except (zipfile.BadZipFile, EOFError, OSError, RuntimeError, NotImplementedError, KeyError):
        raise Unreadable(name) from None


def _lines(files: Files, name: str) -> Iterator[dict[str, object]]:
    try:
        with files.open(name) as file:
            while line := file.readline(LINE_MOST):
                yield json_text.loads(line)
    except (zipfile.BadZipFile, EOFError, OSError, RuntimeError, NotImplementedError, KeyError):
        raise Unreadable(name) from None


# -- who did what


def _verify_log(files: Files, names: Counter[str], about: About, found: Verdict) -> None:
    """The chain, each operation that it vouches for, and each record against the operations that wrote it."""
    entries = [_entry(line) for line in _lines(files, f"{layout.DATA}{layout.AUDIT}")]
    entry_of = {id: entry["number"] for entry in entries for id in cast("list[str]", entry["operations"])}
    said: dict[str, Mapping[str, str]] = {}

    def log() -> Iterator[dict[str, object]]:
        for row in _lines(files, f"{layout.DATA}operations.jsonl"):
            said[str(row["id"])] = _values_of(row)
            yield row | {"entry": entry_of.get(str(row["id"]))}

    head = (about["audit"]["number"], about["audit"]["hash"])
    verified = verify_told(about["site"], entries, head, log())
    found.operations = verified.operations
    for each in verified.breaks:
        found.flaw(f"audit.{each.code}", **each.facts)
    _verify_records(_lines(files, f"{layout.DATA}records.jsonl"), said, found)


def _entry(line: dict[str, object]) -> dict[str, object]:
    leaves = line["leaves"]
    return line | {"leaves": bytes.fromhex(leaves) if isinstance(leaves, str) else None}


def _values_of(row: Mapping[str, object]) -> dict[str, str]:
    """Field -> fingerprint of what an operation set."""
    body = json_text.loads(str(row["body"]))
    to = body.get("to") if isinstance(body, dict) else None
    return {name: _fingerprint(value) for name, value in to.items()} if isinstance(to, dict) else {}


def _fingerprint(value: object) -> str:
    return sha256_of(canonical(tidy(value)))[:16]


def _verify_records(
    lines: Iterable[Mapping[str, object]], said: Mapping[str, Mapping[str, str]], found: Verdict
) -> None:
    """Every value that stands in a record is one that the operation set which wrote its facet.

    Fields which that operation's sender did not know stayed from before, and are looked for in no operation.
    """
    for line in lines:
        found.records += 1
        for name, held in json_text.loads(str(line["facets"])).items():
            if name == LIFE:
                continue
            if held["op"] not in said:
                found.flaw("record-unknown-operation", record=line["id"], facet=name, operation=held["op"])
                continue
            wrote = said[held["op"]]
            differing = [f for f, value in held["value"].items() if f in wrote and wrote[f] != _fingerprint(value)]
            if differing or (wrote and not set(wrote) <= set(held["value"])):
                found.flaw("record-differs", record=line["id"], facet=name, fields=differing or sorted(wrote))


# -- counts and sums


def _verify_counts(files: Files, names: Counter[str], about: About, found: Verdict) -> None:
    by_type: Counter[str] = Counter()
    removed = 0
    for line in _lines(files, f"{layout.DATA}records.jsonl"):
        removed += bool(line["removed"])
        by_type[str(line["type"])] += not line["removed"]
    photos = [name for name in names if name.startswith(f"{layout.DATA}photos/")]
    attachments = [name for name in names if name.startswith(f"{layout.DATA}attachments/")]
    found.photos, found.attachments = len(photos), len(attachments)
    ours: dict[str, object] = {
        "records": {name: number for name, number in sorted(by_type.items()) if number},
        "records_removed": removed,
        "operations": _number_of(files, "operations.jsonl"),
        "photos": len(photos),
        "photos_missing": _number_of(files, "photos.jsonl") - len(photos),
        "people": _number_of(files, "people.jsonl"),
        "audit_entries": _number_of(files, layout.AUDIT),
    }
    if about["archive"] >= ATTACHMENTS_COUNTED:
        ours["attachments"] = len(attachments)
        ours["attachments_missing"] = _number_of(files, "attachments.jsonl") - len(attachments)
    for name, number in ours.items():
        right = cast("Mapping[str, object]", about["counts"]).get(name)
        if right != number:
            found.flaw("count-differs", what=name, value=number, right=right)
    for name, number in by_type.items():
        told = f"{layout.DATA}{layout.PLAIN}/{name}.json"
        rows = len(json_text.loads(_read(files, told))) if told in names else 0
        if rows != number:
            found.flaw("count-differs", what=told, value=rows, right=number)


def _number_of(files: Files, name: str) -> int:
    return sum(1 for _ in _lines(files, layout.DATA + name))


def _verify_releases(files: Files, names: Counter[str], about: About, found: Verdict) -> None:
    for told in about["releases"]:
        found.releases += 1
        name = f"{layout.DATA}{layout.RELEASES}/release-{told['number']}.json"
        rows = cast("list[GroupRow]", json_text.loads(_read(files, name)))
        ours = sums_of(told["number"], rows)
        for figure, value in ours.items():
            if cast("Mapping[str, object]", told).get(figure) != value:
                right = cast("Mapping[str, object]", told).get(figure)
                found.flaw("sum-differs", number=told["number"], what=figure, value=value, right=right)
    said = (
        Counter(row.get("identity.number") for row in json_text.loads(_read(files, _plain("conversion"))))
        if _plain("conversion") in names
        else Counter()
    )
    for told in about["releases"]:
        if said[told["number"]] != told["groups"]:
            found.flaw(
                "sum-differs", number=told["number"], what="groups", value=said[told["number"]], right=told["groups"]
            )


def _plain(type_name: str) -> str:
    return f"{layout.DATA}{layout.PLAIN}/{type_name}.json"
