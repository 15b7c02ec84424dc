"""A file made in the background: one row of the database says how it stands, so that any server tells it and hands it out.

What is being made lies in a file of this machine's temporary folder until it is whole. A row that is being made is touched
every few seconds, whether its maker waits its turn, gathers or draws: one that nobody touches was left by a server that stopped.
"""

from __future__ import annotations

import hashlib
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from flask import Flask
from sqlalchemy import delete, update
from sqlalchemy.exc import SQLAlchemyError

from spanwalk.services.background.parts import PART_BYTES, part_name
from spanwalk.services.background.standing_back import stand_back, standing_back
from spanwalk.services.clock import later, now
from spanwalk.services.refusals import NotThere, Refusal
from spanwalk.storage import json_text
from spanwalk.storage.database import writing
from spanwalk.storage.photos import PhotoStore, StoreFails
from spanwalk.storage.tables import InParts

MAKING, MADE, WRONG = "making", "made", "wrong"
TOUCH_EACH_S = 15.0
STOPPED_AFTER_S = 120
"""So long nobody touched it: eight times over, which a busy server does not miss."""
TELL_EACH_S = 1.0
MAKERS = threading.BoundedSemaphore(1)
"""One at a time in a process of the server, archive or hand-over file, so that memory stays bounded; the next waits its turn."""
Step = Callable[[int, int], None]
"""Told after each step: how many are done, and of how many."""
Make = Callable[[Path, Step], Mapping[str, object]]
"""Writes the whole file, and says what is to be told of it."""


def nobody(done: int, of: int) -> None:
    """Progress that nobody watches."""


@dataclass(frozen=True)
class Sort:
    """A sort of made file: its table, and the area of its sentences (`<area>.failed`, `.no-room`, `.stopped`, `.gone`)."""

    table: type[InParts]
    area: str

    def set(self, made_id: str, **values: object) -> bool:
        """Write something into the row of one, and that it was touched; False: the row is gone, with its site."""
        query = update(self.table).where(self.table.id == made_id).returning(self.table.id)
        with writing() as session:
            return session.execute(query.values(changed_at=now(), **values)).first() is not None


def make_in_background(app: Flask, sort: Sort, made_id: str, make: Make, then: Callable[[], None]) -> None:
    """Make a file on a thread of this process; whatever goes wrong becomes its state.

    Parameters
    ----------
    app : Flask
        In whose context it is made.
    sort : Sort
        The sort of file.
    made_id : str
        Its row, which is there and says that it is being made.
    make : callable
        Writes it.
    then : callable
        Called once it is kept, to let older ones go.
    """

    def run() -> None:
        with app.app_context(), _touched(app, sort, made_id), MAKERS, standing_back():
            try:
                _keep(app.extensions["spanwalk-photos"], sort, made_id, make)
            except Refusal as refusal:
                _failed(sort, made_id, refusal.code, dict(refusal.facts))
            except (StoreFails, OSError) as failed:
                app.logger.warning("%s %s: %s", sort.area, made_id, failed)
                _failed(sort, made_id, f"{sort.area}.no-room", {})
            except Exception:
                app.logger.exception("%s %s failed", sort.area, made_id)
                _failed(sort, made_id, f"{sort.area}.failed", {})
            else:
                _let_go(app, sort, then)

    threading.Thread(target=run, name=f"{sort.area}-{made_id[:8]}", daemon=True).start()


def _let_go(app: Flask, sort: Sort, then: Callable[[], None]) -> None:
    """Older ones that cannot be let go now are so with the next: what was made stands all the same."""
    try:
        then()
    except Exception:
        app.logger.exception("older ones of %s stay", sort.area)


