"""Have a file read by a process of its own, and wait for it."""

from __future__ import annotations

import tempfile
from pathlib import Path

import orjson

from spanwalk.services.apart import done_apart
from spanwalk.services.files.cells import FileRead
from spanwalk.services.refusals import WrongInput

WAIT_S = 120


def read_apart(data: bytes) -> FileRead:
    """What a file holds, read in a process that may die of it.

    Parameters
    ----------
    data : bytes
        The file.

    Raises
    ------
    WrongInput
        It cannot be read; the sentence says why.
    """
    with tempfile.TemporaryDirectory(prefix="spanwalk-") as folder:
        path = Path(folder) / "file"
        path.write_bytes(data)
        module, too_much = "spanwalk.services.files.reading", "files.too-much-inside"
        told: FileRead = orjson.loads(done_apart(module, str(path), within_s=WAIT_S, too_much=too_much))
    if "wrong" in told:
        raise WrongInput(told["wrong"], **told["facts"])
    if not told["sheets"]:
        raise WrongInput("files.empty")
    return told
