"""Have something done by a process of its own that may die of it: what people bring in is nobody's friend yet.

Such a process gets none of the server's environment but what Python needs to start: no password of a database, no key
of a bucket.
"""

from __future__ import annotations

import os
import select
import signal
import struct
import subprocess
import sys
import time
from collections.abc import Mapping
from typing import IO

from spanwalk.services.refusals import WrongInput

HANDED_ON = ("PATH", "PYTHONPATH", "PYTHONHOME", "LD_LIBRARY_PATH", "LANG", "LC_ALL", "LC_CTYPE", "TMPDIR", "TZ")
"""What a child keeps of the environment, by name; all else is left out."""
ITS_OWN_FAULT = frozenset(
    -number for number in (signal.SIGXCPU, signal.SIGSEGV, signal.SIGABRT, signal.SIGBUS, signal.SIGILL, signal.SIGFPE)
)
"""Ends that what was brought in is to blame for. Killed otherwise, the same may go well another time."""
LENGTH = struct.Struct(">I")
PIECE_BYTES = 65_536


def bare_environment(environment: Mapping[str, str]) -> dict[str, str]:
    """What a child gets of an environment.

    >>> bare_environment({"PATH": "/bin", "SPANWALK_S3_SECRET": "x", "PGPASSWORD": "y"})
    {'PATH': '/bin'}
    """
    return {name: environment[name] for name in HANDED_ON if name in environment}


def command_of(module: str, *arguments: str) -> list[str]:
    """How a module is run by the Python that runs this."""
    return [sys.executable, "-P", "-m", module, *arguments]


def done_apart(module: str, *arguments: str, within_s: float, too_much: str) -> bytes:
    """What a module writes to its output when it is run, in a process of its own.

    Parameters
    ----------
    module : str
        Its name; it sets its own limits of memory and processor.
    *arguments : str
        What it is told.
    within_s : float
        How long it may take [s].
    too_much : str
        Code of the refusal where it takes longer, or ends otherwise than well.

    Raises
    ------
    WrongInput
        It took too long or ended otherwise than well.
    """
    command, environment = command_of(module, *arguments), bare_environment(os.environ)
    try:
        done = subprocess.run(command, capture_output=True, timeout=within_s, check=False, env=environment)
    except subprocess.TimeoutExpired:
        raise WrongInput(too_much) from None
    if done.returncode != 0:
        raise WrongInput(too_much)
    return done.stdout


class DiedOfIt(Exception):
    """A worker died of what it was asked."""


class CutOff(Exception):
    """A worker did not answer in time, or was ended from outside; the same may go well another time."""


class Worker:
    """A process that is kept, asked one thing after another, and begun anew once it has died.

    It reads questions from its input and writes answers to its output, each as its length (4 bytes, the highest first)
    and its bytes; it sets its own limits, and ends when its input does: so never outlives the server.
    """

    def __init__(self, module: str) -> None:
        self.module = module
        self._process: subprocess.Popen[bytes] | None = None

    def ask(self, question: bytes, within_s: float) -> bytes:
        """The answer to a question. One caller at a time.

        Parameters
        ----------
        question : bytes
            What the module understands.
        within_s : float
            How long to wait for the answer [s], the start of the process in it.

        Raises
        ------
        DiedOfIt
            It went beyond the limits that it set itself, or crashed.
        CutOff
            It took longer, or was ended from outside.
        """
        process = self._process if self._process is not None and self._process.poll() is None else self._begun()
        try:
            return _exchange(process, LENGTH.pack(len(question)) + question, time.monotonic() + within_s)
        except (EOFError, BrokenPipeError, TimeoutError) as gone:
            ended = self._ended(in_time=not isinstance(gone, TimeoutError))
            raise (DiedOfIt if ended in ITS_OWN_FAULT else CutOff)(f"{self.module} ended with {ended}") from None
        except BaseException:
            self._ended(in_time=False)  # half a question was asked: nothing that it says now can be told apart
            raise

    def stop(self) -> None:
        """End the process, if there is one."""
        if self._process is not None:
            self._ended(in_time=False)

    def _begun(self) -> subprocess.Popen[bytes]:
        made = subprocess.Popen(
            command_of(self.module),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=bare_environment(os.environ),
        )
        for pipe in _pipes(made):
            os.set_blocking(pipe.fileno(), False)
        self._process = made
        return made

    def _ended(self, in_time: bool) -> int:
        """How it ended; killed unless it has ended by itself."""
        process, self._process = self._process, None
        assert process is not None
        try:
            code = process.wait(1.0 if in_time else 0)
        except subprocess.TimeoutExpired:
            process.kill()
            code = process.wait()
        for pipe in _pipes(process):
            pipe.close()
        return code


def _pipes(process: subprocess.Popen[bytes]) -> tuple[IO[bytes], IO[bytes]]:
    assert process.stdin is not None
    assert process.stdout is not None
    return process.stdin, process.stdout


def _exchange(process: subprocess.Popen[bytes], question: bytes, end: float) -> bytes:
    into, out = (pipe.fileno() for pipe in _pipes(process))
    left, answer, wanted = memoryview(question), bytearray(), LENGTH.size
    while len(answer) < wanted:
        readable, writable, _ = select.select([out], [into] if left else [], [], max(0.0, end - time.monotonic()))
        if not readable and not writable:
            raise TimeoutError
        if writable:
            left = left[os.write(into, left[:PIECE_BYTES]) :]
        if readable:
            some = os.read(out, PIECE_BYTES)
            if not some:
                raise EOFError
            answer += some
            if wanted == LENGTH.size and len(answer) >= LENGTH.size:
                wanted += LENGTH.unpack_from(answer)[0]
    return bytes(answer[LENGTH.size :])
