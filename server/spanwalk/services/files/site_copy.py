"""A copy of one whole site in one zip: records, log, checks, people's names, photos, and tables to read; and taking it in elsewhere.

The layout is written out in the copy's own README.md (`LAYOUT`). Ids are kept. A copy is taken in whole or not at all.
"""

from __future__ import annotations

import hashlib
import re
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from importlib.metadata import version
from itertools import islice
from pathlib import Path
from typing import IO, TypedDict, cast

from sqlalchemy import insert, select
from sqlalchemy.exc import OperationalError, StatementError
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.services.attachments.attachments import attachments_arrived, kept_attachment
from spanwalk.services.audit.chain import begin_chain
from spanwalk.services.clock import now
from spanwalk.services.doctor import examine_site
from spanwalk.services.files.copied_files import (
    ATTACHMENTS,
    ATTACHMENTS_TOLD,
    PHOTOS,
    PHOTOS_TOLD,
    Line,
    bring_file,
    bring_photo,
    lines_of_files,
)
from spanwalk.services.files.sheets_out import as_csv
from spanwalk.services.files.tables_out import tables_of
from spanwalk.services.people.members import incarnation
from spanwalk.services.people.names import name_key
from spanwalk.services.people.people import set_role
from spanwalk.services.photos.photos import keeps_place, kept_photo
from spanwalk.services.refusals import InTheWay, NotThere, WrongInput
from spanwalk.services.sync import sums
from spanwalk.storage import json_text
from spanwalk.storage.database import insert_many
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import Attachment, Membership, Operation, Person, Photo, Record, Site, SiteSum

Kept = type[Record] | type[Operation] | type[SiteSum] | type[Photo] | type[Attachment]
"""A table whose rows of a site go into its copy."""
LAYOUT_NUMBER = 1
PLAIN = ("operations.jsonl", PHOTOS_TOLD, ATTACHMENTS_TOLD)
LATER = (ATTACHMENTS_TOLD,)
"""What copies of before lack."""
UNZIPPED_MOST = 50_000_000_000
LINES_AT_ONCE = 2000
SHA256 = re.compile(r"[0-9a-f]{64}")
MANIFEST, README = "manifest.json", "README.md"
LAYOUT = """# A copy of one site

Everything that a Spanwalk server holds of one site. Text is UTF-8; `.jsonl` files have one JSON object a line.

| file | what is in it |
| --- | --- |
| `manifest.json` | number of this layout, the site and its newest sequence, when and by which version it was made, and for each other file but this one its SHA-256 and length |
| `records.jsonl` | each record: id, type, parent, sequence, whether it is removed, its facets (`{name: {op, seq, by, at, value}}`) and open conflicts, both as JSON text |
| `operations.jsonl` | the log: each operation as it was sent (`body`, JSON text), by whom, in which order, and what became of it |
| `sums.jsonl` | checks: by type of record the number of records and the sum of their hashes, as `sync/README.md` of Spanwalk writes them |
| `people.jsonl` | id and name of everyone who is or was on the site, with role and since when; no passwords |
| `photos.jsonl` | each photo that arrived: its name (the SHA-256 of what the phone sent), size, by whom, when |
| `photos/` | the photos, by that name |
| `attachments.jsonl` | each attachment that arrived: the SHA-256 of its bytes, its kind, size, by whom, when; copies from before there were any lack it |
| `attachments/` | the attachments, by that SHA-256 |
| `tables/` | the same to be read in a spreadsheet, as CSV; not read when a copy is taken in |

Lengths are whole numbers of 1/320 mm. What a record's fields mean stands in `spec/records.md` of Spanwalk.
`spanwalk bring-site FILE` takes a copy in where no site of this id is, with all ids kept.
"""
ROWS: Mapping[str, tuple[Kept, tuple[str, ...]]] = {
    "records.jsonl": (Record, ("id", "type", "parent", "seq", "removed", "facets", "conflicts")),
    "operations.jsonl": (
        Operation,
        tuple(column.name for column in Operation.__table__.columns if column.name not in ("site", "entry")),
    ),
    "sums.jsonl": (SiteSum, ("type", "lines", "total")),
    ATTACHMENTS_TOLD: (Attachment, ("sha256", "kept_as", "media", "bytes", "person", "received_at")),
    PHOTOS_TOLD: (Photo, ("sha256", "bytes", "width_px", "height_px", "person", "received_at")),
}


class FileTold(TypedDict):
    """What the manifest says of a file."""

    sha256: str
    bytes: int


class SiteTold(TypedDict):
    """What the manifest says of the site: its row, of which a later server may have more columns."""

    id: str
    head: int
    created_at: str
    backed_up: int


class Manifest(TypedDict):
    """manifest.json."""

    layout: int
    site: SiteTold
    made_at: str
    version: str
    spec: int
    incarnation: str
    files: dict[str, FileTold]


