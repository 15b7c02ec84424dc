"""Make a backup: a snapshot of the database, the photos that it names, and a manifest that says what must be there."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path

from flask import current_app
from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.config import Settings, SettingWrong
from spanwalk.services.attachments.attachments import kept_names
from spanwalk.services.backups.manifest import (
    DATABASE,
    LAYOUT_NUMBER,
    MANIFEST,
    PHOTOS,
    PHOTOS_BESIDE,
    SEALED,
    FileTold,
    HeadTold,
    Manifest,
    SiteTold,
    photo_name,
    read_manifest,
    sum_of,
    told_of,
)
from spanwalk.services.backups.remembered import remember_backup
from spanwalk.services.backups.sealing import recipients, seal
from spanwalk.services.backups.snapshot import counts, opened, take_snapshot
from spanwalk.services.clock import later, now
from spanwalk.storage import json_text
from spanwalk.storage.backup_stores import BackupStore, FolderStore, open_store
from spanwalk.storage.database import writing
from spanwalk.storage.migrating import newest_revision
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import AuditHead, Installation, Operation, Photo, Record, Site
from spanwalk.words import say

BEGUN = "begun"
"""What a backup that is being made leaves beside its files, so that nobody clears its photos away."""
DATED = re.compile(r"\d{4}-\d\d-\d\dT\d{6}Z(?:-\d+)?")
GIVEN_UP_S = 86400
"""A backup that has not come to its end after a day never will."""


@dataclass(frozen=True)
class BackedUp:
    """A backup that was made: where, how much, what the store of photos lacked, and which older ones were let go."""

    where: str
    sites: int
    photos: int
    missing: tuple[str, ...]
    let_go: tuple[str, ...] = ()


def back_up(settings: Settings, folder: Path) -> BackedUp:
    """Make one backup, whole in a new folder; phones learn up to which sequence they need not remember.

    Raises
    ------
    SettingWrong
        The folder exists.
    """
    if folder.exists():
        raise SettingWrong(say("keeping.folder-there", {"folder": str(folder)}))
    folder.mkdir(parents=True)
    making = _Making(settings, FolderStore(folder), "", PHOTOS)
    return making.make(str(folder), {})


def keep_database(settings: Settings, folder: Path) -> None:
    """Keep the live database in a new folder, sealed if there is a key, with a manifest: a backup without photos."""
    making = _Making(settings, FolderStore(folder), "", PHOTOS)
    folder.mkdir()
    making.make(str(folder), {}, with_photos=False)


def back_up_dated(settings: Settings, where: str, keep: int | None) -> BackedUp:
    """Make a backup named by its time in a store of several, which share their photos, and let go all but the newest.

    Parameters
    ----------
    settings : Settings
        Those of the installation.
    where : str
        A folder, or ``s3://bucket/prefix``.
    keep : int or None
        How many are kept, the new one too; None: all.
    """
    store = open_store(where, settings.extra)
    names = list(store.names())
    name = _free_name(names)
    before = _newest_photos(store, names, bool(settings.backup_keys))
    making = _Making(settings, store, f"{name}/", PHOTOS_BESIDE)
    made = making.make(f"{where.rstrip('/')}/{name}", before)
    let_go = let_go_of(store, keep) if keep is not None else ()
    return BackedUp(made.where, made.sites, made.photos, made.missing, let_go)


def _free_name(names: Sequence[str]) -> str:
    wanted = re.sub(r"[:]|\.\d+", "", now())
    taken = {name.split("/", 1)[0] for name in names}
    number, name = 1, wanted
    while name in taken:
        number += 1
        name = f"{wanted}-{number}"
    return name


def dated_backups(names: Sequence[str]) -> list[str]:
    """The backups of a store that have come to their end, the oldest first."""
    found = {name.split("/", 1)[0] for name in names if name.endswith(f"/{MANIFEST}")}
    return sorted(name for name in found if DATED.fullmatch(name))


def _newest_photos(store: BackupStore, names: Sequence[str], sealed: bool) -> dict[str, FileTold]:
    """What the newest backup of a store says of its photos, of those that still lie there as it says."""
    there = dated_backups(names)
    if not there:
        return {}
    before = manifest_of(store, there[-1])
    if before["sealed"] is not sealed:
        return {}
    names_there = set(names)
    return {
        sha256: told
        for sha256, told in before["photos"].items()
        if f"{PHOTOS}/{photo_name(sha256, sealed)}" in names_there
        and store.size(f"{PHOTOS}/{photo_name(sha256, sealed)}") == told["bytes"]
    }


def manifest_of(store: BackupStore, name: str) -> Manifest:
    """The manifest of one of several backups of a store."""
    with tempfile.TemporaryDirectory(prefix="spanwalk-") as folder:
        file = Path(folder) / MANIFEST
        if not store.get(f"{name}/{MANIFEST}", file):
            raise SettingWrong(say("keeping.no-backup", {"where": f"{store}/{name}"}))
        return read_manifest(file.read_bytes(), f"{store}/{name}")


def let_go_of(store: BackupStore, keep: int) -> tuple[str, ...]:
    """Let go all but the newest backups of a store, those that never came to their end, and photos that none has any more.

    Parameters
    ----------
    store : BackupStore
        Where they lie.
    keep : int
        How many are kept, at least one.

    Returns
    -------
    tuple of str
        Names of those that were let go.
    """
    names = list(store.names())
    whole = dated_backups(names)
    old = whole[: max(0, len(whole) - max(1, keep))]
    begun = {name.split("/", 1)[0] for name in names if name.endswith(f"/{BEGUN}")}
    yesterday = re.sub(r"[:]|\.\d+", "", later(-GIVEN_UP_S))
    given_up = {name for name in begun if name < yesterday}
    gone = {*old, *given_up}
    for name in names:
        if name.split("/", 1)[0] in gone and DATED.fullmatch(name.split("/", 1)[0]):
            store.drop(name)
    if not begun - given_up:
        _clear_photos(store, names, [name for name in whole if name not in gone])
    return tuple(old)


def _clear_photos(store: BackupStore, names: Sequence[str], kept: Sequence[str]) -> None:
    wanted: set[str] = set()
    for name in kept:
        manifest = manifest_of(store, name)
        wanted |= {f"{PHOTOS}/{photo_name(sha256, manifest['sealed'])}" for sha256 in manifest["photos"]}
    for name in names:
        if name.startswith(f"{PHOTOS}/") and name not in wanted:
            store.drop(name)


class _Making:
    """One backup being made."""

    def __init__(self, settings: Settings, store: BackupStore, prefix: str, photos_at: str) -> None:
        self.settings, self.store, self.prefix, self.photos_at = settings, store, prefix, photos_at
        self.keys = settings.backup_keys
        self.photos_prefix = f"{PHOTOS}/"
        self.sealed = bool(self.keys)
        recipients(self.keys)

    def make(self, where: str, before: dict[str, FileTold], with_photos: bool = True) -> BackedUp:
        """Snapshot, photos, and last of all the manifest, without which there is no backup.

        One without photos is none that phones may rely on.
        """
        photo_store: PhotoStore = current_app.extensions["spanwalk-photos"]
        with self._scratch() as scratch:
            self._say_begun(scratch)
            snapshot = scratch / DATABASE
            take_snapshot(snapshot)
            told = _told_of_database(snapshot)
            database = self._keep(snapshot, f"{self.prefix}{DATABASE}", scratch)
            photos, missing = self._photos(photo_store, told.photos if with_photos else (), before, scratch)
            manifest: Manifest = {
                "layout": LAYOUT_NUMBER,
                "made_at": now(),
                "version": version("spanwalk"),
                "spec": records.spec().number,
                "tables": newest_revision(),
                "incarnation": told.incarnation,
                "kept_in": self.settings.database_url.split(":", 1)[0].split("+", 1)[0],
                "sealed": self.sealed,
                "counts": told.counts,
                "sites": told.sites,
                "audit": told.audit,
                "database": database,
                "photos_at": self.photos_at,
                "photos": photos,
                "missing": missing,
                "sum": "",
            }
            manifest["sum"] = sum_of(manifest)
            file = scratch / MANIFEST
            file.write_text(json_text.dumps(manifest) + "\n", encoding="utf-8")
            self.store.put(f"{self.prefix}{MANIFEST}", file)
            self.store.drop(f"{self.prefix}{BEGUN}")
        if with_photos:
            _tell_phones(told.sites)
            remember_backup(self.settings.data, where, self.sealed)
        return BackedUp(where, len(told.sites), len(photos), tuple(missing))

    @contextmanager
    def _scratch(self) -> Iterator[Path]:
        with tempfile.TemporaryDirectory(prefix=".backup-", dir=self.settings.data) as folder:
            yield Path(folder)

    def _say_begun(self, scratch: Path) -> None:
        (scratch / BEGUN).write_text(now(), encoding="utf-8")
        self.store.put(f"{self.prefix}{BEGUN}", scratch / BEGUN)

    def _keep(self, file: Path, name: str, scratch: Path) -> FileTold:
        """Put a file there, sealed if there is a key; what the manifest says of it."""
        hashed, size = told_of(file)
        if not self.sealed:
            self.store.put(name, file)
            return {"sha256": hashed, "bytes": size, "inside_sha256": None, "inside_bytes": None}
        sealed = scratch / f"sealed{SEALED}"
        seal(file, sealed, self.keys)
        outside, outside_size = told_of(sealed)
        self.store.put(name + SEALED, sealed)
        sealed.unlink()
        return {"sha256": outside, "bytes": outside_size, "inside_sha256": hashed, "inside_bytes": size}

    def _photos(
        self, photo_store: PhotoStore, wanted: Sequence[str], before: dict[str, FileTold], scratch: Path
    ) -> tuple[dict[str, FileTold], list[str]]:
        photos: dict[str, FileTold] = {}
        missing: list[str] = []
        file = scratch / "photo"
        for sha256 in wanted:
            if sha256 in before:
                photos[sha256] = before[sha256]
                continue
            data = photo_store.get(sha256)
            if data is None:
                missing.append(sha256)
                continue
            file.write_bytes(data)
            name = self.photos_prefix + photo_name(sha256, False)
            photos[sha256] = self._keep(file, name, scratch)
        return photos, missing


@dataclass(frozen=True)
class _Told:
    """What a snapshot holds."""

    incarnation: str
    counts: dict[str, int]
    sites: dict[str, SiteTold]
    photos: tuple[str, ...]
    audit: dict[str, HeadTold] = field(default_factory=dict)


def _told_of_database(file: Path) -> _Told:
    with opened(file) as engine, Session(engine) as session:
        return _Told(
            session.execute(select(Installation.incarnation)).scalar_one(),
            counts(session.connection()),
            sites_told(session),
            tuple(sorted({*session.execute(select(Photo.sha256)).scalars(), *kept_names(session)})),
            audit_told(session),
        )


def sites_told(session: Session) -> dict[str, SiteTold]:
    """What a database has of each site."""
    per_site = {
        name: dict(session.execute(select(table.site, func.count()).group_by(table.site)).all())
        for name, table in (("records", Record), ("operations", Operation), ("photos", Photo))
    }
    return {
        site: {
            "head": head,
            "records": per_site["records"].get(site, 0),
            "operations": per_site["operations"].get(site, 0),
            "photos": per_site["photos"].get(site, 0),
        }
        for site, head in session.execute(select(Site.id, Site.head).order_by(Site.id))
    }


def audit_told(session: Session) -> dict[str, HeadTold]:
    """Where each chain of the audit has come to."""
    heads = session.execute(select(AuditHead.scope, AuditHead.number, AuditHead.hash).order_by(AuditHead.scope)).all()
    return {scope: {"number": number, "hash": hashed} for scope, number, hashed in heads}


def _tell_phones(sites: dict[str, SiteTold]) -> None:
    with writing() as session:
        for site, told in sites.items():
            session.execute(update(Site).where(Site.id == site).values(backed_up=told["head"]))
