"""Is a data folder, or a database, the demo's? The demo's passwords are public, and `--fresh` deletes: they stay apart."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from spanwalk.config import Settings, SettingWrong
from spanwalk.services.demo.people import PASSWORD, PEOPLE
from spanwalk.services.people.names import name_key
from spanwalk.services.people.passwords import password_fits
from spanwalk.storage.tables import Installation, Person, Site
from spanwalk.words import say

MARK = "this-is-the-demo.txt"
"""The file that marks a folder as the demo's."""
DATABASE = "spanwalk.db"
BESIDE = ("", "-wal", "-shm")


def is_marked(folder: Path) -> bool:
    """Whether a data folder is marked as the demo's."""
    return (folder / MARK).is_file()


def claim_folder(settings: Settings) -> None:
    """Take a data folder for the demo: one that is marked, or an empty one, which is marked from now on.

    Raises
    ------
    SettingWrong
        Something else lies in it.
    """
    folder = settings.data
    if is_marked(folder):
        return
    if folder.is_dir() and any(folder.iterdir()):
        raise SettingWrong(say("demo.folder-not-its-own", {"folder": str(folder)}))
    folder.mkdir(parents=True, exist_ok=True)
    (folder / MARK).write_text(say("demo.mark") + "\n", encoding="utf-8")


def throw_away(settings: Settings) -> None:
    """Delete the demo's database and photos from its own folder, and nothing else there.

    Raises
    ------
    SettingWrong
        The folder, or the database in it, is not marked as the demo's; or the settings name a database elsewhere.
    """
    folder = settings.data
    if not folder.exists():
        return
    if settings.database_url != f"sqlite:///{folder / DATABASE}":
        raise SettingWrong(say("demo.fresh-elsewhere"))
    if not is_marked(folder) or not _marked_or_new(folder / DATABASE):
        raise SettingWrong(say("demo.folder-not-its-own", {"folder": str(folder)}))
    for end in BESIDE:
        (folder / (DATABASE + end)).unlink(missing_ok=True)
    shutil.rmtree(folder / "photos", ignore_errors=True)


def _marked_or_new(file: Path) -> bool:
    """Whether a database file is marked as the demo's, or holds nobody and nothing yet."""
    if not file.exists():
        return True
    with closing(sqlite3.connect(file)) as database:
        tables = {row[0] for row in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if "server" not in tables:
            return not tables
        columns = {row[1] for row in database.execute("PRAGMA table_info(server)")}
        if "demo" in columns and database.execute("SELECT 1 FROM server WHERE demo").fetchone():
            return True
        return database.execute("SELECT 1 FROM person UNION SELECT 1 FROM site").fetchone() is None


def check_demo_database(session: Session) -> None:
    """Raise unless the database is the demo's, or has nobody and nothing in it yet.

    Raises
    ------
    SettingWrong
        It is somebody's.
    """
    if _marked(session):
        return
    if sum(session.execute(select(func.count()).select_from(table)).scalar_one() for table in (Person, Site)):
        raise SettingWrong(say("demo.database-not-its-own"))


def check_real(settings: Settings) -> None:
    """Raise if a data folder is marked as the demo's.

    Raises
    ------
    SettingWrong
        It is.
    """
    if is_marked(settings.data):
        raise SettingWrong(say("demo.in-the-way", {"folder": str(settings.data)}))


def check_real_database(session: Session) -> None:
    """Raise if a database is the demo's, also one that was made before demos were marked.

    Raises
    ------
    SettingWrong
        It is.
    """
    if _marked(session):
        raise SettingWrong(say("demo.database-in-the-way"))
    if _all_of_the_demos_people(session):
        raise SettingWrong(say("demo.unmarked-in-the-way"))


def _marked(session: Session) -> bool:
    return bool(session.execute(select(Installation.demo)).scalar_one())


def _all_of_the_demos_people(session: Session) -> bool:
    """Whether all the demo's people are there, and one of them still opens with the public password."""
    keys = [name_key(name) for name in PEOPLE]
    found = session.execute(select(Person.password_hash).where(Person.name_key.in_(keys))).scalars().all()
    return len(found) == len(keys) and any(password_fits(stored, PASSWORD) for stored in found)