class PersonLine(TypedDict):
    """A line of people.jsonl."""

    id: str
    name: str
    role: str
    since: str
    ended_at: str | None


class SumLine(TypedDict):
    """A line of sums.jsonl."""

    type: str
    lines: int
    total: str


@dataclass
class Missing:
    """Hashes of what a copy lacks, because the store has it no more, or damaged: the doctor tells them too."""

    photos: list[str] = field(default_factory=list)
    attachments: list[str] = field(default_factory=list)


# -- out


def copy_site(session: Session, store: PhotoStore, site_id: str, path: Path) -> None:
    """Write a copy of a site to a file.

    Parameters
    ----------
    session : Session
        One snapshot of the database.
    store : PhotoStore
        Where photos lie.
    site_id : str
        The site.
    path : Path
        The zip to be written.

    Raises
    ------
    NotThere
        There is no such site.
    """
    site = session.execute(select(Site).where(Site.id == site_id)).scalar_one_or_none()
    if site is None:
        raise NotThere("site-unknown")
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as parts:
        writing = Writing(parts)
        write_copy(session, store, site, writing)
        parts.writestr(README, LAYOUT)
        writing.manifest(session, site)


def write_copy(
    session: Session, store: PhotoStore, site: Site, writing: Writing, on_photo: Callable[[], None] = lambda: None
) -> Missing:
    """Write all of a site but its manifest; one photo at a time is in memory. What is not in the store is told.

    Parameters
    ----------
    session : Session
        One snapshot of the database.
    store : PhotoStore
        Where photos lie.
    site : Site
        The site.
    writing : Writing
        What is written into.
    on_photo : callable
        Called after each photo.
    """
    for name, (table, columns) in ROWS.items():
        writing.lines(name, _rows_of(session, site.id, table, columns))
    writing.lines("people.jsonl", _people(session, site.id))
    with_place = keeps_place(session, site.id)
    missing = Missing()
    names = select(Photo.sha256).where(Photo.site == site.id).order_by(Photo.sha256)
    for sha256 in session.execute(names).scalars().all():
        try:
            shown = kept_photo(store, sha256, patient=True).shown(with_place)
            writing.whole(f"{PHOTOS}{sha256}.jpg", shown, zipfile.ZIP_STORED)
        except NotThere:
            missing.photos.append(sha256)
        on_photo()
    attached_here = select(Attachment.sha256, Attachment.kept_as).where(Attachment.site == site.id)
    for attached in session.execute(attached_here.order_by(Attachment.sha256)).all():
        try:
            data = kept_attachment(store, attached.kept_as)
            writing.whole(f"{ATTACHMENTS}{attached.sha256}", data, zipfile.ZIP_STORED)
        except NotThere:
            missing.attachments.append(attached.sha256)
    for each in tables_of(session, site.id):
        writing.whole(f"tables/{each.name}.csv", as_csv(each))
    return missing


class Writing:
    """A zip being written, and what its manifest says of each file; all of it lies in a folder of the zip, if one is named."""

    def __init__(self, parts: zipfile.ZipFile, folder: str = "") -> None:
        self.parts, self.folder = parts, folder
        self.files: dict[str, FileTold] = {}

    def whole(self, name: str, data: bytes, how: int = zipfile.ZIP_DEFLATED) -> None:
        """Write a file."""
        self.parts.writestr(self.folder + name, data, compress_type=how)
        self.files[name] = {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}

    def lines(self, name: str, rows: Iterable[Mapping[str, object]]) -> None:
        """Write a file of JSON objects, one a line."""
        self.pieces(name, (json_text.dumps(row).encode() + b"\n" for row in rows))

    def pieces(self, name: str, pieces: Iterable[bytes]) -> None:
        """Write a file piece by piece."""
        hashed, size = hashlib.sha256(), 0
        with self.parts.open(self.folder + name, "w", force_zip64=True) as out:
            for piece in pieces:
                hashed.update(piece)
                size += len(piece)
                out.write(piece)
        self.files[name] = {"sha256": hashed.hexdigest(), "bytes": size}

    def manifest(self, session: Session, site: Site) -> None:
        """Write what `bring_site` reads first: which site it is, and what each file is."""
        about: Manifest = {
            "layout": LAYOUT_NUMBER,
            "site": cast("SiteTold", {column.name: getattr(site, column.name) for column in Site.__table__.columns}),
            "made_at": now(),
            "version": version("spanwalk"),
            "spec": records.spec().number,
            "incarnation": incarnation(session),
            "files": dict(self.files),
        }
        self.whole(MANIFEST, json_text.dumps(about).encode())


