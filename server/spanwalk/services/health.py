"""Is the server able to work, and how far behind are phones: what those who keep it ask of a running one."""

from __future__ import annotations

import logging
import os
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import Engine, func, select, text
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from spanwalk.storage.migrating import TablesState, tables_state
from spanwalk.storage.photos import FolderStore, PhotoStore, StoreFails
from spanwalk.storage.tables import Device, Operation, Record
from spanwalk.storage.waiting_line import line_of
from spanwalk.sync.model import HELD

Answers = Literal["ok", "no answer"]
NO_PHOTO = "0" * 64
log = logging.getLogger("spanwalk")


@dataclass(frozen=True)
class Readiness:
    """How each part stands that the server needs."""

    database: Answers
    tables: TablesState | Literal["not known"]
    photos: Answers
    stopping: bool = False

    @property
    def ready(self) -> bool:
        """Whether it can take work in. Tables of a newer version do: servers are exchanged one after another."""
        return (self.database, self.photos) == ("ok", "ok") and self.tables in ("ok", "newer") and not self.stopping


def readiness(engine: Engine, store: PhotoStore, stopping: bool = False) -> Readiness:
    """Ask the database and the photo store; nothing is written."""
    photos: Answers = "ok"
    try:
        _ask(store)
    except StoreFails as failed:
        log.warning("photo store: %s", failed)
        photos = "no answer"
    try:
        return Readiness("ok", tables_state(engine), photos, stopping)
    except SQLAlchemyError as failed:
        log.warning("database: %s", failed)
        return Readiness("no answer", "not known", photos, stopping)


def _ask(store: PhotoStore) -> None:
    """Raise unless the store answers; a folder must be one that this process may write into, or make."""
    store.has(NO_PHOTO)
    if isinstance(store, FolderStore):
        there = next(each for each in (store.folder, *store.folder.parents) if each.exists())
        if not (there.is_dir() and os.access(there, os.W_OK | os.X_OK)):
            raise StoreFails(f"{there} cannot be written")


def figures_now(session: Session, database: str, moment: str) -> dict[str, float]:
    """What the database says of phones and open work, by the names of `telemetry.counting.GAUGES`.

    Parameters
    ----------
    session : Session
        One snapshot of the database.
    database : str
        Its address, for the line of writers of this process.
    moment : str
        Now, as `services.clock` tells it.
    """
    behind = Device.unsent_since.is_not(None) & Device.revoked_at.is_(None)
    photos, operations, phones, oldest = session.execute(
        select(
            func.coalesce(func.sum(Device.unsent_photos), 0),
            func.coalesce(func.sum(Device.unsent_operations), 0),
            func.count(),
            func.min(Device.unsent_since),
        ).where(behind)
    ).one()
    conflicts = session.execute(select(func.count()).select_from(Record).where(text("conflicts <> '[]'")))
    held = session.execute(select(func.count()).select_from(Operation).where(text(f"result = '{HELD}'")))
    return {
        "photos_unsent": float(photos),
        "operations_unsent": float(operations),
        "phones_behind": float(phones),
        "sync_lag_seconds": _seconds(oldest, moment) if oldest is not None else 0.0,
        "conflicts_open": float(conflicts.scalar_one()),
        "operations_held": float(held.scalar_one()),
        "writers_waiting": float(line_of(database).waiting()),
    }


def _seconds(since: str, until: str) -> float:
    """Seconds between two moments, none if a clock went back."""
    return max(0.0, (datetime.fromisoformat(until) - datetime.fromisoformat(since)).total_seconds())
