"""What was worked out of a large site, kept in the database: a server that starts again need not work it out again.

Nothing here is the only copy of anything, and nothing holds longer than what it was made from: an answer is kept with a fingerprint of
all that it hangs on beside the site's records, the program's own rules and tables among it, and with the head for which it holds.
"""

from __future__ import annotations

import functools
import hashlib
import logging
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Literal, NamedTuple

import orjson
from sqlalchemy import delete, func, insert, or_, select
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from spanwalk.package_folders import PACKAGE, reference_folder
from spanwalk.storage.database import is_writing, writing
from spanwalk.storage.tables import KeptAnswer

log = logging.getLogger(__name__)
What = Literal["points", "plans", "ground", "handover"]
PART = "plans-part-"
"""So a part of the plans is called while the others are made, with its number behind."""
QUICK = 1
"""Level of compression: a second faster than the best, for a quarter more bytes."""
FINGERPRINT_BYTES = 16
CHUNK_BYTES = 65_536
LINE_END = b"\n"
"""Stands in no line: JSON text writes it otherwise."""


class Kept(NamedTuple):
    """A kept answer: the head it holds for, and its lines, of which who reads them knows what stands in them."""

    head: int
    lines: Iterator[object]


def kept_answer(session: Session, site_id: str, what: What, basis: object = ()) -> Kept | None:
    """The answer that is kept; None where there is none, or it was made from another basis or by other rules.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    what : str
        Which answer.
    basis : object
        All that it hangs on besides the site's records and the program.
    """
    query = select(KeptAnswer.head, KeptAnswer.basis, KeptAnswer.body).where(
        KeptAnswer.site == site_id, KeptAnswer.what == what
    )
    row = session.execute(query).one_or_none()
    if row is None or row.basis != _fingerprint(basis):
        return None
    return Kept(row.head, _lines(row.body))


def keep_answer(
    session: Session, site_id: str, what: What, head: int, lines: Iterable[object], basis: object = ()
) -> None:
    """Keep an answer in place of the one before, line by line: a large site's is never in memory as one text.

    Who asked has it in any case: a database that is busy or full is no failure, and within a writing transaction, which the
    next one would wait for, nothing is kept.
    """
    if is_writing(session):
        return
    _put(site_id, what, head, lines, basis)


def kept_head(session: Session, site_id: str, what: What) -> int | None:
    """The head for which an answer is kept that hangs on the records and the program alone; None where there is none."""
    here = (KeptAnswer.site == site_id, KeptAnswer.what == what, KeptAnswer.basis == _fingerprint(()))
    return session.execute(select(KeptAnswer.head).where(*here)).scalar_one_or_none()


def _put(site_id: str, what: str, head: int, lines: Iterable[object], basis: object = ()) -> None:
    """Put an answer in place of the one before; all plans in place of their parts too."""
    row = {"site": site_id, "what": what, "head": head, "basis": _fingerprint(basis), "body": _body(lines)}
    replaced = KeptAnswer.what == what
    if what == "plans":
        replaced = or_(replaced, KeptAnswer.what.startswith(PART))
    try:
        with writing() as writer:
            writer.execute(delete(KeptAnswer).where(KeptAnswer.site == site_id, replaced))
            writer.execute(insert(KeptAnswer).values(**row))
    except SQLAlchemyError as problem:
        log.warning("an answer was not kept: %s", type(problem).__name__)


def keep_part(site_id: str, number: int, lines: Iterable[object]) -> None:
    """Keep a part of the plans while the others are made; parts are counted from 1, and go once all are kept."""
    _put(site_id, f"{PART}{number:05d}", 0, lines)


def parts_kept(session: Session, site_id: str) -> int:
    """The number of the last part of the plans that is kept, by whatever rules it was made; 0: none is."""
    here = (KeptAnswer.site == site_id, KeptAnswer.what.startswith(PART))
    last = session.execute(select(func.max(KeptAnswer.what)).where(*here)).scalar_one()
    return 0 if last is None else int(last.removeprefix(PART))


def kept_in_parts(session: Session, site_id: str) -> Iterator[object]:
    """The lines of all parts of the plans that the same rules made, the oldest part first."""
    here = (KeptAnswer.site == site_id, KeptAnswer.what.startswith(PART), KeptAnswer.basis == _fingerprint(()))
    names = session.execute(select(KeptAnswer.what).where(*here).order_by(KeptAnswer.what)).scalars().all()
    for name in names:
        query = select(KeptAnswer.body).where(KeptAnswer.site == site_id, KeptAnswer.what == name)
        yield from _lines(session.execute(query).scalar_one())


def _body(lines: Iterable[object]) -> bytes:
    packing = zlib.compressobj(QUICK)
    packed = [packing.compress(orjson.dumps(line) + LINE_END) for line in lines]
    return b"".join([*packed, packing.flush()])


def _lines(body: bytes) -> Iterator[object]:
    unpacking, rest = zlib.decompressobj(), b""
    for start in range(0, len(body), CHUNK_BYTES):
        *whole, rest = (rest + unpacking.decompress(body[start : start + CHUNK_BYTES])).split(LINE_END)
        yield from map(orjson.loads, whole)


def forget_answers(session: Session) -> None:
    """Let go of all kept answers, in a writing transaction: a name that is taken out of everything may stand in them."""
    session.execute(delete(KeptAnswer))


def _fingerprint(basis: object) -> str:
    return hashlib.blake2b(f"{program_fingerprint()} {basis!r}".encode(), digest_size=FINGERPRINT_BYTES).hexdigest()


@functools.cache
def program_fingerprint() -> str:
    """Fingerprint of the rules, the services that plan, the spec and the tables: whatever of them changes, no answer from before holds."""
    found = hashlib.blake2b(digest_size=FINGERPRINT_BYTES)
    for path in _files():
        found.update(path.name.encode())
        found.update(path.read_bytes())
    return found.hexdigest()


@functools.cache
def folder_fingerprint(folder: Path) -> str:
    """Fingerprint of the modules of a folder, for answers that hang on others than plans do."""
    found = hashlib.blake2b(digest_size=FINGERPRINT_BYTES)
    for path in sorted(folder.glob("*.py")):
        found.update(path.read_bytes())
    return found.hexdigest()


def _files() -> Iterator[Path]:
    for folder, names in (
        (PACKAGE / "rules", "**/*.py"),
        (PACKAGE / "services" / "planning", "*.py"),
        (PACKAGE / "spec", "*.json"),
        (reference_folder(), "*.json"),
    ):
        yield from sorted(folder.glob(names))


__all__ = [
    "Kept",
    "folder_fingerprint",
    "forget_answers",
    "keep_answer",
    "keep_part",
    "kept_answer",
    "kept_head",
    "kept_in_parts",
    "parts_kept",
    "program_fingerprint",
]
