"""Put a backup back: everything is checked beside the live data first, and what was there stays in a folder of its own."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from flask import current_app
from pyrage import x25519
from sqlalchemy import func, select

from spanwalk.config import Settings, SettingWrong
from spanwalk.services.backups.backing_up import keep_database
from spanwalk.services.backups.carried import Carried, carry_forward, sites_not_in
from spanwalk.services.backups.manifest import DATABASE
from spanwalk.services.backups.opening import (
    Backup,
    check_database,
    fetch_database,
    fetch_photo,
    find_backup,
    photos_of,
)
from spanwalk.services.backups.remembered import ASIDE
from spanwalk.services.backups.sealing import read_identities
from spanwalk.services.backups.snapshot import opened, replace_live
from spanwalk.services.clock import now
from spanwalk.services.privacy.anonymising import take_name_out
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import Base, Person, Site
from spanwalk.words import counted, say


@dataclass(frozen=True)
class Restored:
    """What a restore did: how much there is now, what was carried forward, and where that lies which was there before."""

    sites: int
    photos: int
    people_carried: int
    sites_gone: int
    aside: Path | None


@dataclass(frozen=True)
class Checked:
    """A backup that was checked, and whether it could be opened too."""

    sites: int
    photos: int
    opened: bool


def check_backup(
    settings: Settings, where: str, identity: Path | None = None, although_unwell: bool = False
) -> Checked:
    """Check everything in a backup, and change nothing; of a sealed one without its key, only that no file has changed.

    Raises
    ------
    SettingWrong
        What is wrong with it.
    """
    identities = read_identities(identity) if identity is not None else []
    with tempfile.TemporaryDirectory(prefix=".restore-", dir=settings.data) as folder:
        scratch = Path(folder)
        backup = find_backup(settings, where, scratch)
        can_open = bool(identities) or not backup.sealed
        photos = _check(backup, scratch, identities, can_open, although_unwell)
        if not can_open:
            return Checked(len(backup.manifest["sites"]) if backup.manifest else 0, photos, False)
        with opened(scratch / DATABASE) as engine, engine.connect() as made:
            sites = made.execute(select(func.count()).select_from(Site)).scalar_one()
        return Checked(sites, photos, True)


def put_back(
    settings: Settings,
    where: str | Path,
    replace: bool = False,
    identity: Path | None = None,
    although_unwell: bool = False,
) -> Restored:
    """Put a backup back under a new incarnation, and add its photos to those that are there.

    Photos that have arrived since stay, and so do their rows: phones have dropped their copies on the strength of our
    receipt. Passwords, roles and phones are as the live database has them; nobody is signed in.

    Parameters
    ----------
    settings : Settings
        Those of the installation.
    where : str or Path
        One backup.
    replace : bool
        Put it in the place of data that is there.
    identity : Path or None
        A file with the private key of a sealed backup.
    although_unwell : bool
        Take it although its records and its log do not hold together.

    Raises
    ------
    SettingWrong
        There is data here already and `replace` is not said; or what is wrong with the backup. Nothing was changed.
    """
    identities = read_identities(identity) if identity is not None else []
    there = _there()
    if there and not replace:
        raise SettingWrong(say("keeping.data-there", there))
    with tempfile.TemporaryDirectory(prefix=".restore-", dir=settings.data) as folder:
        scratch = Path(folder)
        backup = find_backup(settings, str(where), scratch)
        if backup.sealed and not identities:
            raise SettingWrong(say("keeping.key-needed", {"where": str(where)}))
        _check(backup, scratch, identities, True, although_unwell)
        aside = _put_aside(settings) if there else None
        photos = _put_photos(backup, scratch, identities)
        with opened(scratch / DATABASE) as engine, engine.begin() as made:
            gone = sites_not_in(made)
            carried = carry_forward(made)
            sites = made.execute(select(func.count()).select_from(Site)).scalar_one()
        replace_live(scratch / DATABASE, settings.busy_timeout_s)
    _take_names_out_again(carried)
    return Restored(sites, photos, carried.people, len(gone), aside)


def _there() -> dict[str, object]:
    """How many sites and people the live database has; empty where there is nobody and nothing."""
    with reading() as session:
        found = {
            table: int(session.execute(select(func.count()).select_from(Base.metadata.tables[table])).scalar_one())
            for table in (Site.__tablename__, Person.__tablename__)
        }
    if not any(found.values()):
        return {}
    return {"sites": counted(found["site"], "counted.site"), "people": counted(found["person"], "keeping.person")}


def _check(
    backup: Backup, scratch: Path, identities: Sequence[x25519.Identity], can_open: bool, although_unwell: bool
) -> int:
    """Check the database and every photo; how many photos."""
    fetch_database(backup, scratch / DATABASE, identities)
    if can_open:
        check_database(backup, scratch / DATABASE, although_unwell)
    count = 0
    for _sha256, name, told in photos_of(backup):
        fetch_photo(backup, name, told, scratch / "photo", identities)
        count += 1
    return count


def _put_aside(settings: Settings) -> Path:
    """Keep what is there now, sealed if backups are: a restore can be undone."""
    stamp = re.sub(r"[:]|\.\d+", "", now())
    folder = settings.data / f"{ASIDE}{stamp}"
    number = 1
    while folder.exists():
        number += 1
        folder = settings.data / f"{ASIDE}{stamp}-{number}"
    keep_database(settings, folder)
    return folder


def _put_photos(backup: Backup, scratch: Path, identities: Sequence[x25519.Identity]) -> int:
    store: PhotoStore = current_app.extensions["spanwalk-photos"]
    put = 0
    for sha256, name, told in photos_of(backup):
        if not store.has(sha256):
            fetch_photo(backup, name, told, scratch / "photo", identities)
            store.put(sha256, (scratch / "photo").read_bytes())
            put += 1
    return put


def _take_names_out_again(carried: Carried) -> None:
    """Whose name was taken out of everything since the backup stays without it."""
    with writing() as session:
        owner = session.execute(select(Person.id).where(Person.owner).order_by(Person.created_at)).scalars().first()
        for person_id, name in carried.renamed:
            query = select(Person.name).where(Person.id == person_id, Person.anonymised_at.is_not(None))
            instead = session.execute(query).scalar_one_or_none()
            if instead is not None:
                take_name_out(session, person_id, name, instead, owner or person_id)


def heads_of_backup(settings: Settings, where: str) -> dict[str, tuple[int, str]]:
    """Where the chains of the audit had come to when a backup was made, by its manifest."""
    with tempfile.TemporaryDirectory(prefix=".restore-", dir=settings.data) as folder:
        backup = find_backup(settings, where, Path(folder))
    told = backup.manifest["audit"] if backup.manifest is not None else {}
    return {scope: (head["number"], head["hash"]) for scope, head in told.items()}
