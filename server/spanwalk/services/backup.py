"""Backup of one machine: a consistent copy of the SQLite database and the photos beside it."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from urllib.parse import unquote, urlsplit

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
    """Put a backup's database back and add its photos. The server must not run.

    Raises
    ------
    SettingWrong
        The folder holds no backup.
    """
    target, photos = database_file(settings), photo_folder(settings)
    if not (folder / DATABASE).is_file():
        raise SettingWrong(f"{folder} holds no {DATABASE}; name a folder made by spanwalk backup.")
    for suffix in ("-wal", "-shm"):
        Path(f"{target}{suffix}").unlink(missing_ok=True)
    shutil.copyfile(folder / DATABASE, target)
    if (folder / PHOTOS).is_dir():
        shutil.copytree(folder / PHOTOS, photos, dirs_exist_ok=True)
