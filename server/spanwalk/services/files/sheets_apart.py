"""Have a large workbook written by a process of its own, while the server answers others."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import BoundedSemaphore

import orjson

from spanwalk.services.apart import done_apart
from spanwalk.services.files.sheets_out import OutTable
from spanwalk.services.refusals import Unavailable, WrongInput

WRITERS = BoundedSemaphore(1)
"""One at a time in a process of the server, so that memory stays bounded: of 20,000 groups it takes half a gigabyte or more."""
WAIT_S, AGAIN_S = 15.0, 30
"""So long the next one waits its turn, and so much later it is to be asked for again [s]."""
WRITE_S = 300.0
MODULE = "spanwalk.services.files.sheets_process"


class WorkbookApart:
    """A workbook to be, table by table in a file: no more than one of them is in memory at once.

    Parameters
    ----------
    path : Path
        Of that file.
    made_on : str
        See `sheets_out.as_workbook`.
    """

    def __init__(self, path: Path, made_on: str = "") -> None:
        self._path = path
        path.write_bytes(orjson.dumps(made_on) + b"\n")

    def add(self, table: OutTable) -> None:
        """Put a table behind the others."""
        with self._path.open("ab") as file:
            file.write(orjson.dumps(table) + b"\n")

    def written(self) -> bytes:
        """The workbook, as `sheets_out.as_workbook` writes it."""
        try:
            return done_apart(MODULE, str(self._path), within_s=WRITE_S, too_much=MODULE)
        except WrongInput:
            # The tables are our own: nobody sent anything wrong.
            raise RuntimeError("a workbook could not be written") from None


@contextmanager
def workbook_apart(made_on: str = "") -> Iterator[WorkbookApart]:
    """A block in which a workbook is gathered and written.

    Raises
    ------
    Unavailable
        Another is being written.
    """
    if not WRITERS.acquire(timeout=WAIT_S):
        raise Unavailable("files.workbook-busy", seconds=AGAIN_S)
    try:
        with tempfile.TemporaryDirectory(prefix="spanwalk-") as folder:
            yield WorkbookApart(Path(folder) / "tables", made_on)
    finally:
        WRITERS.release()