def _rows_of(session: Session, site_id: str, table: Kept, columns: tuple[str, ...]) -> Iterator[Line]:
    wanted = [getattr(table, name) for name in columns]
    keys = [key for key in table.__table__.primary_key if key.name != "site"]
    query = select(*wanted).where(table.site == site_id).order_by(*keys)
    for row in session.execute(query, execution_options={"yield_per": LINES_AT_ONCE}):
        yield dict(zip(columns, row, strict=True))


def _people(session: Session, site_id: str) -> Iterator[Line]:
    query = (
        select(Person.id, Person.name, Membership.role, Membership.since, Membership.ended_at)
        .join(Membership, Membership.person == Person.id)
        .where(Membership.site == site_id)
        .order_by(Person.id)
    )
    for row in session.execute(query):
        yield dict(row._mapping)


# -- in


def bring_site(session: Session, store: PhotoStore, path: Path, by: str | None) -> str:
    """Take a copy of a site in, with all ids kept; the site's id.

    Everything is checked first, and again as it stands in the tables; whoever brings it is on the site as owner. People
    of the copy whom this server does not know are made without a password; none that it knows gains or loses a role
    elsewhere.

    Parameters
    ----------
    session : Session
        A writing transaction.
    store : PhotoStore
        Where photos go.
    path : Path
        The zip.
    by : str or None
        The person who brings it; None: whoever is an owner in the copy and known here.

    Raises
    ------
    WrongInput
        It is no copy, was changed or cut, or does not hold together; the sentence says what.
    InTheWay
        The site is here already.
    """
    try:
        parts = zipfile.ZipFile(path)
    except zipfile.BadZipFile:
        raise WrongInput("copy.not-a-copy") from None
    with parts:
        files = _Files(parts)
        about = _manifest(files)
        site_id = str(about["site"]["id"])
        if session.execute(select(Site.id).where(Site.id == site_id)).first() is not None:
            raise InTheWay("copy.here-already", value=site_id)
        _check_files(files, about["files"])
        _insert(session, files, about, site_id, by)
        _check_whole(session, files, about, site_id)
        begin_chain(session, site_id)
        _bring_files(session, store, site_id, files, about["files"])
    return site_id


def _bring_files(
    session: Session, store: PhotoStore, site_id: str, files: _Files, named: Mapping[str, FileTold]
) -> None:
    media = attachments_arrived(session, site_id)
    for name in named:
        if name.startswith(PHOTOS):
            bring_photo(session, store, site_id, name.removeprefix(PHOTOS).removesuffix(".jpg"), files.read(name))
        elif name.startswith(ATTACHMENTS):
            sha256 = name.removeprefix(ATTACHMENTS)
            bring_file(store, sha256, files.read(name), media.get(sha256))


class _Files:
    """The files of a copy in a zip: at its top, or in the folder `data` of an archive, which is a bag (RFC 8493)."""

    def __init__(self, parts: zipfile.ZipFile) -> None:
        self.parts = parts
        inside = [name for name in parts.namelist() if re.fullmatch(rf"[^/]+/data/{MANIFEST}", name)]
        self.folder = inside[0].removesuffix(MANIFEST) if inside and MANIFEST not in parts.namelist() else ""

    def names(self) -> list[str]:
        """Names of the files, without their folder."""
        return [name.removeprefix(self.folder) for name in self.parts.namelist() if name.startswith(self.folder)]

    def unzipped(self) -> int:
        """Bytes of all that is in the zip."""
        return sum(part.file_size for part in self.parts.infolist())

    def read(self, name: str) -> bytes:
        """A whole file."""
        return self.parts.read(self.folder + name)

    def open(self, name: str) -> IO[bytes]:
        """A file to be read."""
        return self.parts.open(self.folder + name)


def _manifest(parts: _Files) -> Manifest:
    if parts.unzipped() > UNZIPPED_MOST:
        raise WrongInput("copy.too-large")
    try:
        about = json_text.loads(parts.read(MANIFEST))
        layout, spec, site = about["layout"], about["spec"], about["site"]
        right = isinstance(about["files"], dict) and records.is_record_id(site["id"]) and isinstance(site["head"], int)
    except (KeyError, ValueError, TypeError, zipfile.BadZipFile):
        raise WrongInput("copy.not-a-copy") from None
    if not right or layout != LAYOUT_NUMBER:
        raise WrongInput("copy.not-a-copy")
    if spec > records.spec().number:
        raise WrongInput("copy.newer", value=spec, right=records.spec().number)
    told: Manifest = about
    return told


