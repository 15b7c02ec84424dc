"""Backup of one machine: a consistent copy of the SQLite database and the photos beside it."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from urllib.parse import unquote, urlsplit
from uuid import uuid4

from sqlalchemy import make_url, update

from spanwalk.config import Settings, SettingWrong
from spanwalk.storage.database import writing
from spanwalk.storage.tables import Site

DATABASE, PHOTOS = "spanwalk.db", "photos"


def database_file(settings: Settings) -> Path:
    """The SQLite file.

    Raises
    ------
    SettingWrong
        The database is not SQLite: use its own tools.
    """
    url = make_url(settings.database_url)
    if url.get_backend_name() != "sqlite" or not url.database:
        raise SettingWrong("SPANWALK_DATABASE_URL is not SQLite; back it up with the database's own tools.")
    return Path(url.database)


def photo_folder(settings: Settings) -> Path:
    """The folder of the photos.

    Raises
    ------
    SettingWrong
        Photos lie elsewhere.
    """
    parts = urlsplit(settings.photo_url)
    if parts.scheme != "file":
        raise SettingWrong("SPANWALK_PHOTO_URL is not a folder; back it up with the store's own tools.")
    return Path(unquote(parts.path))


def back_up(settings: Settings, folder: Path) -> None:
    """Copy database and photos; phones learn up to which sequence they need not remember.

    Raises
    ------
    SettingWrong
        The folder exists, or the data is not of this machine.
    """
    source, photos = database_file(settings), photo_folder(settings)
    if folder.exists():
        raise SettingWrong(f"{folder} is there already; name a folder that does not exist.")
    folder.mkdir(parents=True)
    with closing(sqlite3.connect(source)) as live, closing(sqlite3.connect(folder / DATABASE)) as copy:
        live.backup(copy)
        heads = copy.execute("SELECT head, id FROM site").fetchall()
    if photos.is_dir():
        shutil.copytree(photos, folder / PHOTOS)
    with writing() as session:
        for head, site in heads:
            session.execute(update(Site).where(Site.id == site).values(backed_up=head))


def put_back(settings: Settings, folder: Path) -> None:
    """Put a backup's database back under a new incarnation, and add its photos to those that are there.

    Photos that have arrived since are still in the folder; phones have dropped their copies on the strength of our
    receipt. So their rows are taken over from the database that goes.

    SQLite's own copying is used, so that a server which still has the file open sees one state or the other.

    Raises
    ------
    SettingWrong
        The folder holds no backup.
    """
    target, photos = database_file(settings), photo_folder(settings)
    if not (folder / DATABASE).is_file():
        raise SettingWrong(f"{folder} holds no {DATABASE}; name a folder made by spanwalk backup.")
    with closing(sqlite3.connect(":memory:")) as fresh:
        with closing(sqlite3.connect(folder / DATABASE)) as kept:
            kept.backup(fresh)
        fresh.execute("UPDATE server SET incarnation = ?", (str(uuid4()),))
        with closing(sqlite3.connect(target, timeout=settings.busy_timeout_s)) as live:
            _keep_photo_rows(live, fresh)
            fresh.commit()
            fresh.backup(live)
    if (folder / PHOTOS).is_dir():
        shutil.copytree(folder / PHOTOS, photos, dirs_exist_ok=True)


def _keep_photo_rows(live: sqlite3.Connection, fresh: sqlite3.Connection) -> None:
    """Take over the photos that the database that goes knows, of the sites that the backup has.

    A person whom the backup does not know stands for by the site's oldest member; the photo's record names its maker.
    """
    if not live.execute("SELECT 1 FROM sqlite_master WHERE name = 'photo'").fetchone():
        return
    rows = live.execute("SELECT site, sha256, bytes, width_px, height_px, person, received_at FROM photo").fetchall()
    fresh.executemany(
        """
        INSERT OR IGNORE INTO photo (site, sha256, bytes, width_px, height_px, person, received_at)
        SELECT site.id, ?2, ?3, ?4, ?5, coalesce(
            (SELECT id FROM person WHERE id = ?6),
            (SELECT person FROM membership WHERE site = site.id ORDER BY since LIMIT 1)), ?7
        FROM site WHERE site.id = ?1
        """,
        rows,
    )
