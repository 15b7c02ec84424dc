"""A backup that is to be put back: found, its manifest read, and everything in it checked in a folder beside."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from pyrage import x25519
from sqlalchemy import select
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.config import Settings, SettingWrong
from spanwalk.services.backups.backing_up import dated_backups, sites_told
from spanwalk.services.backups.manifest import (
    DATABASE,
    MANIFEST,
    PHOTOS,
    SEALED,
    FileTold,
    Manifest,
    photo_name,
    read_manifest,
    told_of,
)
from spanwalk.services.backups.sealing import open_sealed
from spanwalk.services.backups.snapshot import opened
from spanwalk.services.doctor import examine_site
from spanwalk.storage.backup_stores import BackupStore, above, open_store
from spanwalk.storage.migrating import is_current, is_known, newest_revision, upgrade
from spanwalk.storage.tables import Installation, Site
from spanwalk.words import say


@dataclass(frozen=True)
class Backup:
    """A backup as it lies in its store. `manifest` is None for one that was made before there were any."""

    where: str
    store: BackupStore
    prefix: str
    photos_prefix: str
    manifest: Manifest | None

    @property
    def sealed(self) -> bool:
        """Whether a private key is needed to read it."""
        return self.manifest is not None and self.manifest["sealed"]


def find_backup(settings: Settings, where: str, scratch: Path) -> Backup:
    """The backup at an address.

    Parameters
    ----------
    settings : Settings
        Those of the installation.
    where : str
        A folder, or ``s3://bucket/prefix``: one backup, not a store of several.
    scratch : Path
        A folder for what is looked at.

    Raises
    ------
    SettingWrong
        There is none, or there are several; or its manifest is damaged.
    """
    store = open_store(where, settings.extra)
    file = scratch / MANIFEST
    if store.get(MANIFEST, file):
        manifest = read_manifest(file.read_bytes(), where)
        if manifest["photos_at"] == PHOTOS:
            return Backup(where, store, "", f"{PHOTOS}/", manifest)
        parent, name = above(where)
        return Backup(where, open_store(parent, settings.extra), f"{name}/", f"{PHOTOS}/", manifest)
    if store.size(DATABASE) is not None:
        return Backup(where, store, "", f"{PHOTOS}/", None)
    several = dated_backups(list(store.names()))
    if several:
        raise SettingWrong(say("keeping.several", {"where": where, "names": several}))
    raise SettingWrong(say("keeping.no-backup", {"where": where}))


def fetch(backup: Backup, name: str, told: FileTold, file: Path, identities: Sequence[x25519.Identity]) -> None:
    """Bring one file of a backup here, opened where it is sealed and a key is at hand, and check that it is what was put there.

    Raises
    ------
    SettingWrong
        It is missing, cut or changed, or cannot be opened.
    """
    sealed = told["inside_sha256"] is not None
    outside = file.with_name(file.name + SEALED) if sealed else file
    if not backup.store.get(name, outside):
        raise SettingWrong(say("keeping.file-missing", {"where": backup.where, "file": name}))
    if told_of(outside) != (told["sha256"], told["bytes"]):
        raise SettingWrong(say("keeping.file-differs", {"where": backup.where, "file": name}))
    if not sealed:
        return
    if identities:
        open_sealed(outside, file, identities)
        if told_of(file) != (told["inside_sha256"], told["inside_bytes"]):
            raise SettingWrong(say("keeping.file-differs", {"where": backup.where, "file": name}))
    outside.unlink()


def fetch_database(backup: Backup, file: Path, identities: Sequence[x25519.Identity]) -> None:
    """Bring the database of a backup here; it raises as `fetch` does."""
    if backup.manifest is None:
        backup.store.get(DATABASE, file)
        return
    name = backup.prefix + DATABASE + (SEALED if backup.sealed else "")
    fetch(backup, name, backup.manifest["database"], file, identities)


def photos_of(backup: Backup) -> Iterator[tuple[str, str, FileTold | None]]:
    """Each photo of a backup: its hash, its file, and what the manifest says of it."""
    if backup.manifest is not None:
        for sha256, told in sorted(backup.manifest["photos"].items()):
            yield sha256, backup.photos_prefix + photo_name(sha256, backup.sealed), told
        return
    for name in backup.store.names():
        sha256 = name.rsplit("/", 1)[-1]
        if name.startswith(backup.photos_prefix) and len(sha256) == 64:
            yield sha256, name, None


def fetch_photo(
    backup: Backup, name: str, told: FileTold | None, file: Path, identities: Sequence[x25519.Identity]
) -> None:
    """Bring a photo of a backup here; it raises as `fetch` does."""
    if told is not None:
        fetch(backup, name, told, file, identities)
    else:
        backup.store.get(name, file)


def check_database(backup: Backup, file: Path, although_unwell: bool) -> None:
    """Check the database of a backup, and bring its tables up to this version.

    Parameters
    ----------
    backup : Backup
        Whose it is; a manifest says what must be in it.
    file : Path
        The database, here beside the live one.
    although_unwell : bool
        Take it although records and log do not hold together; a damaged file is refused all the same.

    Raises
    ------
    SettingWrong
        It is damaged, of a newer version, or holds something else than the manifest says.
    """
    _check_file(backup, file)
    with opened(file) as engine:
        try:
            if not is_current(engine):
                upgrade(engine)
            with Session(engine) as session:
                _check_contents(backup, session, although_unwell)
        except DatabaseError as error:
            raise SettingWrong(say("keeping.damaged", {"where": backup.where, "reason": str(error.orig)})) from None


def _check_file(backup: Backup, file: Path) -> None:
    """The file is whole SQLite, of a version that is known here, with the rows that the manifest says."""
    try:
        with closing(sqlite3.connect(file)) as database:
            told = [str(row[0]) for row in database.execute("PRAGMA integrity_check(5)")]
            if told == ["ok"]:
                told = [f"{row[0]} → {row[2]}" for row in database.execute("PRAGMA foreign_key_check").fetchmany(5)]
            else:
                told = told or ["?"]
            revision = database.execute("SELECT version_num FROM alembic_version").fetchone() if not told else None
            if backup.manifest is not None and not told:
                told = _counted(database, backup.manifest)
    except sqlite3.DatabaseError as error:
        told, revision = [str(error)], None
    if told or revision is None:
        raise SettingWrong(say("keeping.damaged", {"where": backup.where, "reason": "; ".join(told) or "-"}))
    if not is_known(str(revision[0])):
        facts = {"where": backup.where, "value": revision[0], "right": newest_revision()}
        raise SettingWrong(say("keeping.newer", facts))
    if backup.manifest is not None and backup.manifest["spec"] > records.spec().number:
        facts = {"where": backup.where, "value": backup.manifest["spec"], "right": records.spec().number}
        raise SettingWrong(say("keeping.newer", facts))


def _counted(database: sqlite3.Connection, manifest: Manifest) -> list[str]:
    """Tables in which there are not as many rows as the manifest says."""
    there = {str(row[0]) for row in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    wrong = []
    for table, wanted in manifest["counts"].items():
        found = database.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0] if table in there else 0
        if found != wanted:
            wrong.append(f"{table}: {found} ≠ {wanted}")
    return wrong


def _check_contents(backup: Backup, session: Session, although_unwell: bool) -> None:
    if len(session.execute(select(Installation.id)).all()) != 1:
        raise SettingWrong(say("keeping.damaged", {"where": backup.where, "reason": say("doctor.no-incarnation")}))
    if backup.manifest is not None and backup.manifest["sites"] != sites_told(session):
        raise SettingWrong(say("keeping.damaged", {"where": backup.where, "reason": say("keeping.sites-differ")}))
    for site, head in session.execute(select(Site.id, Site.head).order_by(Site.id)).all():
        for finding in examine_site(session, site, head).findings if not although_unwell else ():
            facts = {"where": backup.where, "reason": say(finding.code, finding.facts)}
            raise SettingWrong(say("keeping.unwell", facts))
