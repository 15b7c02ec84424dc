"""Have a file read by a process of its own, and wait for it."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import orjson

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
        command = [sys.executable, "-m", "spanwalk.services.files.reading", str(path)]
        try:
            done = subprocess.run(command, capture_output=True, timeout=WAIT_S, check=False)
        except subprocess.TimeoutExpired:
            raise WrongInput("files.too-much-inside") from None
    if done.returncode != 0:
        raise WrongInput("files.too-much-inside")
    told: FileRead = orjson.loads(done.stdout)
    if "wrong" in told:
        raise WrongInput(told["wrong"], **told["facts"])
    if not told["sheets"]:
        raise WrongInput("files.empty")
    return told