def _check_files(parts: _Files, files: Mapping[str, FileTold]) -> None:
    """Each file is there and is what the manifest says, and there is no other."""
    there = set(parts.names()) - {MANIFEST, README}
    for name in sorted(there ^ set(files)) + [name for name in (*ROWS, "people.jsonl") if name not in (*files, *LATER)]:
        raise WrongInput("copy.file-differs", value=name)
    for name, said in files.items():
        photo = name.removeprefix(PHOTOS).removesuffix(".jpg")
        if name.startswith(PHOTOS) and SHA256.fullmatch(photo) is None:
            raise WrongInput("copy.file-differs", value=name)
        if name.startswith(ATTACHMENTS) and name.removeprefix(ATTACHMENTS) != said["sha256"]:
            raise WrongInput("copy.file-differs", value=name)
        if _hash_in(parts, name) != said["sha256"]:
            raise WrongInput("copy.file-differs", value=name)


def _hash_in(parts: _Files, name: str) -> str:
    hashed = hashlib.sha256()
    try:
        with parts.open(name) as file:
            while some := file.read(1_000_000):
                hashed.update(some)
    except (zipfile.BadZipFile, EOFError, OSError):
        raise WrongInput("copy.file-differs", value=name) from None
    return hashed.hexdigest()


def _lines(parts: _Files, name: str, columns: Iterable[str]) -> Iterator[Line]:
    """The lines of a file, each with exactly its columns."""
    wanted = set(columns)
    with parts.open(name) as file:
        for number, line in enumerate(file, 1):
            try:
                row = json_text.loads(line)
            except ValueError:
                raise WrongInput("copy.line-wrong", value=name, line=number) from None
            if not isinstance(row, dict) or set(row) != wanted:
                raise WrongInput("copy.line-wrong", value=name, line=number)
            yield row


def _insert(session: Session, parts: _Files, about: Manifest, site_id: str, by: str | None) -> None:
    known = {column.name for column in Site.__table__.columns}
    values = {name: value for name, value in about["site"].items() if name in known}
    session.execute(insert(Site).values(**values | {"created_at": now(), "backed_up": 0}))
    _insert_people(session, parts, site_id)
    if by is not None:
        set_role(session, site_id, by, "owner")
    lengths = {name: told["bytes"] for name, told in about["files"].items()}
    for name, more in (("records.jsonl", {"line_hash": None}), *((each, {}) for each in PLAIN)):
        if name in LATER and name not in about["files"]:
            continue
        table, columns = ROWS[name]
        lines = lines_of_files(name, _lines(parts, name, columns), lengths)
        _insert_lines(session, name, table, lines, {"site": site_id, **more})


def _insert_lines(session: Session, name: str, table: Kept, rows: Iterator[Line], more: Line) -> None:
    line = 1
    while some := [row | more for row in islice(rows, LINES_AT_ONCE)]:
        try:
            insert_many(session.connection(), table.__table__, some)
        except OperationalError:  # the database does not answer: no fault of the copy
            raise
        except StatementError:
            raise WrongInput("copy.line-wrong", value=name, line=f"{line}–{line + len(some) - 1}") from None
        line += len(some)


def _insert_people(session: Session, parts: _Files, site_id: str) -> None:
    """Those whom this server does not know are made, without a password; a name that is taken gets a number."""
    here = set(session.execute(select(Person.id)).scalars())
    names = set(session.execute(select(Person.name_key)).scalars())
    lines = cast("Iterator[PersonLine]", _lines(parts, "people.jsonl", ("id", "name", "role", "since", "ended_at")))
    for each in lines:
        if each["id"] not in here:
            name = _free_name(each["name"], lambda wanted: name_key(wanted) in names)
            names.add(name_key(name))
            values = {"id": each["id"], "name": name, "name_key": name_key(name), "created_at": now(), "owner": False}
            session.execute(insert(Person).values(password_hash=None, **values))
        role = {"role": each["role"], "since": each["since"], "ended_at": each["ended_at"]}
        session.execute(insert(Membership).values(site=site_id, person=each["id"], **role))


def _free_name(wanted: str, taken: Callable[[str], bool]) -> str:
    name, number = wanted, 1
    while taken(name):
        number += 1
        name = f"{wanted} ({number})"
    return name


def _check_whole(session: Session, parts: _Files, about: Manifest, site_id: str) -> None:
    """What now stands in the tables holds together, and adds up to what the copy says."""
    sums.recount(session, site_id)
    query = select(SiteSum.type, SiteSum.lines, SiteSum.total).where(SiteSum.site == site_id)
    ours = {(row.type, row.lines, row.total) for row in session.execute(query) if row.lines}
    said = cast("Iterator[SumLine]", _lines(parts, "sums.jsonl", ROWS["sums.jsonl"][1]))
    theirs = {(each["type"], each["lines"], each["total"]) for each in said if each["lines"]}
    if ours != theirs:
        raise WrongInput("copy.sums-differ", value=sorted({each[0] for each in ours ^ theirs}))
    report = examine_site(session, site_id, about["site"]["head"])
    if report.findings:
        first = report.findings[0]
        raise WrongInput("copy.not-whole", why={"code": first.code, "facts": first.facts})
