"""How far reports are that are being made, by the word that who asked for one gave it: any process of the server tells it.

It stands in the database for as long as the report is made, and an hour longer where the process died meanwhile.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from sqlalchemy import delete, insert, select, update
from sqlalchemy.exc import SQLAlchemyError

from spanwalk.services.clock import later, now
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import ReportProgress

Step = Callable[[int, int], None]
"""Told after each step: how many are done, and of how many."""
TELL_EACH_S = 0.5
KEPT_S = 3600
log = logging.getLogger(__name__)


@contextmanager
def told_steps(site_id: str, asked: str) -> Iterator[Step]:
    """What a report that is being made tells its progress to; a report without a word tells it to nobody.

    That nobody can be told how far it is is no reason to make no report: what the database refuses goes into the log.

    Parameters
    ----------
    site_id : str
        The site.
    asked : str
        The word, or ''.
    """
    if not asked:
        yield nobody
        return
    at = 0.0

    def step(done: int, of: int) -> None:
        nonlocal at
        if time.monotonic() - at >= TELL_EACH_S:
            at = time.monotonic()
            _tell(site_id, asked, done, of)

    try:
        yield step
    finally:
        _forget(site_id, asked)


def _tell(site_id: str, asked: str, done: int, of: int) -> None:
    mine = (ReportProgress.site == site_id, ReportProgress.asked == asked)
    values = {"done": done, "total": of, "told_at": now()}
    try:
        with writing() as session:
            if session.execute(select(ReportProgress.asked).where(*mine)).first() is None:
                session.execute(insert(ReportProgress).values(site=site_id, asked=asked, **values))
            else:
                session.execute(update(ReportProgress).where(*mine).values(**values))
    except SQLAlchemyError as problem:
        log.warning("progress of a report was not written: %s", type(problem).__name__)


def _forget(site_id: str, asked: str) -> None:
    """Of this report, and of those whose process died."""
    mine = (ReportProgress.site == site_id) & (ReportProgress.asked == asked)
    try:
        with writing() as session:
            session.execute(delete(ReportProgress).where(mine | (ReportProgress.told_at < later(-KEPT_S))))
    except SQLAlchemyError as problem:
        log.warning("progress of a report was not taken away: %s", type(problem).__name__)


def progress_of(site_id: str, asked: str) -> tuple[int, int]:
    """How many steps are done, and of how many; (0, 0) where nothing is known of it."""
    query = select(ReportProgress.done, ReportProgress.total).where(
        ReportProgress.site == site_id, ReportProgress.asked == asked
    )
    with reading() as session:
        row = session.execute(query).one_or_none()
    return (0, 0) if row is None else (int(row.done), int(row.total))


def nobody(done: int, of: int) -> None:
    """Progress that nobody watches."""


__all__ = ["Step", "nobody", "progress_of", "told_steps"]
