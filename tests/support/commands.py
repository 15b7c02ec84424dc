"""`spanwalk COMMAND` as a person runs it: its exit status and what it prints, forked from a process that has Spanwalk loaded."""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path

from tests.support.forked_server import Files, forked


def spanwalk(
    *arguments: str, env: Mapping[str, str] | None = None, typed: str = "", timeout_s: float = 180
) -> subprocess.CompletedProcess[str]:
    """Run a command to its end.

    Parameters
    ----------
    arguments : str
        What stands after `spanwalk`.
    env : mapping, optional
        What is in its environment beside this process's own.
    typed : str
        What comes on its standard input.
    timeout_s : float
        How long it may take [s].

    Raises
    ------
    subprocess.TimeoutExpired
        It took longer.
    """
    with tempfile.TemporaryDirectory() as folder:
        told, refused, ended, keys = (Path(folder, name) for name in ("out", "err", "status", "keys"))
        keys.write_text(typed)
        files = Files(log=str(told), err=str(refused), status=str(ended), typed=str(keys))
        process = forked(list(arguments), env or {}, files)
        try:
            process.wait(timeout_s)
        except subprocess.TimeoutExpired:
            process.terminate()
            raise
        status = int(ended.read_text()) if ended.exists() else -1
        return subprocess.CompletedProcess(["spanwalk", *arguments], status, told.read_text(), refused.read_text())