@contextmanager
def _touched(app: Flask, sort: Sort, made_id: str) -> Iterator[None]:
    """Touch a row every few seconds meanwhile; a database that takes nothing just now is asked again."""
    ended = threading.Event()

    def touch() -> None:
        with app.app_context():
            while not ended.wait(TOUCH_EACH_S):
                try:
                    sort.set(made_id)
                except (Refusal, SQLAlchemyError) as problem:
                    app.logger.warning("%s %s was not touched: %s", sort.area, made_id, type(problem).__name__)

    thread = threading.Thread(target=touch, name=f"touch-{made_id[:8]}", daemon=True)
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join()


def _keep(store: PhotoStore, sort: Sort, made_id: str, make: Make) -> None:
    with tempfile.TemporaryDirectory(prefix="spanwalk-") as folder:
        path = Path(folder) / "made"
        told = make(path, _Teller(sort, made_id))
        hashed, parts = hashlib.sha256(), 0
        for piece in _pieces(path):
            parts += 1
            hashed.update(piece)
            store.put(part_name(made_id, parts), piece)
            if not sort.set(made_id, parts=parts):
                return _drop(store, made_id, parts)
        size = path.stat().st_size
    values = {"bytes": size, "sha256": hashed.hexdigest(), "told": json_text.dumps(told)}
    if not sort.set(made_id, state=MADE, parts=parts, **values):
        _drop(store, made_id, parts)


def _drop(store: PhotoStore, made_id: str, parts: int) -> None:
    """Take parts out of the store: of a file that was let go, or whose site was deleted while it was made."""
    for number in range(1, parts + 1):
        store.drop(part_name(made_id, number))


def _pieces(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(PART_BYTES):
            yield piece


class _Teller:
    """Writes down how far the work is, about once a second, and lets requests go first."""

    def __init__(self, sort: Sort, made_id: str) -> None:
        self.sort, self.made_id, self.at = sort, made_id, 0.0

    def __call__(self, done: int, total: int) -> None:
        if time.monotonic() - self.at >= TELL_EACH_S or done == total:
            self.at = time.monotonic()
            self.sort.set(self.made_id, done=done, total=total)
        stand_back()


def _failed(sort: Sort, made_id: str, code: str, facts: dict[str, object]) -> None:
    sort.set(made_id, state=WRONG, told=json_text.dumps({"why": {"code": code, "facts": facts}}))


def is_left(row: InParts) -> bool:
    """Whether the server that made it stopped."""
    return row.state == MAKING and row.changed_at < later(-STOPPED_AFTER_S)


def state_of(row: InParts, area: str) -> tuple[str, dict[str, object] | None]:
    """How one stands, and as code and facts of a sentence why it could not be made."""
    if is_left(row):
        return WRONG, {"code": f"{area}.stopped", "facts": {}}
    why: dict[str, object] | None = json_text.loads(row.told).get("why")
    return row.state, why


def pieces_kept(store: PhotoStore, row: InParts, area: str) -> Iterator[bytes]:
    """The parts of a made file, one after another.

    Raises
    ------
    NotThere
        A part of it is not in the store any more: it is to be made again.
    """
    names = [part_name(row.id, number) for number in range(1, row.parts + 1)]
    if not all(store.has(name) for name in names):
        raise NotThere(f"{area}.gone")
    return (store.get(name) or b"" for name in names)


def let_go(store: PhotoStore, sort: Sort, kept: Iterable[tuple[str, int]]) -> None:
    """Let made files go: parts first, so that a server killed between leaves rows that say what is left.

    Parameters
    ----------
    store : PhotoStore
        Where the parts lie.
    sort : Sort
        Their sort.
    kept : iterable of tuple
        Id and number of parts of each.
    """
    gone = list(kept)
    for made_id, parts in gone:
        _drop(store, made_id, parts)
    if gone:
        with writing() as session:
            session.execute(delete(sort.table).where(sort.table.id.in_([made_id for made_id, _ in gone])))


__all__ = [
    "MADE",
    "MAKING",
    "WRONG",
    "Make",
    "Sort",
    "Step",
    "is_left",
    "let_go",
    "make_in_background",
    "nobody",
    "pieces_kept",
    "state_of",
]
